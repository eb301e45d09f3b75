"""What a meter reads with each of many errors: an integer is a set of errors, bit *k* for error *k*, the last for none."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from wirecheck.metering.dead import CLOSED, OHMS, OPEN, Path, joins, states_in
from wirecheck.metering.errors import WiringError
from wirecheck.plan.model import Event, Plan, Terminal

Setting = tuple[Event, ...]
Arcs = list[list[tuple[int, int]]]

HOW = ((CLOSED, False), (OHMS, False), (CLOSED, True), (OHMS, True))
"""The four ways in which terminals are joined: by what may read closed, may conduct, surely closes, surely conducts."""


class Reading(NamedTuple):
    """One use of the meter: the devices put into positions, and the two terminals."""

    setting: Setting
    a: Terminal
    b: Terminal


class Reads(NamedTuple):
    """With which errors the meter may read so: at least closed, at least ohms; surely closed, surely no more than ohms."""

    may_close: int
    may_conduct: int
    must_close: int
    must_conduct: int

    def may(self, level: int) -> int:
        """The errors with which the meter can show a level."""
        if level == CLOSED:
            return self.may_close
        return self.may_conduct & ~self.must_close if level == OHMS else ~self.must_conduct


class Matrix:
    """The dead circuit of a plan with all its errors. `healthy` is the bit of no error, `full` all bits."""

    def __init__(self, plan: Plan, paths: Sequence[Path], errors: Sequence[WiringError], supply_on: frozenset[str]) -> None:
        self.plan, self.errors, self.supply_on = plan, tuple(errors), supply_on
        self.healthy = 1 << len(errors)
        self.full = (self.healthy << 1) - 1
        removed: dict[str, int] = {}
        self._turned: dict[str, int] = {}
        added: dict[tuple[Terminal, Terminal], int] = {}
        for number, error in enumerate(errors):
            bit = 1 << number
            for ident in error.removed:
                removed[ident] = removed.get(ident, 0) | bit
            for ident in error.turned:
                self._turned[ident] = self._turned.get(ident, 0) | bit
            for joint in error.added:
                added[joint] = added.get(joint, 0) | bit
        self.terminals = tuple(dict.fromkeys([*(t for p in paths for t in (p.a, p.b)), *(t for j in added for t in j)]))
        self.number = {terminal: i for i, terminal in enumerate(self.terminals)}
        self._fixed = self._merged((p, self.full & ~removed.get(p.ident, 0)) for p in paths if p.closed_in is None)
        self._switched = [p for p in paths if p.closed_in is not None]
        self._added: Arcs = [[] for _ in self.terminals]
        for (one, two), mask in added.items():
            self._added[self.number[one]].append((self.number[two], mask))
            self._added[self.number[two]].append((self.number[one], mask))
        self._arcs: dict[tuple[Setting, int, bool], Arcs] = {}
        self._known: dict[tuple[Setting, int, bool], list[int]] = {}
        self._floods: dict[tuple[Setting, int, int, bool], list[int]] = {}

    def _merged(self, paths: Iterable[tuple[Path, int]]) -> dict[tuple[int, int, int, int], int]:
        """For every two terminals and every least and most reading the errors with which a path joins them."""
        found: dict[tuple[int, int, int, int], int] = {}
        for path, mask in paths:
            key = (self.number[path.a], self.number[path.b], path.least, path.most)
            found[key] = found.get(key, 0) | mask
        return found

    def _network(self, setting: Setting, level: int, sure: bool) -> Arcs:
        """For every terminal its neighbours, with the errors under which a path of at most `level` leads there.

        With `sure` by the most that a path may read, else by the least. What errors add is not in it.
        """
        key = (setting, level, sure)
        if key not in self._arcs:
            states = states_in(self.plan, setting, self.supply_on)
            turned = [(p, self._turned.get(p.ident, 0)) for p in self._switched]
            switched = self._merged((p, self.full & ~t if joins(p, states) else t) for p, t in turned)
            arcs: Arcs = [[] for _ in self.terminals]
            for (a, b, least, most), mask in (*self._fixed.items(), *switched.items()):
                if mask and (most if sure else least) <= level:
                    arcs[a].append((b, mask))
                    arcs[b].append((a, mask))
            self._arcs[key] = arcs
        return self._arcs[key]

    def _flood(self, setting: Setting, start: int, level: int, sure: bool) -> list[int]:
        """For every terminal the errors with which it is joined to `start`.

        First through what the plan has; then over what errors add, which are many joints of one error each, and on from there.
        """
        key = (setting, start, level, sure)
        if key not in self._floods:
            arcs = self._network(setting, level, sure)
            reached = [0] * len(arcs)
            fresh = {start: self.full}
            while fresh:
                come = _spread(arcs, reached, fresh)
                fresh = {}
                for here, new in come.items():
                    for other, mask in self._added[here]:
                        if more := new & mask & ~reached[other]:
                            fresh[other] = fresh.get(other, 0) | more
            self._floods[key] = reached
        return self._floods[key]

    def reads(self, reading: Reading) -> Reads:
        """What the meter reads with every error."""
        a, b = self.number[reading.a], self.number[reading.b]
        return Reads(*(self._flood(reading.setting, a, level, sure)[b] for level, sure in HOW))

    def expected(self, reading: Reading) -> tuple[int, int]:
        """The least and the most that is read without any error."""
        a, b = self.number[reading.a], self.number[reading.b]
        joined = [self._nets(reading.setting, *how)[a] == self._nets(reading.setting, *how)[b] for how in HOW]
        may_close, may_conduct, must_close, must_conduct = joined
        least = CLOSED if may_close else OHMS if may_conduct else OPEN
        return least, CLOSED if must_close else OHMS if must_conduct else OPEN

    def told_from(self, reading: Reading, least: int, most: int) -> int:
        """The errors with which nothing between `least` and `most` can be read."""
        a, b = self.number[reading.a], self.number[reading.b]
        found = 0
        if least > CLOSED:
            found |= self._flood(reading.setting, a, CLOSED if least == OHMS else OHMS, True)[b]
        if most < OPEN:
            found |= ~self._flood(reading.setting, a, OHMS if most == OHMS else CLOSED, False)[b]
        return found & (self.healthy - 1)

    def _nets(self, setting: Setting, level: int, sure: bool) -> list[int]:
        """For every terminal the number of its net without any error, joined by paths of at most `level`."""
        key = (setting, level, sure)
        if key not in self._known:
            arcs = self._network(setting, level, sure)
            nets = [-1] * len(arcs)
            for start in range(len(arcs)):
                waiting = [start] if nets[start] < 0 else []
                while waiting:
                    here = waiting.pop()
                    nets[here] = start
                    waiting += [other for other, mask in arcs[here] if mask & self.healthy and nets[other] < 0]
            self._known[key] = nets
        return self._known[key]


def _spread(arcs: Arcs, reached: list[int], fresh: dict[int, int]) -> dict[int, int]:
    """Take `fresh` into what is reached and on through the arcs; what each terminal gained."""
    gained = dict(fresh)
    for here, new in fresh.items():
        reached[here] |= new
    waiting = list(fresh)
    while waiting:
        here = waiting.pop()
        new = fresh.pop(here, 0)
        for other, mask in arcs[here] if new else ():
            if come := new & mask & ~reached[other]:
                reached[other] |= come
                gained[other] = gained.get(other, 0) | come
                fresh[other] = fresh.get(other, 0) | come
                waiting.append(other)
    return gained
