"""Which nets a network has, and how far a flood goes in it: small networks worked out by hand, in four states."""

from __future__ import annotations

from wirecheck.behaviour.network import BOTH, MINUS, NEVER, PLUS, Network, nets_of
from wirecheck.circuit import Element
from wirecheck.plan.model import Terminal

FULL = 0b1111
A, B, C, D, E, F = (Terminal(name, "1") for name in "ABCDEF")


def element(kind: str, a: Terminal, b: Terminal, ident: str = "") -> Element:
    return Element(kind, ident or f"{a.device}{b.device}", a, b)


WIRE, LINK, OFF = element("wire", A, B), element("link", A, A), element("contact", A, F, "off")
ONE, TWO = element("contact", B, C), element("contact", C, D)
ROUND, INSIDE = element("contact", A, D), element("contact", A, B, "inside")
DIODE, LAMP, COIL = element("diode", D, E), element("load", A, E, "lamp"), element("coil", A, F, "coil")
TRUTH = {ONE: 0b1100, TWO: 0b1010, ROUND: 0b0001, INSIDE: 0b0110, OFF: 0}


def network() -> Network:
    """A and B are one net, C hangs on it in two states, D on C in two and on A in a third, E behind a diode on D."""
    elements = [WIRE, LINK, ONE, TWO, ROUND, INSIDE, DIODE, LAMP, COIL, OFF]
    return Network(elements, lambda e: TRUTH.get(e, FULL), FULL, [F])


def test_what_is_always_joined_is_one_net_and_what_never_is_or_is_a_load_joins_nothing() -> None:
    found = network()
    assert found.net(A) == found.net(B)
    assert len({found.net(t) for t in (A, C, D, E, F)}) == 5
    assert found.net(Terminal("elsewhere", "1")) == Terminal("elsewhere", "1")
    assert found.split == ()
    assert nets_of([(A, B), (B, C)], [F])[F] == F
    assert set(nets_of([(A, B), (B, C)], [F])) == {A, B, C, F}
    assert len(set(nets_of([(A, B), (C, D), (B, D)]).values())) == 1


def test_each_net_knows_what_makes_it_and_what_leads_on_from_it() -> None:
    found = network()
    one = found.net(A)
    assert found.always_in == {one: [WIRE, LINK]}
    assert found.switched_at == {
        one: [(ONE, 0b1100), (ROUND, 0b0001), (INSIDE, 0b0110)],
        C: [(ONE, 0b1100), (TWO, 0b1010)],
        D: [(TWO, 0b1010), (ROUND, 0b0001), (DIODE, FULL)],
        E: [(DIODE, FULL)],
    }
    assert list(found.arcs(one)) == [(C, 0b1100, BOTH, "BC"), (D, 0b0001, BOTH, "AD")]
    assert list(found.arcs(D)) == [(C, 0b1010, BOTH, "CD"), (one, 0b0001, BOTH, "AD"), (E, FULL, PLUS, "DE")]
    assert list(found.arcs(E)) == [(D, FULL, MINUS, "DE")]
    assert list(found.arcs(F)) == []


def test_a_flood_goes_by_every_way_and_through_a_diode_forwards_from_plus_alone() -> None:
    found = network()
    one = found.net(A)
    # C hangs on B in the states 2 and 3; D on C in 1 and 3, on A in 0: by both ways 0 and 3.
    near = {one: FULL, C: 0b1100, D: 0b1001}
    assert found.flood(B) == {**near, E: 0b1001}
    assert found.flood(A, PLUS) == {**near, E: 0b1001}
    assert found.flood(A, MINUS) == near
    assert found.flood(A, NEVER) == near
    assert found.flood(E, PLUS) == {E: FULL}
    assert found.flood(E, MINUS) == {E: FULL, D: FULL, C: 0b1010, one: 0b1001}
    assert found.flood(F) == {F: FULL}


def test_a_flood_can_leave_an_element_out() -> None:
    found = network()
    one = found.net(A)
    assert found.flood(A, BOTH, "CD") == {one: FULL, C: 0b1100, D: 0b0001, E: 0b0001}
    assert found.flood(A, BOTH, "AD") == {one: FULL, C: 0b1100, D: 0b1000, E: 0b1000}
    assert found.flood(A) == {one: FULL, C: 0b1100, D: 0b1001, E: 0b1001}


def test_what_is_found_later_by_a_longer_way_is_handed_on_too() -> None:
    """From A to C straight in one state; by B in another, which is seen after C has been passed, and must reach D as well."""
    ways = {element("contact", A, C): 0b0001, element("contact", C, D): 0b0011, element("contact", A, B): 0b1011}
    ways |= {element("contact", B, E): 0b0111, element("contact", E, C): 0b0010}
    found = Network(ways, ways.__getitem__, FULL)
    assert found.flood(A) == {A: FULL, C: 0b0011, B: 0b1011, E: 0b0011, D: 0b0011}


def test_two_terminals_are_joined_in_the_states_in_which_either_reaches_the_other() -> None:
    found = network()
    assert (found.joined(B, D), found.joined(D, A), found.joined(A, B), found.joined(A, F)) == (0b1001, 0b1001, FULL, 0)
