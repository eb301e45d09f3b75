"""A network with a change in it against one that is made anew of the elements that then are; and what the two share."""

from __future__ import annotations

from random import Random

import pytest

from tests.generators.random_circuits import random_circuit
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.changed import ChangedNetwork
from wirecheck.behaviour.network import BOTH, MINUS, NEVER, PLUS, Network
from wirecheck.circuit import CONDUCTS, Element
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal

FULL = 0b111


def wire(name: str) -> Element:
    """Between two terminals: `a-b` always, `a=b` by a contact, `a>b` by a diode."""
    for kind, sign in (("wire", "-"), ("contact", "="), ("diode", ">")):
        a, found, b = name.partition(sign)
        if found:
            return Element(kind, name, Terminal("X1", a), Terminal("X1", b), "X1")
    raise AssertionError(name)


def network(text: str, **closed: int) -> Network:
    """Contacts and diodes conduct in the states that are given by the letter before their sign, else in all but the first."""
    elements = [wire(name) for name in text.split()]
    return Network(elements, lambda e: FULL if e.kind == "wire" else closed.get(e.ident[0], 0b110), FULL)


def changed(before: Network, cut: str = "", closed: str = "", joins: str = "") -> ChangedNetwork:
    pairs = [(wire(name).a, wire(name).b) for name in joins.split()]
    return ChangedNetwork(before, map(wire, cut.split()), map(wire, closed.split()), pairs)


def joined(net: Network, pair: str, polarity: str = BOTH, without: str | None = None) -> int:
    a, b = (Terminal("X1", mark) for mark in pair)
    return net.flood(a, polarity, without).get(net.net(b), 0)


@pytest.mark.parametrize(
    ("text", "change", "told"),
    [
        ("a-b b-c", {"cut": "b-c"}, {"ab": FULL, "bc": 0, "ac": 0}),
        ("a-b b-c c-a", {"cut": "b-c"}, {"ab": FULL, "bc": FULL}),  # the way round is left
        ("a-b b=c", {"cut": "b=c"}, {"ab": FULL, "ac": 0}),
        ("a-b b=c b=d", {"cut": "b=c"}, {"ac": 0, "ad": 0b110}),
        ("a-b b=c", {"closed": "b=c"}, {"ac": FULL, "bc": FULL}),
        ("a=b c=d", {"joins": "b-c"}, {"ab": 0b110, "ad": 0b110, "bc": FULL}),
        ("a-b b=c", {"cut": "a-b", "joins": "a-c"}, {"ac": FULL, "ab": 0b110}),
        ("a-b b-c c=d a=e", {"cut": "b-c"}, {"ae": 0b110, "cd": 0b110, "ad": 0, "ce": 0, "de": 0}),
        ("a-b b-c c-d b=e d=f", {"cut": "a-b b-c c-d"}, {"ab": 0, "be": 0b110, "df": 0b110, "ef": 0, "cd": 0, "bc": 0}),
        ("a-b b-c a=c", {"cut": "b-c"}, {"ac": 0b110, "bc": 0b110}),
        ("a-b a=b", {"cut": "a=b"}, {"ab": FULL}),
        ("a-b b-c a=c b=d", {"cut": "b-c"}, {"ac": 0b110, "cd": 0b110}),  # a contact that a wire bridged
    ],
)  # fmt: skip
def test_a_change_joins_and_parts_what_it_says_and_nothing_else(text: str, change: dict[str, str], told: dict[str, int]) -> None:
    found = changed(network(text), **change)
    assert {pair: joined(found, pair) for pair in told} == told
    assert {pair: joined(found, pair[::-1]) for pair in told} == told


def test_a_diode_that_is_cut_conducts_no_more_and_one_that_stays_still_only_forwards() -> None:
    before = network("a>b c>d a=c")
    found = changed(before, cut="a>b")
    assert [joined(found, "ab", way) for way in (BOTH, PLUS, MINUS, NEVER)] == [0, 0, 0, 0]
    assert [joined(found, "cd", way) for way in (BOTH, PLUS, MINUS, NEVER)] == [0b110, 0b110, 0, 0]
    assert [joined(changed(before, joins="b-d"), "bc", way) for way in (BOTH, PLUS, MINUS)] == [0b110, 0, 0b110]


