"""Shortest distances of the plain engine against a SAT solver's, on circuits of relays and contactors."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from itertools import islice, product
from pathlib import Path
from random import Random

import pytest

from tests.generators.random_circuits import random_circuit
from tests.oracles.plain_engine import PlainEngine, State
from tests.oracles.sat_encoding import BoundedReach, in_scope
from wirecheck.plan import read_plan, read_plan_text

CIRCUITS = 40
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("[bg]*/*.yaml"))


def shorts(engine: PlainEngine, reached: Mapping[State, int]) -> bool:
    steps = (engine.step(state, event) for state in reached for event in engine.events(state))
    return any(engine.shorted(passed) for step in steps for passed in step.passed)


@cache
def seeds() -> list[int]:
    """Random circuits that the encoding covers and whose questions are soon answered."""

    def fits(seed: int) -> bool:
        plan = read_plan_text(random_circuit(seed), f"random circuit {seed}")
        if not in_scope(plan):
            return False
        engine = PlainEngine(plan)
        reached = engine.reach(80)
        return len(reached) <= 80 and not shorts(engine, reached)

    return list(islice(filter(fits, range(2000)), CIRCUITS))


def target(engine: PlainEngine, state: State) -> dict[str, str]:
    names = set(engine.coils) | {d.name for d in engine.plan.devices.values() if d.positions}
    return {name: value for name, value in engine.view(state) if name in names}


def test_enough_circuits_are_covered() -> None:
    assert len(seeds()) == CIRCUITS


@pytest.mark.parametrize("number", range(CIRCUITS))
def test_distances_agree(number: int) -> None:
    engine = PlainEngine(read_plan_text(random_circuit(seeds()[number]), "random circuit"))
    reached = engine.reach()
    bound = min(4, max(reached.values()))
    solver = BoundedReach(engine.plan, bound)
    compare_some(engine, reached, solver, bound, Random(number))


def compare_some(engine: PlainEngine, reached: Mapping[State, int], solver: BoundedReach, bound: int, dice: Random) -> None:
    """Some states that are reached, as soon by one as by the other, and some that are not."""
    targets: dict[frozenset[tuple[str, str]], int] = {}
    for state, depth in reached.items():
        targets.setdefault(frozenset(target(engine, state).items()), depth)
    for wanted, depth in dice.sample(sorted(targets.items(), key=lambda t: (t[1], sorted(t[0]))), min(10, len(targets))):
        assert solver.shortest(dict(wanted)) == (depth if depth <= bound else None), sorted(wanted)
    devices = [d for d in engine.plan.devices.values() if d.positions or d.name in engine.coils]
    everything = list(product(*([(d.name, p) for p in d.positions or ("out", "in")] for d in devices)))
    never = [combination for combination in everything if frozenset(combination) not in targets]
    for combination in dice.sample(never, min(5, len(never))):
        assert solver.shortest(dict(combination)) is None, combination


@pytest.mark.parametrize("path", [p for p in EXAMPLES if in_scope(read_plan(p))], ids=lambda p: p.stem)
def test_distances_agree_on_example(path: Path) -> None:
    """As far as four events: every contactor in, and where nothing is shorted, whole states and such as are never reached."""
    engine = PlainEngine(read_plan(path))
    reached = engine.reach()
    solver = BoundedReach(engine.plan, 4)
    for name in engine.coils:
        depth = min(d for state, d in reached.items() if (name, "in") in engine.view(state))
        assert solver.shortest({name: "in"}) == depth, name
    if not shorts(engine, reached):
        compare_some(engine, reached, solver, 4, Random(path.stem))


def test_enough_examples_are_covered() -> None:
    """Those without a drive, of which the encoding knows nothing."""
    without = {p for p in EXAMPLES if all(d.kind != "drive" for d in read_plan(p).devices.values())}
    assert {p for p in EXAMPLES if in_scope(read_plan(p))} == without
    assert len(without) >= 6
