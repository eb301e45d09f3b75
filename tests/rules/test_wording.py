"""How findings speak: a message names its device, the remedy of a danger is something to do, an event is told in words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from wirecheck.facts import Facts
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Device
from wirecheck.rules.examples import Example, read_rule_file
from wirecheck.rules.happenings import happening, standing
from wirecheck.rules.record import Rule
from wirecheck.rules.runner import judge_rules

RULES = [read_rule_file(path) for path in sorted((Path(__file__).parents[2] / "rules").glob("*.yaml"))]
BAD = [(rule, example) for rule, examples in RULES for example in examples if example.findings]

TO_DO = re.compile(
    "add|connect|feed|fit|give|in place of|join|keep|lay|lead|let|move|nothing|put|remove|replace|run|set|stop|take|use|wire"
)
"""Words with which a remedy begins."""


def says(text: str, names: set[str]) -> bool:
    return any(re.search(rf"(?<![\w.]){re.escape(name)}(?!\w)", text) for name in names)


@pytest.mark.parametrize(("rule", "example"), BAD, ids=lambda made: getattr(made, "name", None))
def test_a_message_names_a_device_and_the_remedy_of_a_danger_says_what_to_do(rule: Rule, example: Example) -> None:
    plan = read_plan_text(example.plan, "plan.yaml")
    found = judge_rules([rule], Facts(plan)).findings
    assert found
    for finding in found:
        assert says(finding.message, {*finding.devices, *finding.wires, *plan.cables}), finding.message
        if finding.severity == "danger":
            assert TO_DO.match(finding.remedy.lower()) or says(finding.remedy, set(plan.devices)), finding.remedy


def device_of(line: str) -> Device:
    plan = read_plan_text(f"wirecheck: 1\nmachine: {{name: bench}}\ndevices:\n  {line}\nwires: []\n", "plan.yaml")
    return next(iter(plan.devices.values()))


@pytest.mark.parametrize(
    ("line", "position", "told"),
    [
        ("G0: {kind: mains, phases: 1, voltage: 230 V}", "on", "the supply comes on"),
        ("S1: {kind: emergency-stop, contacts: {11-12: NC}}", "pressed", "the emergency stop S1 is pressed"),
        ("S2: {kind: guard-switch, guards: chuck, contacts: {11-12: guard-closed}}", "open", "the guard S2 (chuck) is opened"),
        ("S3: {kind: push-button, title: stop, role: stop, contacts: {11-12: NC}}", "released", "S3 (stop) is let go"),
        ("S5: {kind: selector, positions: [low, high], contacts: {13-14: {closed_in: [high]}}}", "high", "S5 is turned to high"),
        ("F3: {kind: fuse, rating: 2 A}", "whole", "F3 is renewed"),
        ("K3: {kind: relay, coil: 24 V DC, contacts: {13-14: NO}}", "elapsed", "the delay of K3 ends"),
        ("S9: {kind: custom, positions: [up, down], elements: [{contact: 1-2, closed_in: [down]}]}", "down", "S9 goes to down"),
    ],
)
def test_an_event_is_told_in_words(line: str, position: str, told: str) -> None:
    assert happening(device_of(line), position) == told


def test_what_a_walk_passes_is_told_with_how_it_stands() -> None:
    assert (
        standing(device_of("S2: {kind: guard-switch, guards: chuck, contacts: {11-12: guard-closed}}"), "open")
        == "guard chuck, open"
    )
    assert standing(device_of("S1: {kind: emergency-stop, contacts: {11-12: NC}}"), "released") == "emergency stop, released"
    assert standing(device_of("K1: {kind: relay, title: run, coil: 24 V DC, contacts: {13-14: NO}}"), "in") == "run, pulled in"
    assert standing(device_of("F3: {kind: fuse, rating: 2 A}"), "whole") == ""


def test_stops_side_by_side_are_told_with_the_terminals_to_join() -> None:
    (rule, example) = next((r, e) for r, e in BAD if r.name == "emergency-stop-stops-motion" and "S2:11" in e.plan)
    remedies = [f.remedy for f in judge_rules([rule], Facts(read_plan_text(example.plan, "plan.yaml"))).findings]
    assert len(remedies) == 2
    assert all("in a row, with S1:12 and S2:11 joined to each other and to nothing else." in remedy for remedy in remedies)
