"""The stages from a plan's text to a report, in order. The only module that knows all of them."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from time import perf_counter
from typing import TYPE_CHECKING

from wirecheck.behaviour.faults import excluded
from wirecheck.errors import PlanError, PlanErrors
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Report, worst_first
from wirecheck.plan import decode_plan, read_plan
from wirecheck.rules.assembly import assemble
from wirecheck.rules.functions import function_summaries
from wirecheck.rules.loader import NEED_FAULTS, load_rules
from wirecheck.rules.numbering import number_entries, questions
from wirecheck.rules.runner import judge_rules

if TYPE_CHECKING:
    from pathlib import Path

    from wirecheck.behaviour.rehearsal import Played
    from wirecheck.kinds import Kinds
    from wirecheck.metering.diagnosing import Diagnosis
    from wirecheck.plan.model import Plan
    from wirecheck.rules.fault_table import FaultTable
    from wirecheck.rules.house import RuleSet
    from wirecheck.rules.runner import Progress
    from wirecheck.sheets.readings import Filled

STANDARD_INPUT = "-"


def house_kinds(folders: Sequence[str]) -> Kinds | None:
    """The device kinds with those of the house in some folders; None where there are no folders."""
    if not folders:
        return None
    from wirecheck.plan.house import read_kinds

    return read_kinds(folders)


def house_rules(folders: Sequence[str], kinds: Kinds | None = None) -> RuleSet | None:
    """The rules with those of the house in some folders, which may choose its `kinds`; None where there are no folders."""
    if not folders:
        return None
    from wirecheck.rules.house import with_house_rules

    return with_house_rules(load_rules(), folders, kinds.names if kinds else ())


def read(path: str, text: str | None = None, kinds: Kinds | None = None) -> Plan:
    """The plan in a file, in standard input (`-`), or in the text that is given with its name."""
    if text is None and path == STANDARD_INPUT:
        text = decode_plan(_standard_input(), path)
    return read_plan(path, text, kinds)


def _standard_input() -> bytes:
    try:
        return sys.stdin.buffer.read() if sys.stdin else b""
    except OSError as bad:
        raise PlanErrors([PlanError(STANDARD_INPUT, 1, 1, f"standard input cannot be read: {bad.strerror}")]) from None


def read_all(paths: Sequence[str], kinds: Kinds | None = None) -> list[Plan]:
    """All plans, or PlanErrors with the errors of all of them."""
    plans: list[Plan] = []
    errors: list[PlanError] = []
    for path in paths:
        try:
            plans.append(read(path, kinds=kinds))
        except PlanErrors as bad:
            errors += bad.errors
    if errors:
        raise PlanErrors(errors)
    return plans


def check(plan: Plan, progress: Progress | None = None, house: RuleSet | None = None, known: Facts | None = None) -> Report:
    """The report on a plan that could be read, by the rules of wirecheck or by those that the house has made of them.

    `known` are the plan's facts where somebody goes on with them.
    """
    began = perf_counter()
    facts = known or Facts(plan)
    rules, entries = house or (load_rules(), ())
    judgement = judge_rules(rules, facts, progress)
    report = assemble(plan, judgement, excluded(plan), {rule.name: rule.follows_from for rule in rules})
    if not report.incomplete:
        report = report._replace(
            functions=function_summaries(facts),
            numbers=number_entries(facts.numbers),
            questions=questions(rules, facts),
        )
    faults = max((int(str(function["faults_tried"])) for function in report.functions), default=0)
    seconds = round(perf_counter() - began, 3)
    return report._replace(house_rules=entries, statistics={**report.statistics, "faults": faults, "seconds": seconds})


def check_plan(path: str, text: str | None = None) -> Report:
    """Read and check one plan; PlanErrors where it cannot be read."""
    return check(read(path, text))


def draw(plan: Plan, suffix: str, progress: Progress | None = None, house: RuleSet | None = None) -> tuple[bytes, Report]:
    """The connection diagram of a plan as `.svg`, `.png` or `.dot`, with its findings marked, and the report behind them."""
    from wirecheck.drawings import draw_connection, render

    report = check(plan, progress, house)
    return render(draw_connection(plan, to_mark(report)), suffix), report


def to_mark(report: Report) -> list[Finding]:
    """The findings that a drawing marks: not what is told of stuck parts as advice, which names half the sheet."""
    return worst_first([f for f in report.findings if not (f.severity == "advice" and f.evidence.fault)])


def sheets(
    path: str, progress: Progress | None = None, house: RuleSet | None = None, kinds: Kinds | None = None
) -> tuple[dict[str, bytes], Report]:
    """The documents of the plan in a file or in standard input: every file by its name, and the report behind them."""
    from wirecheck.outputs.sheets import render_sheets
    from wirecheck.sheets.all import all_tables
    from wirecheck.sheets.table import heading

    plan, sha256 = read_with_digest(path, kinds)
    facts = Facts(plan)
    report = check(plan, progress, house, facts)
    return render_sheets(heading(plan, report, sha256), all_tables(facts, report, without_faults)), report


def diagnose(path: str, readings: Path, kinds: Kinds | None = None) -> tuple[Diagnosis, Filled, bool]:
    """What explains a filled-in dead-test sheet; its readings; whether it was made from another text of the plan."""
    from wirecheck.metering.choosing import dead_test
    from wirecheck.metering.diagnosing import diagnose as explain
    from wirecheck.plan.reader import read_bytes
    from wirecheck.sheets.readings import read_filled

    plan, sha256 = read_with_digest(path, kinds)
    filled = read_filled(plan, decode_plan(read_bytes(readings), str(readings)), str(readings))
    return explain(plan, dead_test(plan), filled.observed), filled, bool(filled.sha256) and filled.sha256 != sha256


def read_with_digest(path: str, kinds: Kinds | None = None) -> tuple[Plan, str]:
    """A plan and the SHA-256 of its bytes, as `sha256sum` prints it."""
    from hashlib import sha256
    from pathlib import Path

    from wirecheck.plan.reader import read_bytes

    data = _standard_input() if path == STANDARD_INPUT else read_bytes(Path(path))
    return read_plan(path, decode_plan(data, path), kinds), sha256(data).hexdigest()


def without_faults(plan: Plan) -> Sequence[Finding]:
    """What the rules find that look at no faults, nor at how a race ends; they take little time."""
    rules = [rule for rule in load_rules() if rule.kind not in (*NEED_FAULTS, "comes-to-rest")]
    return judge_rules(rules, Facts(plan)).findings


def rehearse(
    plan: Plan, events: Sequence[str], fault: str | None = None, after: int = 0, progress: Progress | None = None
) -> tuple[Played, ...]:
    """Play events from rest, with a fault after the first `after` of them; NotInPlan for what the plan does not have."""
    from wirecheck.behaviour.asked import asked
    from wirecheck.behaviour.rehearsal import rehearse as play

    wanted, faults = asked(plan, events, fault)
    return play(plan, wanted, faults, after, progress)


def faults(plan: Plan, progress: Progress | None = None, kinds: Sequence[str] = ()) -> FaultTable:
    """Every single fault of a plan and what it does to each function; TooLarge where that cannot be decided.

    `kinds` are the folders of device kinds that the plan was read with.
    """
    from dataclasses import replace

    from wirecheck.rules.fault_table import fault_table

    return replace(fault_table(Facts(plan, progress)), kinds=tuple(kinds))
