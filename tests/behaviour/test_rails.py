"""The rails of a plan by number: which of them metal joins, and in which states each is at a net."""

from __future__ import annotations

from tests.circuit.networks import plan_text, terminal
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultSet
from wirecheck.behaviour.islands import Islands
from wirecheck.behaviour.rails import groups_of, ties_of
from wirecheck.circuit.impedances import impedances_of
from wirecheck.plan import read_plan_text

DEVICES = [
    "G0: {kind: mains, phases: 1, voltage: 230 V}",
    "G1: {kind: dc-supply, voltage: 24 V DC}",
    "G2: {kind: dc-supply, voltage: 24 V DC}",
    "S1: {kind: push-button, contacts: {13-14: NO}}",
    "S2: {kind: push-button, contacts: {13-14: NO}}",
    "P1: {kind: lamp, voltage: 24 V DC}",
    "P2: {kind: lamp, voltage: 24 V DC}",
]
RUNS = ["G0:L G1:L G2:L", "G0:N G1:N G2:N S1:13", "G0:PE S2:13", "S1:14 S2:14 P1:X1", "G1:- G2:-", "G1:+ P2:X1", "G2:+ P2:X2"]

L, N, PLUS, MINUS, SECOND_PLUS, SECOND_MINUS = range(6)


def islands() -> tuple[Behaviour, Islands]:
    b = Behaviour(read_plan_text(plan_text(DEVICES, RUNS), "rails"))
    return b, Islands(FaultSet(b).none, impedances_of(b.plan))


def test_rails_are_numbered_source_by_source_and_neutral_and_earth_are_one() -> None:
    _, found = islands()
    names = [[str(pole) for pole, _ in poles] for _, poles in found.rails]
    assert names == [["G0:L"], ["G0:N", "G0:PE"], ["G1:+"], ["G1:-"], ["G2:+"], ["G2:-"]]
    assert [source.name for source, _ in found.rails] == ["G0", "G0", "G1", "G1", "G2", "G2"]


def test_rails_that_metal_joins_have_the_number_of_the_first_one() -> None:
    _, found = islands()
    assert groups_of(found.rails, found.none) == [L, N, PLUS, MINUS, SECOND_PLUS, MINUS]


def test_a_join_makes_rails_one_at_its_two_ends_alone_and_what_was_one_with_either_too() -> None:
    _, found = islands()

    def joined(*pairs: str) -> list[int]:
        ends = [tuple(map(terminal, pair.split())) for pair in pairs]
        return groups_of(found.rails, found.none, [(a, b) for a, b in ends])

    assert joined("G1:+ G2:+") == [L, N, PLUS, MINUS, PLUS, MINUS]
    assert joined("P2:X2 P2:X1") == [L, N, PLUS, MINUS, PLUS, MINUS]
    assert joined("G2:- G0:PE") == [L, N, PLUS, N, SECOND_PLUS, N]
    assert joined("G1:+ P1:X2", "P1:X2 G2:+") == [L, N, PLUS, MINUS, PLUS, MINUS]
    assert joined("G1:+ P1:X2") == [L, N, PLUS, MINUS, SECOND_PLUS, MINUS]


def test_a_rail_is_at_a_net_where_any_of_its_poles_is_and_its_source_is_live() -> None:
    b, found = islands()
    net = found.net(terminal("P1:X1"))
    on, pressed = b.at("G0", "on"), b.at("S1", "pressed") | b.at("S2", "pressed")
    assert ties_of(found.none, found.rails, found.none.supplies.floods, net) == {N: on & pressed}
    assert found.ties(found.net(terminal("P2:X2"))) == {SECOND_PLUS: on}
    assert found.ties(found.net(terminal("G2:-"))) == {MINUS: on, SECOND_MINUS: on}
