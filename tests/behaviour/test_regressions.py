"""Circuits on which the program once went wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.behaviour.test_faults_against_plain import Both
from tests.generators.random_circuits import random_circuit
from tests.oracles.fast_engine import differences, fast, plain
from tests.oracles.plain_engine import PlainEngine
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.reach import explore
from wirecheck.facts import Facts
from wirecheck.pipeline import check_plan
from wirecheck.plan import read_plan, read_plan_text

EXAMPLES = Path(__file__).parents[2] / "examples"

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


TWO_SUPPLIES = """\
wirecheck: 1
machine: {name: two supplies of the club's rolling mill}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  G1: {kind: dc-supply, voltage: 24 V DC}
  G2: {kind: dc-supply, voltage: 24 V DC}
  S1: {kind: push-button, contacts: {13-14: NO}}
  S2: {kind: push-button, role: start, contacts: {13-14: NO}}
  V1: {kind: diode}
  K1: {kind: relay, coil: 24 V DC, contacts: {13-14: NO, 21-22: NC}}
  K2: {kind: relay, coil: 24 V DC, contacts: {13-14: NO, 23-24: NO}}
wires:
  - {number: 1, run: ["G0:L", "G1:L", "G2:L"]}
  - {number: 2, run: ["G0:N", "G1:N", "G2:N"]}
  - {number: 3, run: ["G1:+", "K1:A1", "S1:13"]}
  - {number: 4, run: ["G1:-", "K1:A2", "V1:K"]}
  - {number: 10, run: ["S1:14", "V1:A"]}
  - {number: 5, run: ["G2:+", "S2:13", "K2:13", "K2:23"]}
  - {number: 6, run: ["S2:14", "K1:13"]}
  - {number: 7, run: ["K1:14", "K2:14", "K2:A1"]}
  - {number: 8, run: ["G2:-", "K2:A2", "K1:22"]}
  - {number: 9, run: ["K2:24", "K1:21"]}
"""


def test_a_source_that_is_shorted_only_once_another_one_is_dead_dies_too() -> None:
    """S1 shorts G1 through a diode; only when it is dead does K1 drop out, which shorts G2 while K2 is held in."""
    assert explore(read_plan_text(TWO_SUPPLIES, "two supplies")).model.dying == {"G1", "G2"}


HOT_MOTOR = """\
wirecheck: 1
machine: {name: extractor fan of the club's forge}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  B1: {kind: thermistor}
  S1: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: thermistor-relay, voltage: 230 V AC, sensor: [T1, T2], reset: manual, contacts: {13-14: NO}}
  P1: {kind: lamp, voltage: 230 V, colour: GN}
wires:
  - {number: L, run: ["G0:L", "S1:13", "K1:13"]}
  - {number: 1, run: ["S1:14", "K1:A1"]}
  - {number: 2, run: ["K1:14", "P1:X1"]}
  - {number: 3, run: ["B1:1", "K1:T1"]}
  - {number: 4, run: ["B1:2", "K1:T2"]}
  - {number: N, run: ["G0:N", "K1:A2", "P1:X2"]}
"""


def test_a_thermistor_relay_that_is_stuck_in_does_not_drop_out_when_it_trips() -> None:
    both = Both(read_plan_text(HOT_MOTOR, "forge"))
    (stuck,) = (f for f in single_faults(both.whole.plan) if f.text == "K1 stuck in")
    assert both.complaints(stuck) == []
    faulted = both.set.behaviour(both.set.model(stuck), from_start=True)
    tripped = faulted.reached & faulted.space.at("K1 tripped", "yes")
    assert tripped
    assert not faulted.reached & ~faulted.space.at("K1", "in")


BUZZING = """\
wirecheck: 1
machine: {name: safety relay of the club's guillotine}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  K8:
    kind: safety-relay
    voltage: 230 V AC
    supply: [A1, A2]
    channels: [[S11, S12]]
    reset: automatic
    contacts: {41-42: NC}
wires:
  - {number: 1, run: ["G0:L", "K8:41"]}
  - {number: 2, run: ["K8:42", "K8:A1"]}
  - {number: 3, run: ["K8:S11", "K8:S12"]}
  - {number: 0, run: ["G0:N", "K8:A2"]}
"""


def test_a_safety_relay_that_cuts_its_own_supply_is_ready_again_as_it_drops_out() -> None:
    plan = read_plan_text(BUZZING, "guillotine")
    seen, kept = fast(plan)
    assert differences(seen, plain(PlainEngine(plan), kept)) == []
    assert seen.oscillates


@pytest.mark.parametrize("wire", ["11", "12"])
def test_a_safety_relay_that_shorts_its_own_supply_is_ready_again_as_it_drops_out(wire: str) -> None:
    """Behind its contact the conductor touches metal: it drops out before the fuse has blown, and the supply is back."""
    both = Both(read_plan(EXAMPLES / "good" / "surface-grinder.yaml"))
    (earthed,) = (f for f in single_faults(both.whole.plan) if f.text == f"wire {wire} earthed")
    assert both.complaints(earthed) == []
