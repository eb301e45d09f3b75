"""How far voltage comes through loads: whole answers for small plans, worked out by hand."""

from __future__ import annotations

from tests.circuit.networks import plan_text, terminal
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.network import MINUS, NEVER, PLUS
from wirecheck.behaviour.soft import Soft, classes, rails_of, way_of
from wirecheck.behaviour.space import sum_of
from wirecheck.circuit.impedances import impedances_of
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal

MAINS = "G0: {kind: mains, phases: 1, voltage: 230 V}"
SUPPLY = "G1: {kind: dc-supply, voltage: 24 V DC}"
BUTTONS = ["S1: {kind: push-button, contacts: {13-14: NO}}", "S2: {kind: push-button, contacts: {13-14: NO}}"]
LAMPS = [f"P{n}: {{kind: lamp, voltage: 24 V DC, power: 2 W}}" for n in (1, 2, 3)]
FEED = ["G0:L G1:L", "G0:N G1:N"]


class Bench:
    """A plan's behaviour with the search for what comes through loads in all its states, and short words to ask it with."""

    def __init__(self, devices: list[str], runs: list[str]) -> None:
        self.b = Behaviour(read_plan_text(plan_text([MAINS, SUPPLY, *devices], [*FEED, *runs]), "soft"))
        self.soft = Soft(self.b.model, impedances_of(self.b.plan), self.b.space.full)
        self.full = self.b.space.full
        self.on, self.off = self.b.at("G0", "on"), self.b.at("G0", "off")

    def net(self, text: str) -> Terminal:
        return self.b.model.network.net(terminal(text))

    def pressed(self, button: str) -> int:
        return self.b.at(button, "pressed")

    def rail(self, pole: str) -> int:
        (number,) = (n for n, rail in enumerate(self.soft.rails) if terminal(pole) in rail.poles)
        return number

    def reached(self, pole: str) -> dict[Terminal, int]:
        return {net: states for net, states in self.soft.reached[self.rail(pole)].items() if states}

    def named(self, **states: int) -> dict[Terminal, int]:
        """Sets by net, `P1_X2` for `P1:X2`."""
        return {self.net(name.replace("_", ":")): each for name, each in states.items()}


def chain() -> Bench:
    """P1 and P2 in a row behind S1, P3 beside both; S2 bridges P2."""
    runs = ["G1:+ S1:13", "S1:14 P1:X1 P3:X1", "P1:X2 P2:X1 S2:13", "G1:- P2:X2 P3:X2 S2:14"]
    return Bench([*BUTTONS, *LAMPS], runs)


def test_a_rail_is_all_poles_of_a_source_with_one_voltage_and_only_live_sources_have_rails() -> None:
    bench = chain()
    assert [[str(pole) for pole in rail.poles] for rail in bench.soft.rails] == [["G0:L"], ["G0:N", "G0:PE"], ["G1:+"], ["G1:-"]]
    three = read_plan_text(plan_text(["G0: {kind: mains, phases: 3, voltage: 400 V}"], []), "three")
    (source,) = Behaviour(three).model.sources
    assert [[str(pole) for pole in rail.poles] for rail in rails_of(source)] == [
        ["G0:L1"],
        ["G0:L2"],
        ["G0:L3"],
        ["G0:N", "G0:PE"],
    ]
    assert all(rail.source is source for rail in rails_of(source))
    assert Soft(bench.b.model, impedances_of(bench.b.plan), bench.off).rails == []


def test_the_voltage_of_a_pole_is_known_behind_a_diode_in_its_direction_and_never_where_it_alternates() -> None:
    mains, supply = chain().b.model.sources
    assert [way_of(supply, terminal(pole)) for pole in ("G1:+", "G1:-")] == [PLUS, MINUS]
    assert [way_of(mains, pole) for pole in mains.poles] == [NEVER] * 3


def test_what_contacts_join_to_a_pole_is_tied_in_these_states() -> None:
    bench = chain()
    both = bench.named(G0_L=bench.on, G0_N=bench.on, G0_PE=bench.on, S1_13=bench.on, P2_X2=bench.on)
    some = bench.named(P1_X1=bench.on & bench.pressed("S1"), P1_X2=bench.on & bench.pressed("S2"))
    assert bench.soft.tied == both | some


