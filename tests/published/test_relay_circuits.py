"""Relay circuits whose behaviour a book or a standard states, played by both engines.

LIEC IV: T. R. Kuphaldt, Lessons In Electric Circuits, volume IV (Digital), chapter 6, Ladder logic.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

import pytest

from tests.published.plans import button, lamp, plan, relay
from tests.published.playing import ENGINES, Play, Seen

pytestmark = pytest.mark.parametrize("play", ENGINES.values(), ids=list(ENGINES))

FUSE = "F1: {kind: fuse}"


def only(seen: list[Seen]) -> Seen:
    """What is seen where there is no race."""
    assert len(seen) == 1
    return seen[0]


def acts(play: Play, text: str, *events: str) -> frozenset[str]:
    return only(play(text, *events)).acts


# One earth fault and the side the lamp is on. Source: LIEC IV ch. 6


def lamp_circuit(next_to: str, earthed: bool) -> str:
    fault = ["P1:X1 X0:9" if next_to == "earthed rail" else "P1:X2 X0:9"] if earthed else []
    if next_to == "earthed rail":
        runs = ["G0:L F1:1", "F1:2 S1:13", "S1:14 P1:X1", "P1:X2 G0:N"]
    else:
        runs = ["G0:L F1:1", "F1:2 P1:X1", "P1:X2 S1:13", "S1:14 G0:N"]
    return plan([FUSE, button("S1"), lamp("P1")], runs + fault)


@pytest.mark.parametrize("next_to", ["earthed rail", "live rail"])
def test_lamp_follows_its_switch_without_a_fault(play: Play, next_to: str) -> None:
    assert acts(play, lamp_circuit(next_to, False), "G0=on") == set()
    assert acts(play, lamp_circuit(next_to, False), "G0=on", "S1=pressed") == {"P1"}


def test_lamp_next_to_the_earthed_rail_fails_dark_and_blows_the_fuse(play: Play) -> None:
    text = lamp_circuit("earthed rail", True)
    assert acts(play, text, "G0=on") == set()
    pressed = only(play(text, "G0=on", "S1=pressed"))
    assert pressed.acts == set()
    assert pressed.at["F1"] == "blown"


def test_lamp_next_to_the_live_rail_burns_whatever_the_switch_does(play: Play) -> None:
    text = lamp_circuit("live rail", True)
    for events in (["G0=on"], ["G0=on", "S1=pressed"], ["G0=on", "S1=pressed", "S1=released"]):
        seen = only(play(text, *events))
        assert seen.acts == {"P1"}
        assert seen.at["F1"] == "whole"


# Gates of relay contacts. Source: LIEC IV ch. 6, truth tables

GATES: dict[str, tuple[list[str], Callable[[bool, bool], bool]]] = {
    "inverter": (["{L} K1:11", "K1:12 P1:X1"], lambda a, b: not a),
    "or": (["{L} K1:13 K2:13", "K1:14 K2:14 P1:X1"], lambda a, b: a or b),
    "and": (["{L} K1:13", "K1:14 K2:13", "K2:14 P1:X1"], lambda a, b: a and b),
    "nand": (["{L} K1:11 K2:11", "K1:12 K2:12 P1:X1"], lambda a, b: not (a and b)),
    "nor": (["{L} K1:11", "K1:12 K2:11", "K2:12 P1:X1"], lambda a, b: not (a or b)),
    "xor": (["{L} K1:13 K1:11", "K1:14 K2:11", "K1:12 K2:13", "K2:12 K2:14 P1:X1"], lambda a, b: a != b),
}


@pytest.mark.parametrize("gate", GATES)
@pytest.mark.parametrize(("a", "b"), list(product((False, True), repeat=2)))
def test_gate(play: Play, gate: str, a: bool, b: bool) -> None:
    runs, truth = GATES[gate]
    devices = [button("S1"), button("S2"), lamp("P1"), relay("K1", "11-12: NC, 13-14: NO"), relay("K2", "11-12: NC, 13-14: NO")]
    drive = ["G0:L S1:13 S2:13", "S1:14 K1:A1", "S2:14 K2:A1", "G0:N K1:A2 K2:A2 P1:X2"]
    text = plan(devices, drive + [r.format(L="G0:L") for r in runs])
    pressed = [f"{name}=pressed" for name, held in (("S1", a), ("S2", b)) if held]
    assert ("P1" in acts(play, text, "G0=on", *pressed)) == truth(a, b)


# Burner permission chain. Source: LIEC IV ch. 6

BURNER = [
    "B1: {kind: limit-switch, title: low gas pressure, contacts: {13-14: NO}}",
    "B2: {kind: limit-switch, title: high gas pressure, contacts: {11-12: NC}}",
    "B3: {kind: limit-switch, title: flow, contacts: {13-14: NO}}",
    "B4: {kind: limit-switch, title: damper, contacts: {13-14: NO}}",
    relay("K1", "13-14: NO, 21-22: NC"),
    lamp("P1"),
    lamp("P2"),
]
CHAIN = ["G0:L B1:13", "B1:14 B2:11", "B2:12 B3:13", "B3:14 B4:13", "B4:14 K1:A1", "K1:A2 G0:N"]
SIGNALS = ["G0:L K1:13 K1:21", "K1:14 P1:X1", "K1:22 P2:X1", "P1:X2 P2:X2 G0:N"]


@pytest.mark.parametrize("states", list(product((False, True), repeat=4)))
def test_burner_is_green_in_one_state_of_sixteen(play: Play, states: tuple[bool, ...]) -> None:
    events = [f"B{i}=pressed" for i, on in enumerate(states, 1) if on]
    green = states == (True, False, True, True)
    assert acts(play, plan(BURNER, CHAIN + SIGNALS), "G0=on", *events) == ({"K1", "P1"} if green else {"P2"})


@pytest.mark.parametrize("broken", range(len(CHAIN)))
def test_burner_with_a_break_in_the_chain_is_red(play: Play, broken: int) -> None:
    chain = [run for i, run in enumerate(CHAIN) if i != broken]
    assert acts(play, plan(BURNER, chain + SIGNALS), "G0=on", "B1=pressed", "B3=pressed", "B4=pressed") == {"P2"}


# Reversing starters. Source: LIEC IV ch. 6; the race: calculated

LINES = "phases: 3, voltage: 400 V, earthing: TN"
POWER = [
    "G0:L1 F1:1",
    "G0:L2 F1:3",
    "G0:L3 F1:5",
    "F1:2 K1:1 K2:1 F2:1",
    "F1:4 K1:3 K2:3",
    "F1:6 K1:5 K2:5",
    "K1:2 K2:6 M1:U1",
    "K1:4 K2:4 M1:V1",
    "K1:6 K2:2 M1:W1",
]
STARTER = [
    "F1: {kind: circuit-breaker, poles: [1-2, 3-4, 5-6]}",
    "F2: {kind: fuse}",
    "F3: {kind: overload-relay, poles: [1-2], contacts: {95-96: NC}}",
    "M1: {kind: motor, links: [[U2, V2], [V2, W2]]}",
    relay("K1", "13-14: NO, 21-22: NC", "contactor", ", poles: [1-2, 3-4, 5-6]"),
    relay("K2", "13-14: NO, 21-22: NC", "contactor", ", poles: [1-2, 3-4, 5-6]"),
    button("S1"),
    button("S2"),
]
BUTTONS = "F2:2 S1:13 S2:13"
RETURN = ["K1:A2 K2:A2 F3:95", "F3:96 G0:N"]
PLAIN_COILS = ["S1:14 K1:A1", "S2:14 K2:A1"]
CROSSED_COILS = ["S1:14 K2:21", "K2:22 K1:A1", "S2:14 K1:21", "K1:22 K2:A1"]
HOLDING = ["S1:13 K1:13 K2:13", "K1:14 S1:14", "K2:14 S2:14"]


def starter(*runs: str) -> str:
    return plan(STARTER, [*POWER, BUTTONS, *RETURN, *runs], LINES)


def test_starter_turns_both_ways(play: Play) -> None:
    text = starter(*PLAIN_COILS)
    assert only(play(text, "G0=on", "S1=pressed")).motion == {"M1": "forward"}
    assert only(play(text, "G0=on", "S2=pressed")).motion == {"M1": "reverse"}


def test_starter_without_interlock_shorts_two_lines(play: Play) -> None:
    seen = play(starter(*PLAIN_COILS), "G0=on", "S1=pressed", "S2=pressed")
    assert {s.at["F1"] for s in seen} == {"tripped"}
    assert {(s.at["K1"], s.at["K2"]) for s in seen} <= {("in", "in"), ("out", "out")}


def test_interlocked_starter_is_never_in_twice(play: Play) -> None:
    text = starter(*CROSSED_COILS)
    for first, second in (("S1", "S2"), ("S2", "S1")):
        seen = only(play(text, "G0=on", f"{first}=pressed", f"{second}=pressed"))
        assert seen.at["F1"] == "on"
        assert len(seen.acts & {"K1", "K2"}) == 1


def test_interlocked_starter_with_both_pressed_at_once_races(play: Play) -> None:
    seen = play(starter(*CROSSED_COILS), "S1=pressed", "S2=pressed", "G0=on")
    assert {s.acts & {"K1", "K2"} for s in seen} == {frozenset({"K1"}), frozenset({"K2"})}
    assert {s.at["F1"] for s in seen} == {"on"}


def test_holding_starter_stops_only_by_supply_or_overload(play: Play) -> None:
    text = starter(*CROSSED_COILS, *HOLDING)
    running = ("G0=on", "S1=pressed", "S1=released")
    assert only(play(text, *running)).motion == {"M1": "forward"}
    assert only(play(text, *running, "S2=pressed", "S2=released")).motion == {"M1": "forward"}
    for stop in (("G0=off", "G0=on"), ("F3=tripped", "F3=normal")):
        assert only(play(text, *running, *stop)).motion == {"M1": "stopped"}


# Alarms. Source: LIEC IV ch. 6

SIREN = "P1: {kind: buzzer, voltage: 230 V AC}"
DETECTORS = range(1, 5)


def closing_alarm(broken: int | None = None) -> str:
    runs = ["G0:L " + " ".join(f"S{i}:13" for i in DETECTORS), "P1:X2 G0:N"]
    runs += [f"S{i}:14 P1:X1" for i in DETECTORS if i != broken]
    return plan([SIREN, *(button(f"S{i}") for i in DETECTORS)], runs)


@pytest.mark.parametrize("detector", DETECTORS)
def test_closing_contacts_sound_the_alarm_but_a_break_is_silent(play: Play, detector: int) -> None:
    assert acts(play, closing_alarm(), "G0=on") == set()
    assert acts(play, closing_alarm(), "G0=on", f"S{detector}=pressed") == {"P1"}
    assert acts(play, closing_alarm(detector), "G0=on", f"S{detector}=pressed") == set()


LOOP = ["G0:L S1:11", "S1:12 S2:11", "S2:12 S3:11", "S3:12 S4:11", "S4:12 K1:A1", "K1:A2 G0:N"]
SOUND = ["G0:L K1:21", "K1:22 P1:X1", "P1:X2 G0:N"]
OPENING = [SIREN, relay("K1", "21-22: NC"), *(button(f"S{i}", "11-12: NC") for i in DETECTORS)]


@pytest.mark.parametrize("detector", DETECTORS)
def test_opening_contacts_sound_the_alarm(play: Play, detector: int) -> None:
    assert acts(play, plan(OPENING, LOOP + SOUND), "G0=on") == {"K1"}
    assert acts(play, plan(OPENING, LOOP + SOUND), "G0=on", f"S{detector}=pressed") == {"P1"}


@pytest.mark.parametrize("broken", range(len(LOOP)))
def test_a_break_in_the_opening_loop_sounds_the_alarm(play: Play, broken: int) -> None:
    loop = [run for i, run in enumerate(LOOP) if i != broken]
    assert acts(play, plan(OPENING, loop + SOUND), "G0=on") == {"P1"}


@pytest.mark.parametrize("broken", range(len(SOUND)))
def test_a_break_in_the_sirens_own_wire_is_silent(play: Play, broken: int) -> None:
    sound = [run for i, run in enumerate(SOUND) if i != broken]
    assert acts(play, plan(OPENING, LOOP + sound), "G0=on", "S1=pressed") == set()


# A stop on a controller's input, as relays X1, X2 and Y1. Source: LIEC IV ch. 6


def controller(stop: str, broken: bool = False) -> str:
    form, mark = ("NO", "3") if stop == "closing" else ("NC", "1")
    devices = [button("S1"), button("S2", f"1{mark}-1{int(mark) + 1}: {form}")]
    devices += [relay("K1", "13-14: NO"), relay("K2", "13-14: NO, 21-22: NC"), relay("K3", "13-14: NO")]
    logic = ("K2:21", "K2:22") if stop == "closing" else ("K2:13", "K2:14")
    runs = [f"G0:L S1:13 S2:1{mark} K1:13 K3:13", "S1:14 K1:A1", f"K1:14 K3:14 {logic[0]}", f"{logic[1]} K3:A1"]
    runs += ["G0:N K1:A2 K2:A2 K3:A2"] + ([] if broken else [f"S2:1{int(mark) + 1} K2:A1"])
    return plan(devices, runs)


@pytest.mark.parametrize("stop", ["closing", "opening"])
def test_either_stop_works_while_its_wire_is_whole(play: Play, stop: str) -> None:
    running = ("G0=on", "S1=pressed", "S1=released")
    assert "K3" in acts(play, controller(stop), *running)
    assert "K3" not in acts(play, controller(stop), *running, "S2=pressed", "S2=released")


def test_a_closing_stop_with_a_broken_wire_does_not_stop(play: Play) -> None:
    assert "K3" in acts(play, controller("closing", True), "G0=on", "S1=pressed", "S1=released", "S2=pressed")


def test_an_opening_stop_with_a_broken_wire_stops_at_once(play: Play) -> None:
    assert "K3" not in acts(play, controller("opening", True), "G0=on", "S1=pressed", "S1=released")


# Supply that dips and returns. Common practice, value from memory


def test_a_maintained_switch_restarts_and_a_held_contact_does_not(play: Play) -> None:
    switch = "S1: {kind: selector, positions: [off, on], contacts: {13-14: {closed_in: [on]}}}"
    maintained = plan([switch, relay("K1", "13-14: NO")], ["G0:L S1:13", "S1:14 K1:A1", "K1:A2 G0:N"])
    held = plan(
        [button("S1", "11-12: NC"), button("S2"), relay("K1", "13-14: NO")],
        ["G0:L S1:11", "S1:12 S2:13 K1:13", "S2:14 K1:14 K1:A1", "K1:A2 G0:N"],
    )
    dip = ("G0=off", "G0=on")
    assert acts(play, maintained, "G0=on", "S1=on", *dip) == {"K1"}
    assert acts(play, held, "G0=on", "S2=pressed", "S2=released") == {"K1"}
    assert acts(play, held, "G0=on", "S2=pressed", "S2=released", *dip) == set()


# Emergency stop on the earthed side. Source: the case described at IEC 60204-1, 9.4.3; netlist reconstructed


@pytest.mark.parametrize("side", ["earthed", "live"])
def test_one_earth_and_the_emergency_stop(play: Play, side: str) -> None:
    stop = "S1: {kind: emergency-stop, contacts: {11-12: NC}}"
    run = "S2: {kind: selector, positions: [off, run], contacts: {13-14: {closed_in: [run]}}}"
    if side == "earthed":
        runs = ["G0:L F1:1", "F1:2 S2:13", "S2:14 K1:A1", "K1:A2 S1:11", "S1:12 G0:N", "K1:A2 X0:9"]
    else:
        runs = ["G0:L F1:1", "F1:2 S2:13", "S2:14 S1:11", "S1:12 K1:A1", "K1:A2 G0:N", "S1:12 X0:9"]
    text = plan([FUSE, stop, run, relay("K1", "13-14: NO")], runs)
    if side == "earthed":
        assert acts(play, text, "G0=on", "S2=run", "S1=pressed") == {"K1"}
    else:
        seen = only(play(text, "G0=on", "S2=run"))
        assert seen.acts == set()
        assert seen.at["F1"] == "blown"


# Jog with its own break contact in the holding path. Source: motor-control textbooks, value from memory


def jog(contacts: str, common: str) -> str:
    devices = [button("S1"), button("S2", contacts), relay("K1", "13-14: NO")]
    return plan(devices, [f"G0:L S1:13 S2:{common} K1:13", "S1:14 S2:22 S2:24 K1:A1", "K1:A2 G0:N", "K1:14 S2:21"])


def test_jog_may_seal_in_where_its_break_contact_is_fast(play: Play) -> None:
    text = jog("21-22: NC, 23-24: NO", "23")
    assert acts(play, text, "G0=on", "S2=pressed") == {"K1"}
    assert {"K1"} in [s.acts for s in play(text, "G0=on", "S2=pressed", "S2=released")]


def test_jog_with_a_moment_between_lets_go(play: Play) -> None:
    devices = [button("S1"), "S2: {kind: push-button, contacts: {21-22-24: CO}}", relay("K1", "13-14: NO")]
    runs = ["G0:L S1:13 S2:21", "S1:14 S2:24 K1:14 K1:A1", "K1:A2 G0:N", "S2:22 K1:13"]
    assert acts(play, plan(devices, runs), "G0=on", "S2=pressed") == {"K1"}
    assert acts(play, plan(devices, runs), "G0=on", "S2=pressed", "S2=released") == set()
    assert acts(play, plan(devices, runs), "G0=on", "S1=pressed", "S1=released") == {"K1"}


# Two pairs of headlamps, one earth lost. Source: a published sneak-circuit note for a car of the 1960s; netlist reconstructed


def test_headlamps_with_one_earth_lost_have_full_voltage_on_one_lamp_only(play: Play) -> None:
    low_left, low_right, high_left, high_right = (f"P{i}: {{kind: lamp, voltage: 12 V DC}}" for i in range(1, 5))
    switch = (
        "S1: {kind: selector, positions: [off, low, high], contacts: {13-14: {closed_in: [low]}, 23-24: {closed_in: [high]}}}"
    )
    supply = "G1: {kind: dc-supply, voltage: 12 V DC}"
    runs = [
        "G0:L G1:L",
        "G0:N G1:N",
        "G1:+ S1:13 S1:23",
        "S1:14 P1:X1 P2:X1",
        "S1:24 P3:X1 P4:X1",
        "P1:X2 P3:X2 G1:-",
        "P2:X2 P4:X2",
    ]
    text = plan([supply, switch, low_left, low_right, high_left, high_right], runs)
    assert acts(play, text, "G0=on", "S1=low") == {"P1"}
