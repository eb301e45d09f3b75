"""How loudly guard switches, places, terminals and cables are told of: what is not stated is advice and says what it rests on."""

from __future__ import annotations

import pytest

from tests.electrics.plans import changed, example
from wirecheck.facts import Facts
from wirecheck.findings import Finding
from wirecheck.plan import read_plan_text
from wirecheck.rules.assembly import fold
from wirecheck.rules.loader import load_rules
from wirecheck.rules.runner import judge_rules

RULES = {rule.name: rule for rule in load_rules()}
LATHE = example("guard-switch-is-hard-to-get-round", "A coded switch")
SWITCH = "type: 2, direct_opening: true"


def found(rule: str, plan: str) -> list[Finding]:
    judgement = judge_rules([RULES[rule]], Facts(read_plan_text(plan, "plan.yaml")))
    assert judgement.incomplete == ()
    return fold(judgement.findings)


def severities(rule: str, plan: str) -> list[str]:
    return [finding.severity for finding in found(rule, plan)]


@pytest.mark.parametrize(
    ("switch", "severity"),
    [
        ("type: 3", ["danger"]),
        ("type: 1, direct_opening: false", ["danger"]),
        ("type: 1, direct_opening: true", ["advice"]),
        ("type: 1", ["advice"]),
        ("direct_opening: true", ["advice"]),
        ("type: 4", []),
    ],
)
def test_a_magnet_or_tape_is_a_danger_and_what_is_not_known_advice(switch: str, severity: list[str]) -> None:
    assert severities("guard-switch-is-hard-to-get-round", changed(LATHE, (SWITCH, switch))) == severity


def test_a_type_that_is_not_stated_is_what_the_finding_rests_on() -> None:
    plan = changed(LATHE, (SWITCH, "direct_opening: true"))
    assert [f.rests_on for f in found("guard-switch-is-hard-to-get-round", plan)] == [("S2 type is not stated",)]


def test_a_second_switch_counts_only_on_the_same_guard() -> None:
    plain = changed(LATHE, (SWITCH, "type: 3"))
    other = "  S5: {kind: guard-switch, guards: GUARD, type: 4, contacts: {11-12: guard-closed}, place: lathe}\n  S3: {kind: push"
    for guards, severity in (("chuck", []), ("belt", ["danger"])):
        plan = changed(plain, ("  S3: {kind: push", other.replace("GUARD", guards)))
        assert severities("guard-switch-is-hard-to-get-round", plan) == severity


@pytest.mark.parametrize(
    ("place", "severity"),
    [
        ("{ip: IP32, swarf: true}", ["damage"]),
        ("{ip: IP43, coolant: true}", ["damage"]),
        ("{ip: IP4X, coolant: true}", ["damage"]),
        ("{ip: tight, swarf: true}", ["advice"]),
        ("{ip: IP54W, swarf: true, coolant: true}", []),
        ("{ip: IP20}", []),
    ],
)
def test_a_place_is_judged_by_what_flies_there(place: str, severity: list[str]) -> None:
    plan = changed(LATHE, ("  pendant: {ip: IP65, swarf: true}", f"  pendant: {place}"))
    assert severities("places-keep-swarf-and-coolant-out", plan) == severity


def test_a_bare_frame_may_stand_among_swarf() -> None:
    plan = changed(
        LATHE,
        ("  pendant: {ip", "  bed: {ip: IP00, swarf: true}\n  pendant: {ip"),
        ("  X0: {kind", "  B0: {kind: frame, place: bed}\n  X0: {kind"),
    )
    assert found("places-keep-swarf-and-coolant-out", plan) == []


def test_a_terminal_block_takes_more_wires_and_says_how_many() -> None:
    runs = "".join(f"  - {{number: 30, run: [X1:1, X1:{n}]}}\n" for n in range(2, 7))
    plan = changed(LATHE, ("  X0: {kind", "  X1: {kind: terminal-block}\n  X0: {kind"), ("wires:\n", f"wires:\n{runs}"))
    assert [f.devices for f in found("terminals-hold-their-wires", plan)] == [("X1",)]
    assert found("terminals-hold-their-wires", changed(plan, ("kind: terminal-block", "kind: terminal-block, holds: 5"))) == []


def test_a_cable_through_three_places_names_the_wire_that_leaves_its_way() -> None:
    plan = changed(LATHE, ("[S2:12, T1:STO1], cable: W3", "[S2:12, T1:STO1], cable: W2"))
    assert [(f.wires, f.devices) for f in found("cable-has-two-ends", plan)] == [(("4",), ("S2", "T1"))]
