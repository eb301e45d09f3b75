"""Shortest distances of the plain engine against a SAT solver's, on circuits of relays, contactors and drives."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from itertools import islice
from pathlib import Path
from random import Random

import pytest

from tests.generators.random_circuits import random_circuit
from tests.oracles.plain_drive import BITS
from tests.oracles.plain_engine import PlainEngine, State
from tests.oracles.sat_encoding import BoundedReach, in_scope
from wirecheck.plan import read_plan, read_plan_text

CIRCUITS = {"no drive": 40, "a drive": 24}
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("[bg]*/*.yaml"))


def shorts(engine: PlainEngine, reached: Mapping[State, int]) -> bool:
    return before_a_short(engine, reached) is not None


def before_a_short(engine: PlainEngine, reached: Mapping[State, int]) -> int | None:
    """How many events can happen, whichever they are, without anything being shorted; None where nothing ever is."""
    for state, depth in sorted(reached.items(), key=lambda item: item[1]):
        steps = (engine.step(state, event) for event in engine.events(state))
        if any(engine.shorted(passed) for step in steps for passed in step.passed):
            return depth
    return None


@cache
def seeds(having: str) -> list[int]:
    """Random circuits that the encoding covers and whose questions are soon answered."""

    def fits(seed: int) -> bool:
        plan = read_plan_text(random_circuit(seed), f"random circuit {seed}")
        if not in_scope(plan) or (having == "a drive") != any(d.kind == "drive" for d in plan.devices.values()):
            return False
        engine = PlainEngine(plan)
        reached = engine.reach(80)
        return len(reached) <= 80 and not shorts(engine, reached)

    return list(islice(filter(fits, range(2000)), CIRCUITS[having]))


def target(engine: PlainEngine, state: State) -> dict[str, str]:
    names = set(engine.coils) | {d.name for d in engine.plan.devices.values() if d.positions}
    names |= {bit for coil in engine.coils.values() for bit in coil.memory()} | {
        f"{n}.{bit}" for n in engine.drives for bit in BITS
    }
    runs = {f"{name}.runs": "1" if runs else "0" for name, runs in engine.look(state).running.items()}
    return {name: value for name, value in engine.view(state) if name in names} | runs


@pytest.mark.parametrize("having", CIRCUITS)
def test_enough_circuits_are_covered(having: str) -> None:
    assert len(seeds(having)) == CIRCUITS[having]


@pytest.mark.parametrize(("having", "number"), [(having, n) for having, count in CIRCUITS.items() for n in range(count)])
def test_distances_agree(having: str, number: int) -> None:
    engine = PlainEngine(read_plan_text(random_circuit(seeds(having)[number]), "random circuit"))
    reached = engine.reach()
    bound = min(4, max(reached.values()))
    solver = BoundedReach(engine.plan, bound, frames_of(engine))
    compare_some(engine, reached, solver, bound, Random(number))


def frames_of(engine: PlainEngine) -> int | None:
    """How many frames a settling is given where there are drives; relays alone have their own bound."""
    return engine.longest_settling() + 1 if engine.drives else None


def compare_some(engine: PlainEngine, reached: Mapping[State, int], solver: BoundedReach, bound: int, dice: Random) -> None:
    """Some states that are reached, as soon by one as by the other, and some that are not."""
    targets: dict[frozenset[tuple[str, str]], int] = {}
    for state, depth in reached.items():
        targets.setdefault(frozenset(target(engine, state).items()), depth)
    within = {wanted: depth for wanted, depth in targets.items() if depth <= bound + 1}
    for wanted, depth in dice.sample(
        sorted(within.items(), key=lambda t: (t[1], sorted(t[0]))), min(40 if engine.drives else 10, len(within))
    ):
        assert solver.shortest(dict(wanted)) == (depth if depth <= bound else None), sorted(wanted)
    for _ in range(5):
        combination = dict(dice.choice(sorted(map(sorted, targets))))
        name = dice.choice(sorted(combination))
        others = {dict(other)[name] for other in targets} - {combination[name]}
        combination[name] = dice.choice(sorted(others)) if others else combination[name]
        if frozenset(combination.items()) not in targets:
            assert solver.shortest(combination) is None, combination


@pytest.mark.parametrize("path", [p for p in EXAMPLES if in_scope(read_plan(p))], ids=lambda p: p.stem)
def test_distances_agree_on_example(path: Path) -> None:
    """Each contactor in, each drive running and tripped; whole states, some never reached, where nothing is shorted."""
    engine = PlainEngine(read_plan(path))
    reached = engine.reach()
    asked = {name: first(reached, in_position(engine, name, "in")) for name in engine.coils}
    runs = {name: first(reached, running(engine, name)) for name in engine.drives}
    trips = {name: first(reached, in_position(engine, name, "faulted")) for name in engine.drives}
    bound = max(4 if not engine.drives else 1, *asked.values(), *runs.values(), *trips.values())
    solver = BoundedReach(engine.plan, bound, frames_of(engine))
    for name, depth in asked.items():
        assert solver.shortest({name: "in"}) == depth, name
    for name, depth in runs.items():
        assert solver.shortest({f"{name}.runs": "1"}) == depth, name
        assert solver.shortest({name: "faulted"}) == trips[name], name
    unshorted = before_a_short(engine, reached)
    if unshorted is not None and unshorted < bound:
        assert unshorted >= 1
        bound = unshorted
        solver = BoundedReach(engine.plan, bound, frames_of(engine))
    compare_some(engine, reached, solver, bound, Random(path.stem))


def in_position(engine: PlainEngine, name: str, position: str) -> Callable[[State], bool]:
    return lambda state: (name, position) in engine.view(state)


def running(engine: PlainEngine, drive: str) -> Callable[[State], bool]:
    return lambda state: engine.look(state).running[drive]


def first(reached: Mapping[State, int], holds: Callable[[State], bool]) -> int:
    return min(depth for state, depth in reached.items() if holds(state))


def test_enough_examples_are_covered() -> None:
    assert len(EXAMPLES) >= 17
    assert [p.stem for p in EXAMPLES if not in_scope(read_plan(p))] == []
