"""Reach: from rest, every event in every order, until no new settled state appears, in layers of shortest distance."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property

from wirecheck.behaviour.model import Model
from wirecheck.behaviour.parts import EventRule, Rounds
from wirecheck.behaviour.protection import uncleared
from wirecheck.behaviour.settle import Settling
from wirecheck.behaviour.space import lowest, minus
from wirecheck.plan.model import Event, Plan

Path = list[tuple[EventRule | None, int]]
"""A trace: the event (None for rest) and the number of the settled state after it."""


class Reach:
    """All settled states of a plan that can be reached.

    Attributes
    ----------
    layers : list of sets
        `layers[d]` holds the settled states whose shortest distance from rest is `d` events.
    reached : set
        All settled states.
    passed : set
        `reached`, and every state passed while settling.
    origins : set
        The states just after an event, before the circuit has answered: where races and oscillations begin.

    Parameters
    ----------
    model : Model
        What moves, and what can be done.
    seeds : sequence of sets
        States that come in from outside at each depth; by default rest alone, at depth 0.
    """

    def __init__(self, model: Model, seeds: Sequence[int] = (1,), near: Settling | None = None) -> None:
        self.model = model
        self.space = model.space
        self.settling = Settling(model, near)
        self.events = model.events
        self.seeds = tuple(seeds)
        self.passed = self.reached = self._origins = 0
        self._explore()

    def _explore(self) -> None:
        for layer in self.layers:
            self.reached |= layer
        self.passed |= self.reached

    @cached_property
    def start(self) -> int:
        """All states that come in from outside."""
        found = 0
        for seed in self.seeds:
            found |= seed
        return found

    @cached_property
    def layers(self) -> list[int]:
        """The settled states by their distance from rest."""
        return list(self._layers())

    @property
    def origins(self) -> int:
        """The states just after an event."""
        return self._origins if self.layers else 0

    def _layers(self) -> Iterator[int]:
        settling = self.settling
        front = reached = depth = 0
        while front or depth < len(self.seeds):
            if depth < len(self.seeds):
                self._origins |= self.seeds[depth]
                through = settling.passing(self.seeds[depth])
                self.passed |= through
                front |= minus(minus(through, settling.restless), reached)
            yield front
            reached |= front
            front = minus(self._next(front), reached) if front else 0
            depth += 1

    def _next(self, front: int) -> int:
        """The settled states one event after `front`."""
        rests = 0
        for stages in self.model.rounds:
            states = front
            for moves in stages:
                after = self.settling.apply(moves, states)
                self._origins |= after
                states = self._settle(after)
            rests |= states
        return rests

    def _settle(self, states: int) -> int:
        """Where the circuit comes to rest, what is passed being noted."""
        through = self.settling.passing(states)
        self.passed |= through
        return minus(through, self.settling.restless)

    @cached_property
    def last_first(self) -> tuple[EventRule, ...]:
        """The events in the order in which a trace is searched for."""
        return last_first(self.events)

    def after(self, rule: EventRule, states: int) -> int:
        """The settled states after an event in any of `states`."""
        return self.settling.fire(rule, states)[0]

    def after_any(self, rounds: Rounds, states: int) -> int:
        """The settled states after any one of several events, put together in rounds."""
        settling, found = self.settling, 0
        for stages in rounds:
            here = states
            for moves in stages:
                here = minus(settling.passing(settling.apply(moves, here)), settling.restless)
            found |= here
        return found

    def leading(self, states: int) -> int:
        """Of the states passed those from which settling can pass through `states`, and these."""
        return self.settling.leading(states & self.passed, self.passed)

    def before(self, rule: EventRule, states: int, reached: int, leading: int | None = None) -> int:
        """The states of `reached`, all of them reached, in which the event can lead to, or pass through, `states`.

        `leading` is `self.leading(states)` where the caller has it already.
        """
        return self.settling.before(rule, states & self.passed, reached, leading, self.passed)

    def depth(self, states: int) -> int | None:
        """The shortest distance from rest to any of `states`, None where none is reached."""
        return next((d for d, layer in enumerate(self.layers) if layer & states), None)

    def trace(self, states: int) -> Path | None:
        """A shortest path from rest into `states`; for states that are only passed, the path whose last event passes them."""
        if self.depth(states) == 0:
            return [(None, lowest(self.layers[0] & states))]
        if self.layers[0] and self.settling.passing(self.seeds[0]) & states:
            return [(None, lowest(self.layers[0]))]
        leading = self.leading(states)
        for d, layer in enumerate(self.layers):
            if came := layer & states:  # from outside: an event that led here would have been found one layer before
                return self.walk(lowest(came), d)
            for rule in self.last_first:
                before = self.before(rule, states, layer, leading)
                if before:
                    number = lowest(before)
                    rests, passed = self.settling.fire(rule, self.space.only(number))
                    last = rests & states or rests or passed
                    return [*self.walk(number, d), (rule, lowest(last))]
        return None

    def passing_state(self, path: Path, states: int) -> int:
        """Of a path whose last event leads into or through `states`, the number of one of these states on its way."""
        if self.space.only(path[-1][1]) & states:
            return path[-1][1]
        rule = path[-1][0]
        passed = (
            self.settling.passing(self.seeds[0]) if rule is None else self.settling.fire(rule, self.space.only(path[-2][1]))[1]
        )
        return lowest(passed & states)

    def step_depth(self, rule: EventRule, before: int, after: int) -> int | None:
        """How many events come at the least before the one that leads from a state of `before` to a settled state of `after`."""
        return self.depth(self._able(rule, before, after))

    def _able(self, rule: EventRule, before: int, after: int) -> int:
        there = self.after(rule, before & self.reached) & after
        return self.before(rule, there, before & self.reached) if there else 0

    def step_trace(self, rule: EventRule, before: int, after: int) -> Path | None:
        """A shortest path to a state of `before` in which the event leads to a settled state of `after`."""
        able = self._able(rule, before, after)
        d = self.depth(able)
        if d is None:
            return None
        number = lowest(self.layers[d] & able)
        return [*self.walk(number, d), (rule, lowest(self.after(rule, self.space.only(number)) & after))]

    def walk(self, number: int, depth: int) -> Path:
        """A shortest path to one settled state: from rest, or from the state that came in from outside."""
        path: Path = []
        while depth:
            before = self._predecessor(number, depth)
            if before is None:
                break
            path.append((before[0], number))
            number, depth = before[1], depth - 1
        return [(None, number), *reversed(path)]

    def _predecessor(self, number: int, depth: int) -> tuple[EventRule, int] | None:
        leading = self.leading(self.space.only(number))
        for rule in self.last_first:
            before = self.before(rule, self.space.only(number), self.layers[depth - 1], leading)
            if before:
                return rule, lowest(before)
        return None

    def branches(self) -> int:
        """The states passed in which more than one thing can move."""
        once = twice = 0
        for move in self.settling.moves:
            twice |= once & move.mask
            once |= move.mask
        return twice & self.passed

    def restless_for_ever(self) -> int:
        """The states passed from which no order comes to rest: oscillations."""
        rests = self.passed & ~self.settling.restless
        return self.passed & ~self.settling.leading(rests, self.passed)

    def races(self) -> Iterator[tuple[int, int]]:
        """For every variable bit whose value at rest depends on the order: the bit, and the origins from which it does."""
        forks = self.branches()
        if not forks:
            return
        after = self.settling.passing(forks)
        rests = after & ~self.settling.restless
        for bit in range(self.space.bits):
            ones = rests & self.space.ones(bit)
            zeros = rests & ~ones
            if ones and zeros:
                both = self.settling.leading(ones, after) & self.settling.leading(zeros, after) & forks
                if both:
                    origins = self.settling.leading(both, self.passed) & self.origins
                    if origins:
                        yield bit, origins


class LateReach(Reach):
    """Reach that is first worked out as a whole, its layers only where distances are asked for: that takes fewer steps.

    Parameters
    ----------
    near : Settling, optional
        The settling of a model with mostly the same moves.
    known : Reach, optional
        One that is known to be the same as this.
    within : Reach, optional
        Another one of the same model, all of which is known to be reached here as well.
    """

    def __init__(
        self,
        model: Model,
        seeds: Sequence[int] = (1,),
        near: Settling | None = None,
        known: Reach | None = None,
        within: Reach | None = None,
    ) -> None:
        self._known, self._within = known, within
        super().__init__(model, seeds, near)

    def _explore(self) -> None:
        if self._known is not None:
            self.reached, self.passed = self._known.reached, self._known.passed
            return
        done = passed = 0
        if self._within is not None:
            done, passed = self._within.reached, self._within.passed
        through = self.settling.passing(minus(self.start, done))
        self.passed, self.reached = passed | through, done | minus(through, self.settling.restless)
        while front := minus(self.reached, done):
            done |= front
            self._further(front)
        self.passed |= self.reached

    def _further(self, front: int) -> None:
        """Add what comes after each event in any state of `front`; where nothing answers to an event, the next one follows."""
        settling, restless = self.settling, self.settling.restless
        straight, *staged = self.model.rounds
        moved = 0
        for mask, by in settling.shifts(straight[0]):
            here = front & mask
            if here:
                after = here << by if by > 0 else here >> -by
                answered = after & restless
                moved |= answered
                front |= after ^ answered
        self.reached |= front | self._settle(moved)
        for stages in staged:
            states = front
            for moves in stages:
                states = self._settle(settling.apply(moves, states))
            self.reached |= states


def last_first(events: Iterable[EventRule]) -> tuple[EventRule, ...]:
    """Events by device, the last device of the plan first, each device's positions in order.

    A trace is worked out from its end; so of equally short ones that is shown which begins with the supply, as people do.
    """
    by_device: dict[str, list[EventRule]] = {}
    for rule in events:
        by_device.setdefault(rule.event.device, []).append(rule)
    return tuple(rule for rules in reversed(by_device.values()) for rule in rules)


def explore(plan: Plan) -> Reach:
    """Reach of a plan; shorts are followed where one can happen, and sources die where nothing clears their short.

    Raises
    ------
    TooLarge
        The plan has too many states to explore together.
    """
    reach = Reach(Model(plan))
    if any(states & reach.passed for states in reach.model.shorts().values()):
        dying, more = frozenset[str](), True
        while more:  # where one source is dead, another one may come to be shorted
            reach = Reach(Model(plan, dying, tripping=True))
            shorted = (s.name for s in reach.model.sources if s.role != "output" and uncleared(reach.model, s) & reach.passed)
            found = dying.union(shorted)
            dying, more = found, found != dying
    return reach


def event_named(reach: Reach, event: Event) -> EventRule | None:
    """The rule of an event, None where the plan has no such event."""
    return next((rule for rule in reach.events if rule.event == event), None)