def test_a_rail_reaches_through_loads_into_what_is_not_tied() -> None:
    bench = chain()
    on, s1, s2 = bench.on, bench.pressed("S1"), bench.pressed("S2")
    assert bench.reached("G1:+") == bench.named(S1_13=on, P1_X1=on & s1, P1_X2=on & s1 & ~s2)
    assert bench.reached("G1:-") == bench.named(P2_X2=on, P1_X2=on, P1_X1=on & ~s1)
    assert bench.reached("G0:L") == bench.named(G0_L=on)  # the supply's own input is tied at both its ends


def test_rails_meet_over_a_load_that_is_not_tied_to_both_of_one_source() -> None:
    bench = chain()
    on, s1, s2 = bench.on, bench.pressed("S1"), bench.pressed("S2")

    def between(a: str, b: str) -> int:
        return bench.soft.between(terminal(a), terminal(b))

    assert between("P1:X1", "P1:X2") == on & s1 & ~s2  # with S2 it is across the supply
    assert between("P2:X1", "P2:X2") == on & s1 & ~s2
    assert between("P3:X1", "P3:X2") == 0
    assert between("P1:X1", "S1:14") == 0  # one net


def test_rails_that_metal_joins_do_not_meet_and_those_of_two_supplies_do() -> None:
    second = "G2: {kind: dc-supply, voltage: 24 V DC}"
    runs = ["G0:L G2:L", "G0:N G2:N", "G2:- S1:13", "G1:- S1:14 P2:X1", "G2:+ P1:X1", "G1:+ P1:X2", "P2:X2 P3:X1", "G2:- P3:X2"]
    bench = Bench([second, *BUTTONS, *LAMPS], runs)
    on, s1 = bench.on, bench.pressed("S1")
    assert bench.soft.between(terminal("P1:X1"), terminal("P1:X2")) == on
    assert bench.soft.between(terminal("P2:X1"), terminal("P2:X2")) == on & ~s1  # between the two minus poles, which S1 joins
    assert bench.soft.between(terminal("P2:X1"), terminal("P3:X2")) == on & ~s1


def test_what_has_a_part_in_a_voltage_ends_at_what_is_tied() -> None:
    bench = chain()
    on, s1, s2 = bench.on, bench.pressed("S1"), bench.pressed("S2")
    ends = terminal("P1:X1"), terminal("P1:X2")
    block = bench.soft.block(ends, on & s1, "P1")
    assert block == bench.named(P1_X1=on & s1, P1_X2=on & s1, P2_X2=on & s1 & ~s2)
    loose = bench.soft.block(ends, on & ~s1, "P1")
    assert loose == bench.named(P1_X1=on & ~s1, P1_X2=on & ~s1, P2_X2=on & ~s1)
    # P1 itself is left out: from its one end nothing leads to the other but by P3.
    assert bench.soft.block(ends[:1], on & ~s1 & ~s2, "P3") == bench.named(
        P1_X1=on & ~s1 & ~s2, P1_X2=on & ~s1 & ~s2, P2_X2=on & ~s1 & ~s2
    )
    assert bench.soft.block(ends[:1], on & ~s1, "P1") == bench.named(P1_X1=on & ~s1, P2_X2=on & ~s1)


def test_the_states_of_a_block_are_told_apart_by_its_contacts_and_the_rails_at_its_borders() -> None:
    bench = chain()
    on, s1, s2 = bench.on, bench.pressed("S1"), bench.pressed("S2")
    telling = bench.soft.telling(bench.soft.block((terminal("P1:X1"), terminal("P1:X2")), on, "P1"))
    # At its borders plus by S1, minus by S2, and minus at the far end of P2 or P3.
    assert set(telling) == {on & s1, on & s2, on & ~(s1 & s2)}


def test_sets_are_added_up_and_classes_are_as_many_as_are_allowed() -> None:
    assert sum_of([0b001, 0b100, 0b100]) == 0b101
    assert sum_of([]) == 0
    assert sorted(classes(0b1111, [0b0011, 0b0101], 4) or []) == [0b0001, 0b0010, 0b0100, 0b1000]
    assert classes(0b1111, [0b0011, 0b0101], 3) is None
    assert classes(0b0110, [0b1001], 1) == [0b0110]
