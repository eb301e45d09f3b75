"""Settling: from a set of states to all states that are passed and those in which the circuit comes to rest, in every order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour.model import Model
from wirecheck.behaviour.parts import EventRule
from wirecheck.behaviour.space import Move


class Settling:
    """The settling of one model. All sets are sets of states of its space."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.space = model.space
        self.moves = model.moves
        self.restless = model.restless
        self._images: dict[int, tuple[int, Move]] = {}  # by identity: to hash a set of states is to read all of it

    def apply(self, moves: Iterable[Move], states: int) -> int:
        """One move each: the states that any one of the moves leads to."""
        found = 0
        for move in moves:
            here = states & move.mask
            if here:
                found |= self.space.flip(here, move.bits)
        return found

    def back(self, moves: Iterable[Move], states: int) -> int:
        """The states from which any one of the moves leads into `states`."""
        found = 0
        for move in moves:
            here = states & self._image(move)
            if here:
                found |= self.space.flip(here, move.bits)
        return found

    def _image(self, move: Move) -> int:
        """The states that a move leads to."""
        known = self._images.get(id(move))
        if known is None:
            known = self._images[id(move)] = (self.space.flip(move.mask, move.bits), move)
        return known[0]

    def passing(self, states: int) -> int:
        """All states that can be passed from `states` while settling, these included."""
        seen = front = states
        while front := front & self.restless:
            front = self.apply(self.moves, front) & ~seen
            seen |= front
        return seen

    def leading(self, states: int, within: int | None = None) -> int:
        """All states from which settling can pass through `states`, these included."""
        seen = front = states
        while front:
            front = self.back(self.moves, front) & ~seen
            if within is not None:
                front &= within
            seen |= front
        return seen

    def fire(self, rule: EventRule, states: int) -> tuple[int, int]:
        """Let an event happen in every state: the states at rest after it, and all that were passed."""
        passed = 0
        for moves in rule.stages:
            through = self.passing(self.apply(moves, states))
            passed |= through
            states = through & ~self.restless
        return states, passed

    def before(self, rule: EventRule, states: int, at_rest: int, leading: int | None = None) -> int:
        """The states of `at_rest` in which the event can lead to, or pass through, `states`.

        `leading` is `self.leading(states)` where the caller has it already, for it is the same for all events.
        """
        whole = wanted = self.leading(states) if leading is None else leading
        for index in range(len(rule.stages) - 1, -1, -1):
            wanted = self.back(rule.stages[index], wanted)
            if index:
                wanted = whole | self.leading(wanted & ~self.restless)
        return wanted & at_rest

    def before_stage(self, rule: EventRule, index: int, states: int, at_rest: int) -> int:
        """The states of `at_rest` in which the event leads to `states`, at rest before stage number `index` of it."""
        wanted = states
        for moves in reversed(rule.stages[:index]):
            wanted = self.back(moves, self.leading(wanted))
        return wanted & at_rest

    def at_each_stage(self, rule: EventRule, states: int) -> Iterator[int]:
        """The states just after each stage's own moves, before the circuit has answered."""
        for moves in rule.stages:
            after = self.apply(moves, states)
            yield after
            states = self.passing(after) & ~self.restless
