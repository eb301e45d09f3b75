"""Circuits on which the program once went wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.behaviour.test_faults_against_plain import Both
from tests.generators.random_circuits import random_circuit
from tests.oracles.fast_engine import differences, fast, plain
from tests.oracles.plain_engine import PlainEngine
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.reach import explore
from wirecheck.facts import Facts
from wirecheck.pipeline import check_plan, rehearse
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


SAW = Path(__file__).parents[1] / "catalogue" / "arrangements" / "stops-in-the-no-volt-coil.yaml"
"""A saw whose stops all stand in the coil circuit of its no-volt switch Q4."""

EAGER = SAW.read_text(encoding="utf-8").replace("on_power_up_with_run: waits", "on_power_up_with_run: starts")


@pytest.mark.parametrize(
    ("events", "moves"),
    [
        (("Q4=start", "S4=saw"), True),
        (("Q4=start", "S4=saw", "S1=pressed"), False),
        (("Q4=start", "S4=saw", "S1=pressed", "S1=released"), False),
        (("S1=pressed", "S4=saw", "Q4=start"), False),
        (("S1=pressed", "S4=saw", "Q4=start", "S1=released"), False),
        (("Q4=start", "S4=saw", "Q1=off", "Q1=on"), False),
        (("Q4=start", "S4=saw", "Q1=off", "Q1=on", "Q4=off"), False),
        (("Q4=start", "S4=saw", "Q1=off", "Q1=on", "Q4=off", "Q4=start"), True),
        (("Q4=start", "Q4=off", "S4=saw", "S2=pressed", "Q4=start"), False),
    ],
)
def test_a_start_that_is_held_keeps_no_no_volt_switch_closed(events: tuple[str, ...], moves: bool) -> None:
    """So one state at a time, and so in the states of the whole plan."""
    plan = read_plan_text(EAGER, "saw")
    (step,) = rehearse(plan, ("G0=on", "Q1=on", *events))[-1:]
    assert step.motion == {"M1": "forward" if moves else "stopped"}


@pytest.mark.parametrize("stop", ["S1", "S2", "S3"])
def test_with_a_stop_in_its_coil_circuit_held_a_no_volt_switch_is_closed_by_nothing(stop: str) -> None:
    behaviour = Behaviour(read_plan_text(EAGER, "saw"))
    held = behaviour.reached & behaviour.at(stop, "pressed") & behaviour.at("Q4", "start") & behaviour.at("Q1", "on")
    assert held
    assert not held & (behaviour.moving("M1") | behaviour.within("Q4"))
    assert behaviour.reached & behaviour.at("Q4", "start") & behaviour.moving("M1")


@pytest.mark.parametrize("stop", ["S1", "S2", "S3"])
def test_a_stop_that_is_bridged_in_the_coil_circuit_of_a_no_volt_switch_is_found(stop: str) -> None:
    text = EAGER.replace("  # lever\n", f"  - {{number: 9, run: [{stop}:11, {stop}:12], size: 1.5 mm2, colour: RD}}\n")
    rule = "emergency-stop-stops-motion" if stop == "S1" else "stop-stops-motion"
    line = next(n for n, row in enumerate(text.splitlines(), 1) if row.startswith(f"  {stop}: "))
    assert (rule, line) in {(f.rule, f.at.line) for f in check_plan("saw", text).findings}


FAN = """\
wirecheck: 1
machine: {name: dust fan of the club behind a no-volt switch}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, earthing: TN}
  S1: {kind: emergency-stop, contacts: {11-12: NC}}
  S2: {kind: push-button, role: stop, contacts: {11-12: NC}}
  Q4: {kind: no-volt-release, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO, 21-22: NC}, voltage: 230 V AC}
  P1: {kind: lamp, voltage: 230 V}
  P2: {kind: lamp, voltage: 230 V}
  M1: {kind: motor, plate: {star: 400 V}, links: [[U2, V2, W2]]}
cables:
  W1: {cores: 3}
wires:
  - {number: L1, run: ["G0:L1", "Q4:1", "Q4:21"]}
  - {number: L2, run: ["G0:L2", "Q4:3"]}
  - {number: L3, run: ["G0:L3", "Q4:5"]}
  - {number: U, run: ["Q4:2", "M1:U1", "Q4:13"]}
  - {number: V, run: ["Q4:4", "M1:V1"]}
  - {number: W, run: ["Q4:6", "M1:W1"]}
  - {number: 1, run: ["Q4:14", "P1:X1", "S1:11"], cable: W1}
  - {number: 2, run: ["S1:12", "S2:11"], cable: W1}
  - {number: 3, run: ["S2:12", "Q4:A1"], cable: W1}
  - {number: 4, run: ["Q4:22", "P2:X1"]}
  - {number: N, run: ["G0:N", "Q4:A2", "P1:X2", "P2:X2"]}
"""
"""The coil hangs on an auxiliary contact of its own, which takes it from behind a pole."""


def test_both_engines_let_a_no_volt_switch_go_under_every_fault() -> None:
    both = Both(read_plan_text(FAN, "fan"))
    faults = list(single_faults(both.whole.plan))
    assert len(faults) > 30
    assert [complaint for fault in faults for complaint in both.complaints(fault)] == []


def test_a_no_volt_switch_whose_own_contact_feeds_its_coil_can_be_started() -> None:
    plan = read_plan_text(FAN, "fan")
    seen, kept = fast(plan)
    assert differences(seen, plain(PlainEngine(plan), kept)) == []
    behaviour = Behaviour(plan)
    assert behaviour.reached & behaviour.at("Q4", "off") & behaviour.moving("M1")
    assert not behaviour.reached & behaviour.at("S1", "pressed") & behaviour.moving("M1")


TWO_SHORTS = """\
wirecheck: 1
machine: {name: two shorts at the club's pillar}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  F1: {kind: circuit-breaker, poles: [1-2]}
  S1: {kind: push-button, contacts: {13-14: NO, 23-24: NO}}
wires:
  - {number: 1, run: ["G0:L", "F1:1", "S1:13"]}
  - {number: 2, run: ["F1:2", "S1:23"]}
  - {number: 3, run: ["G0:N", "S1:14"]}
  - {number: 4, run: ["G0:PE", "S1:24"]}
"""


def test_of_two_shorts_at_once_the_one_that_nothing_clears_may_be_first() -> None:
    plan = read_plan_text(TWO_SHORTS, "pillar")
    seen, kept = fast(plan)
    assert differences(seen, plain(PlainEngine(plan), kept)) == []
    dead = {dict(view)["F1"]: depth for view, depth in seen.depth.items() if {("G0 dead", "yes"), ("S1", "pressed")} <= view}
    assert dead == {"on": 2, "tripped": 2}
