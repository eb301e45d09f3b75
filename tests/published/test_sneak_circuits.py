"""Sneak circuits that somebody has published: each shows its sneak and no other.

LIEC IV: T. R. Kuphaldt, Lessons In Electric Circuits, volume IV (Digital), chapter 6, Ladder logic.
"""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from tests.published.plans import button, lamp, plan
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.lost import FaultSneaks
from wirecheck.behaviour.reach import event_named
from wirecheck.behaviour.sneaks import Finder, Sneak, sneaks_of
from wirecheck.behaviour.space import lowest
from wirecheck.facts import Facts
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event

BATTERY = "G1: {kind: dc-supply, voltage: %s V DC}"
FUSE = "F1: {kind: fuse}"
MAINS_TO_BATTERY = ["G0:L G1:L", "G0:N G1:N"]


def behaviour(text: str) -> Behaviour:
    return Behaviour(read_plan_text(text, "sneak circuit"))


def state_after(b: Behaviour, *events: str) -> int:
    """The one state in which the circuit rests after these events."""
    states = b.reach.layers[0]
    for word in events:
        rule = event_named(b.reach, Event(*word.split("=")))
        assert rule is not None
        states = b.after(rule, states)
    assert states.bit_count() == 1
    return states


def volts_after(b: Behaviour, *events: str) -> dict[str, float]:
    return Finder(b.model).volts(lowest(state_after(b, *events)))


def devices(sneaks: Iterable[Sneak]) -> set[str]:
    return {sneak.device for sneak in sneaks}


# Headlamps of a 1960s car with one earth lost. Source: a published sneak-circuit note, symptoms seen; netlist reconstructed, the
# figures calculated: filaments of 2.6 ohm (low) and 2.2 ohm (high) in series, 2.6, 2.2 and 2.2 parts of 7.0.

LOW_W, HIGH_W = 12**2 / 2.6, 12**2 / 2.2


def headlamps(right_earth: bool) -> str:
    lamps = {"P1": LOW_W, "P2": HIGH_W, "P3": LOW_W, "P4": HIGH_W}
    given = [f"{name}: {{kind: lamp, voltage: 12 V DC, power: {watts:.6f} W}}" for name, watts in lamps.items()]
    runs = ["G1:+ S1:13 S2:13", "S1:14 P1:X1 P3:X1", "S2:14 P2:X1 P4:X1", "P1:X2 P2:X2 G1:-", "P3:X2 P4:X2"]
    earth = ["P3:X2 G1:-"] if right_earth else []
    return plan([BATTERY % 12, button("S1"), button("S2"), *given], [*MAINS_TO_BATTERY, *runs, *earth])


def test_headlamps_with_both_earths_have_no_sneak() -> None:
    b = behaviour(headlamps(True))
    assert sneaks_of(b) == ()
    assert volts_after(b, "G0=on", "S1=pressed") == pytest.approx({"P1": 12, "P2": 0, "P3": 12, "P4": 0})


def test_headlamps_with_one_earth_lost_glow_through_each_other() -> None:
    b = behaviour(headlamps(False))
    volts = volts_after(b, "G0=on", "S1=pressed")
    assert [round(100 * volts[name] / 12) for name in ("P1", "P3", "P4", "P2")] == [100, 37, 31, 31]
    low_on = state_after(b, "G0=on", "S1=pressed")
    seen = {sneak.device: sneak for sneak in sneaks_of(b) if sneak.states & low_on}
    assert set(seen) == {"P2", "P3", "P4"}
    assert round(seen["P3"].share, 2) == 0.37
    assert set(seen["P3"].through) == {"P4", "P2"}
    walk = "G1:+ S1:13 S1:14 P1:X1 P3:X1 P3:X2 P4:X2 P4:X1 P2:X1 P2:X2 G1:-"
    assert " ".join(map(str, seen["P3"].walk)) == walk
    assert {sneak.verdict for sneak in seen.values()} == {"glows"}


