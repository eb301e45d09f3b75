"""The rules as a list and one by one: what a user must find there is there."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.rules.test_loader import FILE, HEAD
from wirecheck.findings import NOTICE, SEVERITIES
from wirecheck.outputs.rule_pages import render_example, render_rule, render_rules
from wirecheck.plan import read_plan_text
from wirecheck.rules.examples import complaints, read_rule_file
from wirecheck.rules.explaining import closest, explain
from wirecheck.rules.loader import load_rules, read_rule_head, rule_files

FILES = rule_files()


def flat(text: str) -> str:
    return " ".join(text.split())


def test_the_list_names_every_rule_under_its_severity_the_worst_first() -> None:
    text = render_rules(load_rules())
    rows = text.splitlines()
    starts = [next(i for i, row in enumerate(rows) if row.startswith(severity)) for severity in reversed(SEVERITIES)]
    assert starts == sorted(starts)
    for rule in load_rules():
        above = [row for row in rows[: rows.index(f"  {rule.name}")] if row.startswith(SEVERITIES)]
        assert above[-1].startswith(rule.severity)
        assert rule.title in flat(text)
    assert NOTICE in flat(text)


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_a_rule_whole(path: Path) -> None:
    rule, examples = read_rule_file(path)
    explained = explain(rule, examples)
    text = render_rule(explained)
    assert text.startswith(f"{rule.name}: {rule.severity}, since version {rule.since}\n")
    for piece in (rule.title, explained.message, explained.why, explained.remedy, *rule.sources, rule.kind, NOTICE):
        assert flat(piece) in flat(text)
    # the words in braces are filled in from what is found in the bad example
    assert "{" not in explained.message + explained.why + explained.remedy
    assert explained.bad
    assert explained.good
    assert "" not in (explained.bad.says, explained.good.says)
    # each fragment has a line that the other has not, or one of the two has a line more
    assert set(explained.bad.lines) ^ set(explained.good.lines)
    assert all(line in text for line in (*explained.bad.lines, *explained.good.lines))


def test_a_fragment_has_the_devices_that_its_wires_name() -> None:
    rule, examples = read_rule_file(next(path for path in FILES if path.stem == "guard-opened-stops-motion"))
    bad = explain(rule, examples).bad
    assert bad
    assert [line.split()[0] for line in bad.lines] == ["S2:", "S3:", "K1:", "-"]


def test_a_rule_without_examples_stands_in_its_own_words() -> None:
    explained = explain(read_rule_head(HEAD, FILE), ())
    text = render_rule(explained)
    assert "DEVICE is VALUE." in text
    assert "--example" not in text


def test_an_example_is_printed_as_a_plan_with_the_caution_that_still_gives_the_same() -> None:
    rule, examples = read_rule_file(next(path for path in FILES if path.stem == "guard-opened-stops-motion"))
    bad, _ = closest(examples)
    text = render_example(bad.plan)
    assert flat(text.replace("#", "")).startswith(NOTICE)
    read_plan_text(text, "x.yaml")
    assert complaints(rule, bad) == []
    assert text.endswith(bad.plan.rstrip("\n") + "\n")
