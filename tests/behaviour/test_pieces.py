"""Sets of states in pieces against sets that are one integer: every operation, and whole answers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from operator import and_, or_, xor
from pathlib import Path
from random import Random

import pytest

from tests.behaviour.test_faults_against_plain import Both, one_of_each_kind
from tests.generators.random_circuits import random_circuit
from wirecheck.behaviour import model, pieces, space
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.pieces import Layout, Pieces
from wirecheck.behaviour.space import Space, digest, has, lowest, minus, numbers, sum_of
from wirecheck.outputs.json import render_json
from wirecheck.pipeline import check_plan
from wirecheck.plan import read_plan_text

EXAMPLES = Path(__file__).parents[2] / "examples"
BITS = 7
LAYOUTS = {"pieces": Layout(BITS, 4, 3), "pieces in pieces": Layout(BITS, 2, 2), "one piece": Layout(BITS, 7, 6)}


@pytest.fixture(params=LAYOUTS)
def layout(request: pytest.FixtureRequest) -> Layout:
    return LAYOUTS[request.param]


def drawn(dice: Random) -> int:
    """A set as an integer: empty, full, one state, some states, a few stretches, or all states with a variable bit."""
    size = 1 << BITS
    stretches = sum_of((1 << dice.randrange(size)) - 1 for _ in range(2)) ^ (1 << dice.randrange(size)) - 1
    some = dice.getrandbits(size) & dice.getrandbits(size) & dice.getrandbits(size)
    return dice.choice(
        [0, (1 << size) - 1, 1 << dice.randrange(size), some, stretches, pieces.pattern(dice.randrange(BITS), size)]
    )


def pairs(layout: Layout, count: int) -> Iterator[tuple[Random, int, int, Pieces, Pieces]]:
    for seed in range(count):
        dice = Random(seed)
        a, b = drawn(dice), drawn(dice)
        yield dice, a, b, layout.split(a), layout.split(b)


def as_integer(states: Pieces) -> int:
    """Bit by bit, so that nothing that is tried is used."""
    return sum(1 << number for number in range(1 << BITS) if states.has(number))


def test_the_same_states_are_in_it(layout: Layout) -> None:
    for _, a, b, one, other in pairs(layout, 200):
        assert as_integer(one) == a
        assert bool(one) == bool(a)
        assert (one == other) == (a == b) == (one == b)
        assert hash(one) == hash(layout.split(a))
        assert (one.digest() == other.digest()) == (a == b)


@pytest.mark.parametrize("merge", [and_, or_, xor], ids=lambda f: f.__name__)
def test_merging_is_that_of_integers(layout: Layout, merge: object) -> None:
    assert callable(merge)
    for _, a, b, one, other in pairs(layout, 300):
        assert as_integer(merge(one, other)) == merge(a, b)
        assert as_integer(merge(one, b)) == as_integer(merge(a, other)) == merge(a, b)
        assert as_integer(merge(one, ~b)) == merge(a, ~b & (1 << (1 << BITS)) - 1)


def test_what_is_full_is_known_to_be(layout: Layout) -> None:
    for _, a, b, one, other in pairs(layout, 300):
        everything = a | b | ~a & ~b & (1 << (1 << BITS)) - 1
        assert (one | other | layout.split(everything)).is_full()
        assert (one | other).is_full() == (a | b == everything)
    assert layout.full.is_full()


def test_shifting_is_that_of_integers(layout: Layout) -> None:
    full = (1 << (1 << BITS)) - 1
    for dice, a, _, one, _ in pairs(layout, 300):
        by = dice.randrange(1 << BITS)
        assert as_integer(one << by) == a << by & full
        assert as_integer(one >> by) == a >> by


def test_the_rest_is_that_of_integers(layout: Layout) -> None:
    for _, a, _, one, _ in pairs(layout, 200):
        assert as_integer(~one) == ~a & (1 << (1 << BITS)) - 1
        assert one.bit_count() == a.bit_count()
        assert [first + n for first, leaf in one.ascending() for n in numbers(leaf)] == numbers(a)
        if a:
            assert one.lowest() == lowest(a)
            assert one.highest() == a.bit_length() - 1
    for bit in range(BITS):
        assert as_integer(layout.ones(bit)) == pieces.pattern(bit, 1 << BITS)
    for number in range(1 << BITS):
        assert as_integer(layout.only(number)) == 1 << number


@pytest.fixture
def in_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    """From now on every space is a large one."""
    monkeypatch.setattr(space, "MOST_IN_ONE", 2)
    monkeypatch.setattr(model, "MOST_IN_ONE", 2)
    monkeypatch.setattr(space, "LEAF_BITS", 6)
    monkeypatch.setattr(space, "COUNT_BITS", 4)


CODES = {"K1": ("out", "in"), "S1": ("off", "one", "two"), "S2": ("off", "on"), "T1 power": ("no", "yes")}


@pytest.mark.usefixtures("in_pieces")
def test_a_large_space_names_the_same_states() -> None:
    large = Space(CODES)
    assert type(large.full).__name__ == "Pieces"
    for number in numbers(large.full ^ large.at("S1", "off") ^ large.at("S1", "one") ^ large.at("S1", "two")):
        assert number >> large.variables["S1"].low & 3 == 3  # a code that S1 does not have
    for number in numbers(sum_of(large.at("S1", code) for code in CODES["S1"])):
        one = large.only(number)
        assert numbers(one) == [number]
        assert lowest(one) == number
        codes = large.decode(number)
        assert all(has(large.at(name, code), number) for name, code in codes.items())
        assert large.encode(codes) == number
        assert digest(one) != digest(large.only(number ^ 1))
    assert numbers(minus(large.full, large.bit("K1"))) == [n for n in range(1 << large.bits) if not n & 1]


@pytest.mark.usefixtures("in_pieces")
@pytest.mark.parametrize("seed", range(0, 300, 25))
def test_agrees_with_the_plain_engine_in_pieces(seed: int) -> None:
    plan = read_plan_text(random_circuit(seed), f"random circuit {seed}")
    both = Both(plan)
    assert type(both.healthy.reached).__name__ == "Pieces"
    assert [c for fault in one_of_each_kind(single_faults(plan), seed) for c in both.complaints(fault)] == []


@pytest.mark.parametrize("name", ["good/bench-grinder", "good/pillar-drill"])
def test_a_report_is_the_same_in_pieces(name: str, request: pytest.FixtureRequest) -> None:
    path = str(EXAMPLES / f"{name}.yaml")
    before = without_times(render_json(check_plan(path)))
    request.getfixturevalue("in_pieces")
    assert without_times(render_json(check_plan(path))) == before


def without_times(text: str) -> str:
    return re.sub(r'"seconds": [0-9.e-]+', "", text)
