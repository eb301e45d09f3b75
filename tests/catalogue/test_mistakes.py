"""Each known mistake is caught by the rule that its table names, in a plan that has it and not in one that does not.

The tables in `mistakes/` count the mistakes from 1 to 134 and answer each in one of these ways:

- `rule` with `plan` and `change`: the plan is right, the changed plan has the mistake, the rule tells it;
- `refused` with `plan` and `change`: the changed plan cannot be read, and the error has these words;
- `sheet` with `plan` and `says`: the document has these words, or all of a list of them in this order;
- `not_shown`: why no plan can show it.

`harm` is what the mistake may do at worst, `severity` how loudly the rule tells it; where that is milder, `because` says why.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

import pytest

from tests.catalogue.table import CATALOGUE, edited, names, plan_text, read_table
from wirecheck.errors import PlanErrors
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Report, severity_rank
from wirecheck.pipeline import check_plan
from wirecheck.plan import read_plan_text
from wirecheck.sheets.all import all_tables

MISTAKES: list[dict[str, Any]] = [row for path in sorted((CATALOGUE / "mistakes").glob("*.yaml")) for row in read_table(path)]
ALL = range(1, 135)
MOST_NOT_SHOWN = 20
WAYS = ("rule", "refused", "sheet", "not_shown")


def rows(way: str) -> list[Any]:
    """The mistakes answered in that way, as parameters of a test."""
    return [pytest.param(m, id=f"{m['mistake']}-{m['what']}"[:80]) for m in MISTAKES if way in m]


@cache
def report_on(text: str) -> Report:
    report = check_plan("plan.yaml", text)
    assert not report.incomplete
    return report


def told(report: Report, row: Mapping[str, Any]) -> list[Finding]:
    """What the row's rule finds at the row's severity."""
    return [f for f in report.findings if f.rule == row["rule"] and f.severity == row["severity"]]


def points_at(finding: Finding, row: Mapping[str, Any], lines: Iterable[int], touched: str) -> bool:
    """Whether a finding names the devices that the row names, or else stands at the change or names what the change touches."""
    if "devices" in row:
        return {str(device) for device in row["devices"]} <= set(finding.devices)
    return finding.at.line in lines or bool(names(touched) & {*finding.devices, *finding.wires})


def test_every_mistake_is_answered_once_and_in_one_way() -> None:
    assert sorted(int(m["mistake"]) for m in MISTAKES) == list(ALL)
    assert [m["mistake"] for m in MISTAKES if sum(way in m for way in WAYS) != 1] == []


def test_few_mistakes_cannot_be_shown_and_each_says_why() -> None:
    unseen = [m for m in MISTAKES if "not_shown" in m]
    assert len(unseen) <= MOST_NOT_SHOWN
    assert all(len(m["not_shown"].split()) >= 6 for m in unseen)


@pytest.mark.parametrize("row", rows("rule"))
def test_what_is_told_more_mildly_than_its_harm_says_why(row: Mapping[str, Any]) -> None:
    milder = severity_rank(row["severity"]) < severity_rank(row["harm"])
    assert milder == ("because" in row)


@pytest.mark.parametrize("row", rows("rule"))
def test_the_plan_with_the_mistake_is_found(row: Mapping[str, Any]) -> None:
    bad = edited(row["plan"], row["change"])
    found = told(report_on(bad.text), row)
    assert found, [(f.rule, f.severity, f.devices) for f in report_on(bad.text).findings]
    assert [f for f in found if points_at(f, row, bad.lines, bad.touched)], [(f.at.line, f.devices, f.wires) for f in found]


@pytest.mark.parametrize("row", rows("rule"))
def test_the_plan_without_the_mistake_is_quiet(row: Mapping[str, Any]) -> None:
    report = report_on(plan_text(row["plan"]))
    assert told(report, row) == []
    assert [f.rule for f in report.findings if severity_rank(f.severity) >= severity_rank("malfunction")] == []


@pytest.mark.parametrize("row", rows("refused"))
def test_a_plan_that_cannot_be_built_is_refused_where_it_is_wrong(row: Mapping[str, Any]) -> None:
    read_plan_text(plan_text(row["plan"]), "plan.yaml")
    bad = edited(row["plan"], row["change"])
    with pytest.raises(PlanErrors) as caught:
        read_plan_text(bad.text, "plan.yaml")
    assert [e for e in caught.value.errors if row["refused"] in str(e) and e.line in bad.lines], str(caught.value)


@cache
def documents(plan: str) -> dict[str, str]:
    facts = Facts(read_plan_text(plan_text(plan), "plan.yaml"))
    tables = all_tables(facts, report_on(plan_text(plan)), lambda _: [])
    return {t.name: "\n".join([t.title, *t.notes, *(" | ".join(row) for row in t.rows)]) for t in tables}


@pytest.mark.parametrize("row", rows("sheet"))
def test_a_document_keeps_the_mistake_from_being_made(row: Mapping[str, Any]) -> None:
    said, at = documents(row["plan"])[row["sheet"]], 0
    for words in [row["says"]] if isinstance(row["says"], str) else row["says"]:
        assert words in said[at:]
        at = said.index(words, at) + len(words)
