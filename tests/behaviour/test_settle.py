"""Settling, events and reach of small machines drawn by lot, against the same worked out state by state."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from random import Random

import pytest

from tests.circuit.networks import plan_text
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.parts import EventRule
from wirecheck.behaviour.reach import LateReach, Path, Reach, event_named, explore, last_first
from wirecheck.behaviour.settle import Settling
from wirecheck.behaviour.space import Move, Space, numbers
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event

BITS = 5
STATES = range(1 << BITS)


MIDDLES = {"S2": 3, "S3": 4}
"""The bits that are on in the moment in which these devices pass from one position to another."""

SETTLED = 1 << min(MIDDLES.values())
"""So many states have no device in the middle of something."""


class Machine(Model):
    """Moves and events drawn by lot, in place of those of a plan. Every second one is at rest in its first state."""

    def __init__(self, seed: int) -> None:
        self.space = Space({f"X{n}": ("no", "yes") for n in range(BITS)})
        self.dice = Random(seed)
        self.__dict__["moves"] = tuple(self._move(0.25, STATES[seed % 2 :]) for _ in range(self.dice.randint(1, 4)))
        rules = []
        for name in ("S1", "S2", "S3"):
            for word in ("on", "off"):
                middle = MIDDLES.get(name)
                stages: tuple[tuple[Move, ...], ...] = ((self._move(0.6, range(SETTLED)),),)
                if middle is not None:
                    there = stages[0][0]
                    halfway = set_of(n for n in STATES if n >> middle & 1)
                    stages = ((Move(there.mask, (*there.bits, middle)),), (Move(halfway, (middle, *self._move(1, ()).bits)),))
                rules.append(EventRule(Event(name, word), stages))
        self.__dict__["events"] = tuple(rules)

    def _move(self, part: float, among: Iterable[int]) -> Move:
        mask = set_of(n for n in among if self.dice.random() < part)
        return Move(mask, tuple(self.dice.sample(range(3), self.dice.choice((1, 1, 2)))))

    def some(self) -> int:
        return set_of(n for n in range(SETTLED) if self.dice.random() < 0.4)


def set_of(states: Iterable[int]) -> int:
    return sum(1 << n for n in set(states))


def moved(moves: Iterable[Move], state: int) -> Iterator[int]:
    """Where one move leads."""
    for move in moves:
        if move.mask >> state & 1:
            after = state
            for bit in move.bits:
                after ^= 1 << bit
            yield after


class Plain:
    """One state after the other."""

    def __init__(self, model: Machine) -> None:
        self.moves, self.events = model.moves, model.events

    def rests(self, state: int) -> bool:
        return not any(move.mask >> state & 1 for move in self.moves)

    def through(self, states: Iterable[int]) -> set[int]:
        """All that is passed from some states, these too."""
        seen, waiting = set(states), list(states)
        while waiting:
            for after in moved(self.moves, waiting.pop()):
                if after not in seen:
                    seen.add(after)
                    waiting.append(after)
        return seen

    def stages(self, rule: EventRule, states: Iterable[int]) -> Iterator[tuple[set[int], set[int], set[int]]]:
        """Of each stage what it moves to, what is passed, and where that comes to rest."""
        here = set(states)
        for moves in rule.stages:
            after = {a for state in here for a in moved(moves, state)}
            passed = self.through(after)
            here = {state for state in passed if self.rests(state)}
            yield after, passed, here

    def after(self, rule: EventRule, states: Iterable[int]) -> set[int]:
        return list(self.stages(rule, states))[-1][2]

    def passed(self, rule: EventRule, states: Iterable[int]) -> set[int]:
        return {state for _, passed, _ in self.stages(rule, states) for state in passed}

    def layers(self, seeds: Iterable[Collection[int]]) -> list[set[int]]:
        """The states at rest by their distance, `seeds` coming in at each distance."""
        waiting, found, known, front = [set(s) for s in seeds], [], set[int](), set[int]()
        while front or waiting:
            if waiting:
                front |= {state for state in self.through(waiting.pop(0)) if self.rests(state)} - known
            found.append(front)
            known |= front
            front = {state for rule in self.events for state in self.after(rule, front)} - known
        return found


SEEDS = range(24)


@pytest.mark.parametrize("seed", SEEDS)
def test_moves_and_events_lead_where_each_state_goes_by_itself(seed: int) -> None:
    model = Machine(seed)
    settling, plain = Settling(model), Plain(model)
    states, within, at_rest = (numbers(model.some()) for _ in range(3))
    some, inside, resting = set_of(states), set_of(within), set_of(n for n in at_rest if plain.rests(n))
    assert settling.restless == set_of(n for n in STATES if not plain.rests(n))
    assert settling.apply(model.moves, some) == set_of(a for n in states for a in moved(model.moves, n))
    assert settling.back(model.moves, some) == set_of(n for n in STATES if set(moved(model.moves, n)) & set(states))
    assert settling.passing(some) == set_of(plain.through(states))
    assert settling.leading(some) == set_of(n for n in STATES if plain.through([n]) & set(states))
    first = {n for n in within if set(moved(model.moves, n)) & set(states)}
    assert settling.leading(some, inside) & first_of(settling, some) == some | set_of(first)
    for rule in model.events:
        assert settling.fire(rule, some) == (set_of(plain.after(rule, states)), set_of(plain.passed(rule, states)))
        wanted = set_of(n for n in numbers(resting) if plain.passed(rule, [n]) & set(states))
        assert settling.before(rule, some, resting) == wanted
        assert settling.before(rule, some, resting, settling.leading(some)) == wanted
        stages = list(plain.stages(rule, states))
        assert list(settling.at_each_stage(rule, some)) == [set_of(after) for after, _, _ in stages]
        assert settling.before_stage(rule, 0, some, resting) == some & resting
        if len(rule.stages) > 1:
            still = set_of(n for n in states if plain.rests(n))
            wanted = set_of(n for n in numbers(resting) if next(plain.stages(rule, [n]))[2] & set(numbers(still)))
            assert settling.before_stage(rule, 1, still, resting) == wanted


def first_of(settling: Settling, states: int) -> int:
    """The states, and all that one move leads to them from."""
    return states | settling.back(settling.moves, states)


def test_shifts_that_another_model_has_worked_out_serve_again() -> None:
    model = Machine(1)
    near = Settling(model)
    known = near.shifts(model.moves)
    assert near.shifts(model.moves) is known
    assert Settling(model, near).shifts(model.moves) is known
    assert Settling(model).shifts(model.moves) == known
    for move in model.moves:
        assert near._shifts(move) is near._shifts(move) is Settling(model, near)._shifts(move)
        assert near._shifts(move) == model.space.shifts(move)


def seeds_of(model: Machine) -> list[int]:
    return [model.some() & model.some() for _ in range(3)]


@pytest.mark.parametrize("seed", SEEDS)
def test_reach_is_all_that_events_lead_to_layer_by_layer(seed: int) -> None:
    model = Machine(seed)
    plain = Plain(model)
    for given in ([1], seeds_of(model)):
        layers = plain.layers([numbers(s) for s in given])
        reach, late = Reach(model, given), LateReach(model, given)
        known = LateReach(model, given, known=reach)
        within = LateReach(model, [given[0] | given[-1]], within=LateReach(model, [given[0]]))
        assert reach.layers == late.layers == known.layers == [set_of(layer) for layer in layers]
        assert reach.reached == late.reached == known.reached == set_of(n for layer in layers for n in layer)
        came = {a for layer in layers for rule in model.events for after, _, _ in plain.stages(rule, layer) for a in after}
        came |= {n for s in given for n in numbers(s)}
        assert reach.origins == set_of(came)
        assert reach.passed == late.passed == known.passed == set_of(plain.through(came)) | reach.reached
        whole = Reach(model, [given[0] | given[-1]])
        assert (within.reached, within.passed) == (whole.reached, whole.passed)
        states = model.some()
        depths = [d for d, layer in enumerate(layers) if layer & set(numbers(states))]
        assert reach.depth(states) == (min(depths) if depths else None)
        assert reach.after_any(model.rounds, states) == set_of(
            n for rule in model.events for n in plain.after(rule, numbers(states))
        )


def is_path(plain: Plain, path: Path, start: Collection[int]) -> bool:
    """Whether each event of a path can lead from the state before it to the one after."""
    for (_, one), (rule, to) in zip(path, path[1:], strict=False):
        assert rule is not None
        if to not in (plain.after(rule, [one]) or plain.passed(rule, [one])):  # it may swing for ever
            return False
    return path[0][1] in start


@pytest.mark.parametrize("seed", [seed for seed in SEEDS if Plain(Machine(seed)).layers([[0]])[0]])
def test_a_trace_is_a_shortest_way_by_events(seed: int) -> None:
    model = Machine(seed)
    plain, reach = Plain(model), Reach(model)
    layers = plain.layers([[0]])
    for number in numbers(reach.passed):
        path = reach.trace(1 << number)
        assert path is not None
        by_rest = [d for d, layer in enumerate(layers) if number in layer]
        ways = [d + 1 for d, layer in enumerate(layers) for rule in model.events if number in plain.passed(rule, layer)]
        shortest = 0 if number in plain.through([0]) else min(ways)
        if by_rest and not (shortest == 0 and by_rest[0]):
            shortest = min(shortest, by_rest[0])
        assert len(path) - 1 == shortest
        assert is_path(plain, path, layers[0])
        assert reach.passing_state(path, 1 << number) == number
    assert reach.trace(((1 << len(STATES)) - 1) ^ reach.passed) is None
    for rule in model.events:
        before, after = model.some(), model.some()
        able = {n for n in numbers(reach.reached & before) if plain.passed(rule, [n]) & target(plain, rule, reach, before, after)}
        depths = [d for d, layer in enumerate(layers) if layer & able]
        assert reach.step_depth(rule, before, after) == (min(depths) if depths else None)
        step = reach.step_trace(rule, before, after)
        assert (step is None) == (not depths)
        if step is not None:
            assert (len(step), step[-1][0]) == (min(depths) + 2, rule)
            assert is_path(plain, step, layers[0])
            assert 1 << step[-2][1] & before
            assert 1 << step[-1][1] & after


def target(plain: Plain, rule: EventRule, reach: Reach, before: int, after: int) -> set[int]:
    return plain.after(rule, numbers(reach.reached & before)) & set(numbers(after))


@pytest.mark.parametrize("seed", SEEDS)
def test_what_swings_for_ever_and_what_more_than_one_thing_can_move(seed: int) -> None:
    model = Machine(seed)
    plain, reach = Plain(model), Reach(model)
    passed = numbers(reach.passed)
    assert reach.restless_for_ever() == set_of(n for n in passed if not any(plain.rests(to) for to in plain.through([n])))
    assert reach.branches() == set_of(n for n in passed if sum(move.mask >> n & 1 for move in model.moves) > 1)
    forks = numbers(reach.branches())
    races = {}
    for bit in range(BITS):
        both = {n for n in forks if len({to >> bit & 1 for to in plain.through([n]) if plain.rests(to)}) > 1}
        origins = {n for n in numbers(reach.origins) if plain.through([n]) & both}
        if origins:
            races[bit] = set_of(origins)
    assert dict(reach.races()) == races


def test_the_last_device_comes_first_and_its_events_in_their_order() -> None:
    rules = [EventRule(Event(*text.split("=")), ()) for text in ("S1=on", "S2=on", "S1=off", "S3=on", "S2=off")]
    assert [str(rule.event) for rule in last_first(rules)] == ["S3=on", "S2=on", "S2=off", "S1=on", "S1=off"]


def test_an_event_is_found_by_its_name() -> None:
    reach = Reach(Machine(3))
    assert event_named(reach, Event("S2", "off")) is reach.events[3]
    assert event_named(reach, Event("S2", "away")) is None


SHORTED = [
    "G0: {kind: mains, phases: 1, voltage: 230 V}",
    "F1: {kind: fuse}",
    "S1: {kind: push-button, contacts: {13-14: NO}}",
    "P1: {kind: lamp, voltage: 230 V}",
]


@pytest.mark.parametrize(
    ("runs", "tripping", "dying", "ends"),
    [
        (["G0:L S1:13", "S1:14 P1:X1", "P1:X2 G0:N"], False, set(), {"F1": "whole"}),
        (["G0:L F1:1", "F1:2 S1:13", "S1:14 G0:N"], True, set(), {"F1": "blown"}),
        (["G0:L S1:13", "S1:14 G0:N"], True, {"G0"}, {"F1": "whole", "G0 dead": "yes"}),
    ],
    ids=["no short", "a fuse clears it", "nothing clears it"],
)
def test_shorts_are_followed_where_one_can_happen_and_a_source_dies_of_one_that_nothing_clears(
    runs: list[str], tripping: bool, dying: set[str], ends: dict[str, str]
) -> None:
    reach = explore(read_plan_text(plan_text(SHORTED, runs), "short"))
    assert (reach.model.tripping, set(reach.model.dying)) == (tripping, dying)
    states = 1
    for event in (Event("G0", "on"), Event("S1", "pressed")):
        rule = event_named(reach, event)
        assert rule is not None
        states = reach.after(rule, states)
    (number,) = numbers(states)
    at = reach.space.decode(number)
    assert {name: at[name] for name in ends} == ends
    assert (at["G0"], at["S1"]) == ("on", "pressed")


def test_a_drive_whose_output_is_shorted_trips_and_its_output_does_not_die() -> None:
    drive = (
        "T1: {kind: drive, input: {terminals: [L, N], phases: 1, voltage: 200-240 V}, output: {terminals: [U, V, W]}, "
        "control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, "
        "inputs: {DI1: run-forward}}, settings: {command_source: terminals}}"
    )
    runs = ["G0:L T1:L", "G0:N T1:N", "T1:P24 T1:DI1", "T1:U S1:13", "S1:14 T1:V"]
    reach = explore(read_plan_text(plan_text([*SHORTED[:1], SHORTED[2], drive], runs), "shorted output"))
    assert (reach.model.tripping, reach.model.dying) == (True, frozenset())
    states = 1
    for event in (Event("G0", "on"), Event("S1", "pressed")):
        rule = event_named(reach, event)
        assert rule is not None
        states = reach.after(rule, states)
    assert {reach.space.decode(number)["T1"] for number in numbers(states)} == {"faulted"}
