"""Circuits on which the program once went wrong."""

from __future__ import annotations

import pytest

from tests.generators.random_circuits import random_circuit
from wirecheck.facts import Facts
from wirecheck.pipeline import check_plan
from wirecheck.plan import read_plan_text

SOLENOID = """\
wirecheck: 1
machine: {name: a coolant valve of the club's surface grinder}
devices:
  G1: {kind: mains, phases: 1, voltage: 230 V}
  S1: {kind: push-button, role: stop, contacts: {11-12: NC}}
  Y1: {kind: solenoid, voltage: 230 V}
cables:
  W1: {cores: 3}
wires:
  - {number: 1, run: ["G1:L", "S1:11"], cable: W1}
  - {number: 2, run: ["S1:12", "Y1:X1"], cable: W1}
  - {number: 0, run: ["Y1:X2", "G1:N"]}
functions:
  valve-shuts: {when: S1=pressed, must: Y1 off}
"""


def test_a_fault_that_keeps_a_load_on_is_no_fault_without_effect() -> None:
    [(functions, effects)] = Facts(read_plan_text(SOLENOID, "solenoid")).fault_effects
    place = [f.name for f in functions].index("valve-shuts")
    [shorted] = [e for e in effects if any(f.text == "W1: 1 shorted to 2" for f in e.faults)]
    assert shorted.verdicts[place] == "lost unseen"


@pytest.mark.parametrize("seed", [50, 51])
def test_an_oscillation_that_a_trace_only_passes_is_told_and_the_check_ends(seed: int) -> None:
    report = check_plan("circuit", random_circuit(seed))
    assert not report.incomplete
    assert any(f.rule == "circuit-comes-to-rest" for f in report.findings)