def test_headlamps_with_high_on_show_the_same_the_other_way_round() -> None:
    volts = volts_after(behaviour(headlamps(False)), "G0=on", "S2=pressed")
    assert [round(100 * volts[name] / 12) for name in ("P2", "P4", "P3", "P1")] == [
        100,
        round(220 / 7.4),
        *[round(260 / 7.4)] * 2,
    ]


# Mercury-Redstone 1, 1960: the earth of the tail plug parted before the control plug, and the return current of what was on board
# went through the coil that cuts off the engine. Seen; a minimal netlist constructed: a load on board fed through the control
# plug X1, its return by the tail plug X2; the coil between the earth on board and the one on the ground, through X1.

ON_BOARD = [
    BATTERY % 28,
    "X1: {kind: plug-connector, poles: [1-2, 3-4]}",
    "X2: {kind: plug-connector, poles: [1-2]}",
    "P1: {kind: load, voltage: 28 V DC, power: 28 W}",
    "K1: {kind: relay, coil: 28 V DC, coil_power: 2 W, contacts: {13-14: NO}}",
]
TO_GROUND = ["G1:+ X1:1", "X1:2 P1:X1", "P1:X2 X2:2 K1:A1", "X2:1 G1:-", "K1:A2 X1:4", "X1:3 G1:-"]


def test_ground_paths_that_part_in_the_wrong_order_send_the_return_current_through_the_coil() -> None:
    b = behaviour(plan(ON_BOARD, [*MAINS_TO_BATTERY, *TO_GROUND]))
    (coil,) = (sneak for sneak in sneaks_of(b) if sneak.device == "K1")
    assert coil.verdict == "pulls in"
    assert coil.through == ("P1",)
    assert coil.share == pytest.approx(392 / (392 + 28))
    wrong_order = state_after(b, "G0=on", "X2=parted")
    assert coil.states & b.reached == wrong_order
    assert devices(sneaks_of(b)) == {"K1"}
    assert volts_after(b, "G0=on", "X2=parted")["K1"] == pytest.approx(28 * 392 / 420)


def test_ground_paths_that_part_in_the_right_order_do_not() -> None:
    b = behaviour(plan(ON_BOARD, [*MAINS_TO_BATTERY, *TO_GROUND]))
    for events in (["X1=parted"], ["X1=parted", "X2=parted"]):
        assert volts_after(b, "G0=on", *events) == pytest.approx({"P1": 0, "K1": 0})


# Emergency stop on the earthed side. Case described at IEC 60204-1, 9.4.3, seen quoted; netlist reconstructed. The current goes
# round the stop through earth and through no load, so the whole voltage is there and no sneak path through a load is told.


def stop_circuit(earthed_side: bool, earth: bool) -> str:
    coil = "K1: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}"
    stop = "S2: {kind: emergency-stop, contacts: {11-12: NC}}"
    if earthed_side:
        runs = ["G0:L F1:1", "F1:2 S1:13", "S1:14 K1:A1", "K1:A2 S2:11", "S2:12 G0:N", *(["K1:A2 X0:9"] if earth else [])]
    else:
        runs = ["G0:L F1:1", "F1:2 S2:11", "S2:12 S1:13", "S1:14 K1:A1", "K1:A2 G0:N", *(["S1:14 X0:9"] if earth else [])]
    return plan([FUSE, button("S1"), stop, coil], runs)


@pytest.mark.parametrize("earthed_side", [True, False])
def test_the_stop_takes_the_voltage_away_without_an_earth_fault(earthed_side: bool) -> None:
    b = behaviour(stop_circuit(earthed_side, earth=False))
    assert volts_after(b, "G0=on", "S1=pressed")["K1"] == pytest.approx(230)
    assert volts_after(b, "G0=on", "S1=pressed", "S2=pressed")["K1"] == pytest.approx(0)
    assert sneaks_of(b) == ()


def test_one_earth_leaves_the_coil_in_where_the_stop_is_on_the_earthed_side() -> None:
    b = behaviour(stop_circuit(earthed_side=True, earth=True))
    assert volts_after(b, "G0=on", "S1=pressed", "S2=pressed")["K1"] == pytest.approx(230)
    assert sneaks_of(b) == ()


