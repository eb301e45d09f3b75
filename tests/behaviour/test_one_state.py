"""The model of one state: what is joined in it, what a short moves or takes away, and how states are numbered."""

from __future__ import annotations

import pytest

from wirecheck.behaviour.faulted import NOTHING
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.network import BOTH, MINUS, PLUS, Network
from wirecheck.behaviour.one_state import StateModel, StateNetwork, StateSpace
from wirecheck.behaviour.single import Single
from wirecheck.behaviour.space import Variable
from wirecheck.circuit import Element
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal

A, B, C, D = (Terminal(name, "1") for name in "ABCD")


def test_what_is_closed_joins_both_ways_and_a_diode_one_way() -> None:
    fixed = Network([Element("wire", "1", A, B)], lambda _: 1, 1)
    network = StateNetwork(fixed, [Element("contact", "K1:13-14", B, C), Element("diode", "V1", C, D)])
    one = network.net(A)
    assert network.net(B) == one
    assert list(network.arcs(one)) == [(C, 1, BOTH, "K1:13-14")]
    assert list(network.arcs(C)) == [(one, 1, BOTH, "K1:13-14"), (D, 1, PLUS, "V1")]
    assert list(network.arcs(D)) == [(C, 1, MINUS, "V1")]
    assert network.flood(A, PLUS) == {one: 1, C: 1, D: 1}
    assert network.flood(A, MINUS) == {one: 1, C: 1}
    assert network.flood(D, MINUS) == {D: 1, C: 1, one: 1}
    assert network.flood(D, PLUS) == {D: 1}


def test_a_space_of_one_state_knows_its_codes_and_leads_out_of_itself_by_number() -> None:
    variables = {"S1": Variable("S1", ("a", "b", "c"), 0), "K1": Variable("K1", ("out", "in"), 2)}
    space = StateSpace(variables, 0b110)
    assert [space.at("S1", code) for code in "abc"] == [0, 0, 1]
    assert (space.at("K1", "in"), space.at("K1", "out")) == (1, 0)
    assert (space.bits, space.full) == (3, 1)
    assert space.moved([0, 2]) == 0b011
    assert space.moved([]) == 0b110
    with pytest.raises(TypeError, match=r"^the only state of this space cannot be turned into another one$"):
        space.flip(1, [0])


SHORT = """\
wirecheck: 1
machine: {name: a button across the supply of a relay}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  G1: {kind: dc-supply, voltage: 24 V DC}
  F1: {kind: fuse}
  S1: {kind: push-button, contacts: {13-14: NO}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 24 V DC, contacts: {13-14: NO}}
cables:
  W1: {cores: 2}
wires:
  - {number: L, run: [G0:L, G1:L]}
  - {number: N, run: [G0:N, G1:N]}
  - {number: 1, run: ["G1:+", F1:1]}
  - {number: 2, run: [F1:2, S1:13, S2:13]}
  - {number: 3, run: [S1:14, K1:A1]}
  - {number: 0, run: ["G1:-", K1:A2, S2:14]}
"""
WITHOUT_FUSE = SHORT.replace('["G1:+", F1:1]', '["G1:+", S1:13], cable: W1').replace(
    '- {number: 0, run: ["G1:-", K1:A2, S2:14]}', '- {number: 0, run: ["G1:-", K1:A2], cable: W1}'
)
WITHOUT_FUSE = WITHOUT_FUSE.replace("  - {number: 2, run: [F1:2, S1:13, S2:13]}\n", "")
DYING = SHORT.replace('["G1:+", F1:1]', '["G1:+", S1:13]').replace("[F1:2, S1:13, S2:13]", "[S1:13, S2:13]")


def model(text: str, fault: str = "", **codes: str) -> StateModel:
    """The model in a state, with a fault or with none."""
    plan = read_plan_text(text, "short")
    single = Single(plan, next(f for f in single_faults(plan) if f.text == fault) if fault else NOTHING)
    return single.model(single.encode({"G0": "on", **codes}))


def test_a_short_behind_a_fuse_blows_it() -> None:
    pressed = model(SHORT, S2="pressed")
    assert pressed.shorted == ("G1",)
    assert [move.bits for move in pressed.trips] == [(Single(pressed.plan).variables["F1"].low,)]
    assert not pressed.collapsed
    still = model(SHORT)
    assert (still.shorted, still.trips) == ((), [])


