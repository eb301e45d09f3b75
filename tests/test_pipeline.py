"""The stages from a plan's text to a report."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from wirecheck import pipeline
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultSet
from wirecheck.errors import PlanErrors, TooLarge
from wirecheck.findings import Report
from wirecheck.outputs.json import document, render_json
from wirecheck.outputs.text import render_text
from wirecheck.plan import read_plan_text
from wirecheck.rules.loader import load_rules
from wirecheck.rules.record import Rule

SCHEMA = json.loads((Path(__file__).parents[1] / "schemas" / "report.schema.json").read_text(encoding="utf-8"))

GOOD = """\
wirecheck: 1
machine: {name: Polishing spindle}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, earthing: TN, plug: 16 A}
  F1: {kind: circuit-breaker, poles: [1-2, 3-4, 5-6], rating: 10 A, curve: C}
  S1: {kind: emergency-stop, contacts: {11-12: NC}, direct_opening: true, latching: true}
  S3: {kind: push-button, role: stop, contacts: {11-12: NC}}
  S4: {kind: push-button, role: start, contacts: {13-14: NO}}
  Q2: {kind: contactor, coil: 230 V AC, contacts: {13-14: NO}, poles: [1-2, 3-4, 5-6]}
  M1: {kind: motor, power: 0.55 kW, plate: {delta: 230 V, star: 400 V}, links: [[U2, V2, W2]]}
wires:
  - {number: 1, run: [G0:L1, F1:1]}
  - {number: 2, run: [G0:L2, F1:3]}
  - {number: 3, run: [G0:L3, F1:5]}
  - {number: 4, run: [F1:2, Q2:1]}
  - {number: 5, run: [F1:4, Q2:3]}
  - {number: 6, run: [F1:6, Q2:5]}
  - {number: 7, run: [Q2:2, M1:U1]}
  - {number: 8, run: [Q2:4, M1:V1]}
  - {number: 9, run: [Q2:6, M1:W1]}
  - {number: 4, run: [Q2:1, S1:11]}
  - {number: 11, run: [S1:12, S3:11]}
  - {number: 12, run: [S3:12, S4:13, Q2:13]}
  - {number: 13, run: [S4:14, Q2:14, Q2:A1]}
  - {number: N, run: [Q2:A2, G0:N]}
  - {number: PE, run: [G0:PE, M1:PE]}
"""
SHORTED = GOOD.replace("run: [S4:14, Q2:14, Q2:A1]", "run: [S4:14, Q2:14, Q2:A1, Q2:A2]").replace("number: N", "number: 13")
"""The start button joins the two poles of the supply."""


def loud(report: Report) -> list[str]:
    """The rules that found more than advice."""
    return [finding.rule for finding in report.findings if finding.severity != "advice"]


def timeless(report: Report) -> Report:
    return report._replace(statistics={**report.statistics, "seconds": 0})


def test_plan_is_checked_from_its_text() -> None:
    report = pipeline.check_plan("spindle.yaml", GOOD)
    assert (report.plan, report.incomplete, loud(report)) == ("spindle.yaml", (), [])
    assert report.statistics["devices"] == 7
    assert report.statistics["wires"] == 17
    assert report.statistics["states"] > 10
    assert report.statistics["seconds"] >= 0


def test_plan_is_checked_from_its_file(tmp_path: Path) -> None:
    path = tmp_path / "spindle.yaml"
    path.write_text(GOOD, encoding="utf-8")
    from_file, from_text = pipeline.check_plan(str(path)), pipeline.check_plan(str(path), GOOD)
    assert timeless(from_file) == timeless(from_text)


def test_defect_is_found_with_its_evidence() -> None:
    report = pipeline.check_plan("spindle.yaml", SHORTED)
    (short,) = [finding for finding in report.findings if finding.rule == "no-short-across-a-supply"]
    assert report.verdict == "findings"
    assert short.severity == "damage"
    assert short.evidence.events[-1] == "S4=pressed"
    assert short.evidence.walk[0] == "G0:L1"


def test_finding_can_be_accepted_and_then_does_not_count() -> None:
    signature = {"because": "a club of one", "by": "A. Member", "date": "2024-05-01"}
    found = pipeline.check_plan("spindle.yaml", SHORTED).findings
    entries = [{"rule": finding.rule, "devices": list(finding.devices), **signature} for finding in found]
    assert entries
    again = pipeline.check_plan("spindle.yaml", f"{SHORTED}accepted: {json.dumps(entries)}\n")
    assert again.verdict == "clear"
    assert [finding.accepted for finding in again.findings] == [signature] * len(entries)


def test_text_that_is_no_plan() -> None:
    with pytest.raises(PlanErrors):
        pipeline.check_plan("x.yaml", "wirecheck: 2\n")


def test_errors_of_all_files_are_told(tmp_path: Path) -> None:
    with pytest.raises(PlanErrors) as caught:
        pipeline.read_all([str(tmp_path / "a.yaml"), str(tmp_path / "b.yaml")])
    assert [Path(error.file).name for error in caught.value.errors] == ["a.yaml", "b.yaml"]


def test_what_is_too_large_is_told_with_the_rules_that_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*given: object) -> None:
        raise TooLarge("more than 10 states")

    monkeypatch.setattr("wirecheck.behaviour.views_of", refuse)
    report = pipeline.check_plan("spindle.yaml", GOOD)
    assert (report.verdict, report.proved) == ("incomplete", ())
    (reason,) = report.incomplete
    assert reason.startswith("more than 10 states; so not decided: ")
    assert "stop-stops-motion" in reason


def test_two_runs_give_the_same_but_for_the_time() -> None:
    first, second = (timeless(pipeline.check_plan("spindle.yaml", SHORTED)) for _ in range(2))
    assert render_json(first) == render_json(second)
    assert render_text(first) == render_text(second)


@pytest.mark.parametrize("text", [GOOD, SHORTED], ids=["good", "bad"])
def test_own_output_fits_the_schema(text: str) -> None:
    jsonschema.Draft202012Validator(SCHEMA).validate(document(pipeline.check_plan("spindle.yaml", text)))


def test_no_fault_is_tried_for_rules_that_need_none(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[FaultSet] = []

    class Counted(FaultSet):
        def __init__(self, healthy: Behaviour) -> None:
            asked.append(self)
            super().__init__(healthy)

    monkeypatch.setattr("wirecheck.behaviour.verdicts.FaultSet", Counted)
    plan = read_plan_text(GOOD, "spindle.yaml")
    pipeline.without_faults(plan)
    assert asked == []
    pipeline.check(plan)
    assert asked


def test_every_rule_is_judged() -> None:
    report = pipeline.check_plan("spindle.yaml", GOOD)
    told = {proof.claim for proof in report.proved} | {finding.rule for finding in report.findings}
    unknown = {number["name"] for number in report.numbers if number["verdict"] == "unknown"}
    assert [rule.name for rule in load_rules() if not told & {rule.title, rule.name} and not unknown & _asks_for(rule)] == []


def _asks_for(rule: Rule) -> set[object]:
    """The numbers that a rule judges: where one is unknown the rule asks, and neither finds nor proves anything."""
    names = rule.claim.get("number", ())
    return {names} if isinstance(names, str) else set(names) if isinstance(names, list | tuple) else set()