def test_one_earth_blows_the_fuse_where_the_stop_is_on_the_live_side() -> None:
    b = behaviour(stop_circuit(earthed_side=False, earth=True))
    assert b.space.decode(lowest(state_after(b, "G0=on", "S1=pressed")))["F1"] == "blown"
    assert volts_after(b, "G0=on", "S1=pressed")["K1"] == pytest.approx(0)
    assert sneaks_of(b) == ()


# The side a lamp is on. Source: LIEC IV ch. 6, seen


def lamp_circuit(next_to: str, earth: bool) -> str:
    if next_to == "earthed rail":
        runs = ["G0:L F1:1", "F1:2 S1:13", "S1:14 P1:X1", "P1:X2 G0:N", *(["P1:X1 X0:9"] if earth else [])]
    else:
        runs = ["G0:L F1:1", "F1:2 P1:X1", "P1:X2 S1:13", "S1:14 G0:N", *(["P1:X2 X0:9"] if earth else [])]
    return plan([FUSE, button("S1"), lamp("P1")], runs)


def test_lamp_next_to_the_live_rail_has_its_whole_voltage_through_earth() -> None:
    b = behaviour(lamp_circuit("live rail", earth=True))
    for events in (["G0=on"], ["G0=on", "S1=pressed"]):
        assert volts_after(b, *events)["P1"] == pytest.approx(230)
    assert sneaks_of(b) == ()


def test_lamp_next_to_the_earthed_rail_has_none() -> None:
    b = behaviour(lamp_circuit("earthed rail", earth=True))
    for events in (["G0=on"], ["G0=on", "S1=pressed"]):
        assert volts_after(b, *events)["P1"] == pytest.approx(0)
    assert sneaks_of(b) == ()


# The same as they come about: the plan is sound, and one wire of it opens.


def by_fault(text: str, fault: str) -> FaultSneaks:
    """What the one fault that is named lets act or glow."""
    every = {lets.fault.text: lets for _, each in Facts(read_plan_text(text, "sneak circuit")).fault_sneaks for lets in each}
    (found,) = (lets for name, lets in every.items() if fault in name)
    return found


def test_the_earth_of_one_side_of_the_headlamps_comes_off() -> None:
    text = headlamps(True)
    lets = by_fault(text, "[P3:X2–G1:-] open")
    low_on = state_after(behaviour(text), "G0=on", "S1=pressed")
    assert {(s.device, round(100 * s.share)) for s in lets.sneaks if s.states & low_on} == {("P3", 37), ("P4", 31), ("P2", 31)}
    walks = {" ".join(map(str, sneak.walk)) for sneak in lets.sneaks if sneak.device == "P3"}
    assert "G1:+ S1:13 S1:14 P1:X1 P3:X1 P3:X2 P4:X2 P4:X1 P2:X1 P2:X2 G1:-" in walks
    assert {sneak.verdict for sneak in lets.sneaks} == {"glows"}


def test_only_the_lost_earths_light_the_headlamps() -> None:
    text = headlamps(True)
    lit = {lets.fault.text for _, each in Facts(read_plan_text(text, "sneak circuit")).fault_sneaks for lets in each}
    opened = {name.partition("[")[2].partition("]")[0] for name in lit}
    assert opened == {"P3:X2–G1:-", "P2:X2–G1:-"}


def test_a_ground_path_that_opens_sends_the_return_current_through_the_coil() -> None:
    # The tail plug is a fixed connection here, so that without a fault nothing acts.
    runs = ["G1:+ X1:1", "X1:2 P1:X1", "P1:X2 K1:A1", "K1:A1 G1:-", "K1:A2 X1:4", "X1:3 G1:-"]
    lets = by_fault(plan([d for d in ON_BOARD if not d.startswith("X2")], [*MAINS_TO_BATTERY, *runs]), "[K1:A1–G1:-] open")
    coils = [sneak for sneak in lets.sneaks if sneak.device == "K1"]
    assert {(coil.verdict, coil.through) for coil in coils} == {("pulls in", ("P1",))}
    assert {round(coil.share, 6) for coil in coils} == {round(392 / (392 + 28), 6)}