def test_a_short_by_a_fault_that_nothing_clears_takes_the_voltage_away_while_it_lasts() -> None:
    shorted = model(WITHOUT_FUSE, "W1: 1 shorted to 0", S1="pressed")
    assert set(shorted.collapsed) == {"G1"}
    assert (shorted.supplies.live["G0"], shorted.supplies.live["G1"]) == (1, 0)
    assert (shorted.trips, shorted.moving.must) == ([], {})
    whole = model(WITHOUT_FUSE, S1="pressed")
    assert (set(whole.collapsed), whole.supplies.live["G1"], set(whole.moving.must)) == (set(), 1, {"K1"})


def test_a_source_that_can_be_shorted_without_any_fault_dies_of_it_and_does_not_come_back() -> None:
    for fault in ("", "K1 coil open"):
        pressed = model(DYING, fault, S2="pressed")
        assert pressed.shorted == ("G1",)
        assert not pressed.collapsed
        assert pressed.supplies.live["G1"] == 1  # until it has died
        assert [move.bits for move in pressed.trips] == [(Single(pressed.plan).variables[pressed.dead("G1")].low,)]


SIDE_BY_SIDE = """\
wirecheck: 1
machine: {name: two coils behind a lamp}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  G1: {kind: dc-supply, voltage: 24 V DC}
  P1: {kind: lamp, voltage: 24 V DC, power: 2 W}
  K1: {kind: relay, coil: 24 V DC, coil_power: 1 W}
  K2: {kind: relay, coil: 24 V DC, coil_power: 20 W}
wires:
  - {number: L, run: [G0:L, G1:L]}
  - {number: N, run: [G0:N, G1:N]}
  - {number: 1, run: ["G1:+", P1:X1]}
  - {number: 2, run: [P1:X2, K1:A1, K2:A1]}
  - {number: 0, run: ["G1:-", K1:A2, K2:A2]}
"""


def test_a_coil_that_is_open_takes_no_current_from_the_one_beside_it() -> None:
    """P1 has 288 ohm, K1 576, K2 28.8: side by side they have 27.4 parts of 315.4, K1 alone 576 of 864. A lamp moves nothing."""
    assert model(SIDE_BY_SIDE).through_loads == ()
    (alone,) = model(SIDE_BY_SIDE, "K2 coil open").through_loads
    assert (alone.device, alone.verdict) == ("K1", "uncertain")
    assert alone.volts == pytest.approx(16)


def test_where_sneak_paths_are_not_asked_for_nothing_comes_through_loads() -> None:
    plan = read_plan_text(SIDE_BY_SIDE.replace("20 W", "1 W"), "side by side")
    through = [
        {s.device for s in single.model(single.encode({"G0": "on"})).through_loads}
        for single in (Single(plan), Single(plan, sneaking=False))
    ]
    assert through == [{"K1", "K2"}, set()]


DRIVE = """\
wirecheck: 1
machine: {name: a drive with a cable to its motor}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  S1: {kind: push-button, contacts: {13-14: NO}}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, inputs: {DI1: run-forward}}
    settings: {command_source: terminals}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
cables:
  W1: {cores: 3}
wires:
  - {number: L, run: [G0:L, T1:L]}
  - {number: N, run: [G0:N, T1:N]}
  - {number: 1, run: [T1:P24, S1:13]}
  - {number: 2, run: [S1:14, T1:DI1]}
  - {number: U, run: [T1:U, M1:U1], cable: W1}
  - {number: V, run: [T1:V, M1:V1], cable: W1}
  - {number: W, run: [T1:W, M1:W1], cable: W1}
"""


def test_a_drive_trips_by_a_short_at_its_output_and_its_voltage_is_not_taken_away_besides() -> None:
    running = {"S1": "pressed", "T1 power": "yes", "T1 forward": "yes"}
    shorted = model(DRIVE, "W1: U shorted to V", **running)
    assert shorted.shorted == ("T1 output",)
    assert (set(shorted.collapsed), shorted.supplies.live["T1 output"]) == (set(), 1)
    assert [move.bits for move in shorted.trips] == [(Single(shorted.plan).variables["T1"].low,)]
    assert model(DRIVE, **running).shorted == ()