def test_what_a_change_does_not_touch_is_shared_with_the_network_before() -> None:
    before = network("a-b b=c d=e f-g g-h")
    a, d, f = (Terminal("X1", mark) for mark in "adf")
    cut = changed(before, cut="b=c")
    assert cut.flood(d) is before.flood(d)
    assert cut.flood(a) is not before.flood(a)
    parted = changed(before, cut="f-g")
    assert parted.flood(a) is before.flood(a)
    assert (list(parted.split), list(cut.split), list(changed(network("a-b b-c c-a"), cut="b-c").split)) == (
        [before.net(f)],
        [],
        [],
    )
    won = changed(before, joins="c-d")
    assert won.flood(f) is before.flood(f)
    assert won.flood(a) is not before.flood(a)
    nothing = changed(before, joins="a-b")  # joined for good already
    assert nothing.flood(a) is before.flood(a)
    assert joined(before, "ac") == 0b110  # and the network before stays as it was
    assert joined(before, "ae") == 0
    alike = network("a=b a=c")  # both are reached in the same states, so that joining them lets nothing go further
    assert changed(alike, joins="b-c").flood(a) is alike.flood(a)


@pytest.mark.parametrize("text", ["a-b b=c b=d", "a-b a=c a=d"])
def test_of_a_net_that_is_parted_the_part_with_most_contacts_keeps_its_name_and_what_comes_through_it(text: str) -> None:
    before = network(text)
    c, d = Terminal("X1", "c"), Terminal("X1", "d")
    found = changed(before, cut="a-b")
    assert found.flood(c) is before.flood(c)
    assert (joined(found, "cd"), found.flood(c)[found.net(d)]) == (0b110, 0b110)
    assert joined(found, "ab") == 0


def test_what_goes_further_by_a_join_passes_diodes_in_their_direction_only() -> None:
    before = network("a=b c>d e>c")
    found = changed(before, joins="b-c")
    assert [joined(found, "ad", way) for way in (BOTH, PLUS, MINUS, NEVER)] == [0b110, 0b110, 0, 0]
    assert [joined(found, "ae", way) for way in (BOTH, PLUS, MINUS, NEVER)] == [0b110, 0, 0b110, 0]


def test_a_flood_that_leaves_an_element_out_leaves_it_out_of_the_change_as_well() -> None:
    found = changed(network("a=b b=c a=c"), cut="a=c")
    assert joined(found, "ac") == 0b110
    assert joined(found, "ac", without="a=b") == 0
    welded = changed(network("a=b b=c"), closed="a=b")
    assert joined(welded, "ac") == 0b110
    assert joined(welded, "ac", without="a=b") == 0


@pytest.mark.parametrize("seed", range(12))
def test_a_changed_network_joins_what_one_made_anew_joins(seed: int) -> None:
    model = Behaviour(read_plan_text(random_circuit(seed), f"random circuit {seed}")).model
    dice, full = Random(seed), model.space.full
    edges = [e for e in model.elements if e.kind in CONDUCTS]
    terminals = sorted({end for e in edges for end in (e.a, e.b)})
    for _ in range(6):
        for start in dice.sample(terminals, 2):
            model.network.flood(start)  # some are known before, some are not
        cut = dice.sample(edges, dice.choice([0, 1, 1, 2]))
        closed = dice.sample([e for e in edges if e.kind != "diode" and e not in cut], dice.choice([0, 0, 1]))
        joins = [(dice.choice(terminals), dice.choice(terminals)) for _ in range(dice.choice([0, 1]))]
        found = ChangedNetwork(model.network, cut, closed, joins)
        more = [Element("wire", f"join {i}", a, b) for i, (a, b) in enumerate(joins)]
        anew = Network(
            [*(e for e in edges if e not in cut), *more],
            lambda e, closed=closed: full if e in closed or e.ident.startswith("join ") else model.conducts(e),  # type: ignore[misc]
            full,
        )
        for polarity in (BOTH, PLUS, MINUS, NEVER):
            for a in dice.sample(terminals, 3):
                one, other = found.flood(a, polarity), anew.flood(a, polarity)
                assert {b: one.get(found.net(b), 0) for b in terminals} == {b: other.get(anew.net(b), 0) for b in terminals}
