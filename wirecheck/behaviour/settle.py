"""Settling: from a set of states to all states that are passed and those in which the circuit comes to rest, in every order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecheck.behaviour.model import Model
from wirecheck.behaviour.parts import EventRule
from wirecheck.behaviour.space import Move, Shift, minus


class Settling:
    """The settling of one model. All sets are sets of states of its space.

    Parameters
    ----------
    model : Model
        What moves.
    near : Settling, optional
        That of a model with mostly the same moves, whose shifts need not be worked out again.
    """

    def __init__(self, model: Model, near: Settling | None = None) -> None:
        self.space = model.space
        self.moves = model.moves
        self.restless = model.restless
        self._near = near
        # By identity, for to hash a set of states is to read all of it; what is named by its identity is kept with the answer.
        self._of_move: dict[int, tuple[tuple[Shift, ...], Move]] = {}
        self._of_moves: dict[int, tuple[list[Shift], Sequence[Move]]] = {}

    def shifts(self, moves: Sequence[Move]) -> list[Shift]:
        """The moves as shifts of sets: each state of a shift's mask goes to the state with the number that is `by` higher."""
        known = self._of_moves.get(id(moves)) or (self._near and self._near._of_moves.get(id(moves)))
        if not known:
            known = self._of_moves[id(moves)] = ([shift for move in moves for shift in self._shifts(move)], moves)
        return known[0]

    def _shifts(self, move: Move) -> tuple[Shift, ...]:
        known = (self._near and self._near._of_move.get(id(move))) or self._of_move.get(id(move))
        if not known:
            known = self._of_move[id(move)] = (self.space.shifts(move), move)
        return known[0]

    def apply(self, moves: Sequence[Move], states: int) -> int:
        """One move each: the states that any one of the moves leads to."""
        found = 0
        for mask, by in self.shifts(moves):
            here = states & mask
            if here:
                found |= here << by if by > 0 else here >> -by
        return found

    def back(self, moves: Sequence[Move], states: int) -> int:
        """The states from which any one of the moves leads into `states`."""
        found = 0
        for mask, by in self.shifts(moves):
            found |= (states >> by if by > 0 else states << -by) & mask
        return found

    def passing(self, states: int) -> int:
        """All states that can be passed from `states` while settling, these included."""
        seen = front = states
        shifts, restless = self.shifts(self.moves), self.restless
        while front := front & restless:
            found = 0
            for mask, by in shifts:
                here = front & mask
                if here:
                    found |= here << by if by > 0 else here >> -by
            front = minus(found, seen)
            seen |= front
        return seen

    def leading(self, states: int, within: int | None = None) -> int:
        """All states from which settling can pass through `states`, these included."""
        seen = front = states
        while front:
            front = minus(self.back(self.moves, front), seen)
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
            states = minus(through, self.restless)
        return states, passed

    def before(self, rule: EventRule, states: int, at_rest: int, leading: int | None = None, within: int | None = None) -> int:
        """The states of `at_rest` in which the event can lead to, or pass through, `states`.

        `leading` is `self.leading(states, within)` where the caller has it already, for it is the same for all events. What is
        passed on the way is looked for `within` a set that has all that comes after `at_rest`.
        """
        whole = wanted = self.leading(states, within) if leading is None else leading
        for index in range(len(rule.stages) - 1, -1, -1):
            wanted = self.back(rule.stages[index], wanted)
            if index:
                wanted = whole | self.leading(minus(wanted, self.restless), within)
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
            states = minus(self.passing(after), self.restless)
