"""Pumps and fans: what must stop them, and which of their restarts are everyday practice."""

from __future__ import annotations

from tests.catalogue.table import plan_text
from tests.electrics.plans import changed
from wirecheck.facts import Facts
from wirecheck.findings import Finding
from wirecheck.plan import read_plan_text
from wirecheck.rules.loader import load_rules
from wirecheck.rules.runner import judge_rules

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
