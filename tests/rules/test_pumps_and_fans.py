"""Pumps and fans: what must stop them, and which of their restarts are everyday practice."""

from __future__ import annotations

import pytest

from tests.catalogue.table import plan_text
from tests.electrics.plans import changed
from wirecheck.facts import Facts
from wirecheck.findings import Finding
from wirecheck.plan import read_plan_text
from wirecheck.rules.loader import load_rules
from wirecheck.rules.runner import judge_rules

COOLANT = plan_text("arrangements/coolant-selector-for-a-three-phase-pump")
CLEARED, RETURNS = "clearing-a-fault-starts-nothing", "returning-supply-starts-nothing"
RULES = {rule.name: rule for rule in load_rules()}

WIRES = """\
  - {number: 7, run: [Q2:24, Q3:13]}
  - {number: 8, run: [Q3:14, Q3:A1]}
  - {number: 4, run: [Q2:13, Q2:23]"""


def found(rule: str, plan: str) -> list[Finding]:
    judgement = judge_rules([RULES[rule]], Facts(read_plan_text(plan, "plan.yaml")))
    assert judgement.incomplete == ()
    return [*judgement.findings]


def test_a_pump_that_goes_on_with_its_selector_at_off_is_found() -> None:
    # The holding contact of the pump's contactor stands across the selector.
    plan = plan_text("arrangements/coolant-selector-for-a-small-pump")
    assert found("selector-off-stops-motion", plan) == []
    held = changed(plan, ("run: [S6:14, Q3:A1]", "run: [S6:14, Q3:14]"), ("  - {number: 4, run: [Q2:13, Q2:23]", WIRES))
    (finding,) = found("selector-off-stops-motion", held)
    assert (finding.severity, finding.devices[0], finding.devices[-1]) == ("danger", "S6", "M2")


@pytest.mark.parametrize("drives", ["pump", "fan"])
def test_a_reset_by_hand_that_starts_a_pump_is_advice(drives: str) -> None:
    (finding,) = found(CLEARED, changed(COOLANT, ("drives: pump", f"drives: {drives}")))
    assert (finding.severity, finding.devices[0], finding.devices[-1]) == ("advice", "F5", "M2")
    assert f"as M2 drives a {drives}, which nobody reaches into" in finding.why
    assert finding.rests_on == (f"M2 drives: {drives} (stated in the plan), taken as out of reach of any hand",)
    assert "drives:" not in finding.remedy


@pytest.mark.parametrize("drives", ["drives: spindle, ", "drives: other, ", "drives: unknown, ", ""])
def test_a_reset_that_starts_anything_else_is_a_danger(drives: str) -> None:
    (finding,) = found(CLEARED, changed(COOLANT, ("drives: pump, ", drives)))
    assert (finding.severity, finding.rests_on) == ("danger", ())
    assert ("say so at M2: drives: pump" in finding.remedy) == (drives in ("", "drives: unknown, "))


@pytest.mark.parametrize("reset", ["reset: automatic", "reset: unknown"])
def test_what_comes_back_by_itself_starts_no_pump(reset: str) -> None:
    # Whoever looks for the cause of the trip may have a hand in the pump then.
    (finding,) = found(CLEARED, changed(COOLANT, ("setting: 0.4 A, reset: manual", f"setting: 0.4 A, {reset}")))
    assert finding.severity == "danger"


def test_the_spindle_beside_a_pump_keeps_its_danger() -> None:
    # The saw itself on a switch that stays: its own overload relay starts it, whatever M2 drives.
    kept = changed(
        COOLANT,
        (
            "S4: {kind: push-button, title: start, role: start, colour: WH, contacts: {13-14: NO}",
            "S4: {kind: selector, title: saw, positions: [off, on], run_positions: [on], contacts: {13-14: {closed_in: [on]}}",
        ),
        (
            "title: saw, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO, 23-24: NO}",
            "title: saw, poles: [1-2, 3-4, 5-6], contacts: {23-24: NO}",
        ),
        ("  - {number: 4, run: [S4:13, Q2:13], size: 0.75 mm2, colour: RD, cable: W2}\n", ""),
        ("run: [S4:14, Q2:14]", "run: [S4:14, F4:95]"),
        ("  - {number: 5, run: [Q2:14, F4:95], size: 0.75 mm2, colour: RD}\n", ""),
        ("run: [Q2:13, Q2:23]", "run: [S4:13, Q2:23]"),
    )
    severities = {f.devices[-1]: f.severity for f in found(CLEARED, kept)}
    assert severities["M1"] == "danger"
    assert {f.devices[-1]: f.severity for f in found(RETURNS, kept)}["M1"] == "danger"
    assert {f.devices[-1]: f.severity for f in found(RETURNS, kept)}["M2"] == "advice"
