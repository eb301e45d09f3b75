"""Plans with one fault in them, held against the plain engine: the fault there from the start, or coming at any moment.

All faults of nearly all examples and of small circuits, some of everything else; `python -m tests.benchmarks.all_faults` tries
all of all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from random import Random

import pytest

from tests.generators.random_circuits import random_circuit
from tests.oracles.fast_engine import View, differences, fast_states, plain_states
from tests.oracles.plain_engine import PlainEngine, State
from tests.oracles.plain_faults import FaultyEngine, dying_in
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultSet
from wirecheck.behaviour.faults import Fault, single_faults
from wirecheck.behaviour.space import sum_of
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.plan.model import Plan

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("[bg]*/*.yaml"))
SEEDS = range(500)
FAULTS_EACH = 2
"""Of each circuit two faults are drawn by lot: the one is there from the start, the other may come at any moment."""

SMALL, SMALL_WITH_DRIVE = 8, 12
"""Of circuits of so little weight, one in five with a drive, all faults are tried."""

FAULTS_WHOLE = 8
"""Of so many faults of a circuit the whole reach is held against its layers."""

TOO_MUCH = ("mill", "mill-holding-contact-ahead-of-stop")
"""Of the other examples all faults are tried; of these, which take two minutes each, one of each kind."""

BOTH_WAYS = (True, False)


class Both:
    """One plan in both engines."""

    def __init__(self, plan: Plan) -> None:
        self.healthy, self.whole = Behaviour(plan), PlainEngine(plan)
        self.set = FaultSet(self.healthy)
        self.states: dict[State, int] = self.whole.reach()
        self.dying = dying_in(self.whole)
        self.keep = frozenset(self.healthy.space.variables)
        self._fast_views: dict[int, View] = {}
        self._plain_views: dict[State, View] = {}

    def complaints(self, fault: Fault, ways: tuple[bool, ...] = BOTH_WAYS) -> list[str]:
        """What the two engines do not agree on."""
        model, found = self.set.model(fault), []
        engine = FaultyEngine(self.whole, fault, self.dying)
        for from_start in ways:
            one = fast_states(self.set.behaviour(model, from_start), engine.consumers, self._fast_views)
            states = engine.from_start() if from_start else engine.at_any_time(self.states)
            when = "from the start" if from_start else "at any moment"
            other = plain_states(engine, states, self.keep, self._plain_views)
            found += [f"{fault.text}, {when}: {d}" for d in differences(one, other)]
        engine.forget()
        return found


def drawn(plan: Plan, count: int, seed: int) -> list[Fault]:
    """Some faults of a plan, drawn by lot, the same for the same seed."""
    faults = single_faults(plan)
    return Random(seed).sample(faults, min(count, len(faults)))


@cache
def circuit(seed: int) -> Plan:
    return read_plan_text(random_circuit(seed), f"random circuit {seed}")


def one_of_each_kind(faults: Sequence[Fault], seed: int) -> list[Fault]:
    """Of every kind of fault one, drawn by lot."""
    dice = Random(seed)
    return [dice.choice([f for f in faults if f.kind == kind]) for kind in sorted({f.kind for f in faults})]


@pytest.mark.parametrize("path", [p for p in EXAMPLES if p.stem not in TOO_MUCH], ids=lambda p: p.stem)
def test_agrees_on_all_faults_of_an_example(path: Path) -> None:
    both = Both(read_plan(path))
    assert [c for fault in single_faults(both.whole.plan) for c in both.complaints(fault)] == []


@pytest.mark.parametrize("path", [p for p in EXAMPLES if p.stem in TOO_MUCH], ids=lambda p: p.stem)
def test_agrees_on_faults_of_each_kind_of_an_example(path: Path) -> None:
    both = Both(read_plan(path))
    faults = one_of_each_kind(single_faults(both.whole.plan), len(path.stem))
    assert [c for fault in faults for c in both.complaints(fault)] == []


@pytest.mark.parametrize("seed", SEEDS)
def test_agrees_on_all_faults_of_a_small_random_circuit(seed: int) -> None:
    drive = seed % 5 == 0
    text = random_circuit(seed, SMALL_WITH_DRIVE if drive else SMALL, drive)
    both = Both(read_plan_text(text, f"small random circuit {seed}"))
    assert [c for fault in single_faults(both.whole.plan) for c in both.complaints(fault)] == []


@pytest.mark.parametrize("seed", SEEDS)
def test_agrees_on_faults_of_a_random_circuit(seed: int) -> None:
    both = Both(circuit(seed))
    tried = zip(drawn(circuit(seed), FAULTS_EACH, seed), BOTH_WAYS, strict=True)
    assert [c for fault, from_start in tried for c in both.complaints(fault, (from_start,))] == []


@pytest.mark.parametrize("seed", SEEDS[::8])
def test_reach_as_a_whole_is_the_sum_of_its_layers(seed: int) -> None:
    """Reach with a fault is worked out without layers, which are made apart from that when a trace is asked for."""
    both = FaultSet(Behaviour(circuit(seed)))
    for fault in drawn(circuit(seed), FAULTS_WHOLE, seed):
        model = both.model(fault)
        from_start = both.behaviour(model, from_start=True)
        for b in (from_start, both.behaviour(model, from_start=False, other=from_start)):
            assert b.reached == sum_of(b.reach.layers), f"{fault.text}, from the start: {b.from_start}"
            assert not b.reached & ~b.passed


def test_the_lots_are_worth_drawing() -> None:
    """Every kind of fault is among those tried, but a cable's shorts, for a random circuit has no cables."""
    kinds = [fault.kind for seed in SEEDS for fault in drawn(circuit(seed), FAULTS_EACH, seed)]
    assert set(kinds) == {"wire open", "stuck open", "welded", "coil open", "stuck in", "earthed", "source lost", "input stuck"}
    assert min(map(kinds.count, set(kinds))) >= 10


def test_another_fault_is_seen() -> None:
    """The comparison itself can fail."""
    plan = read_plan(EXAMPLES[-1])
    both = Both(plan)
    one, two = (next(f for f in single_faults(plan) if f.text.endswith(end)) for end in ("stuck off", "G0 lost"))
    model = both.set.model(one)
    engine = FaultyEngine(both.whole, two, both.dying)
    seen = fast_states(both.set.behaviour(model, from_start=True), engine.consumers)
    assert differences(seen, plain_states(engine, engine.from_start(), both.keep)) != []
