"""The conductors of a plan: what each carries at most, what protects it, and those that are alike taken together."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

from wirecheck.circuit.currents import Currents, Load, Passage
from wirecheck.circuit.sources import Source
from wirecheck.electrics.capacity import Capacity, capacity
from wirecheck.electrics.load_currents import NOTHING, Drawn, comes_and_goes, drawn
from wirecheck.electrics.number import Input, Missing, always, in_words
from wirecheck.electrics.protection import Guard, Protection
from wirecheck.electrics.states import States
from wirecheck.electrics.tables import limit
from wirecheck.plan.model import Plan, Terminal, Wire

LIMITS = "conductor-limits"


class Carried(NamedTuple):
    """The most that a conductor carries, in A: None where a load's current is not known. `events` finds the way there.

    `least` is what it carries at least at that time, where `amps` is an estimate.
    """

    amps: float | None
    least: float
    words: str
    inputs: tuple[Input, ...]
    missing: tuple[Missing, ...]
    events: Callable[[], tuple[str, ...]]
    devices: tuple[str, ...]

    def against(self, high: float | None) -> tuple[float | None, tuple[Missing, ...]]:
        """The current to be held against a limit, and what to ask where the estimates leave open whether it is kept."""
        if self.amps is None:
            return (self.least, ()) if high is not None and self.least > high else (None, self.missing)
        if high is None or self.amps <= high or self.least > high:
            return (self.amps if high is None or self.amps <= high else self.least), ()
        return None, self.missing


def worst_of(each: Iterable[Carried]) -> Carried | None:
    """The one that carries most; what is not known counts as more than anything that is. None of none."""
    return max(each, key=lambda one: float("inf") if one.amps is None else one.amps, default=None)


class Alike(NamedTuple):
    """Conductors of the same size that are laid alike. `worst` is the one that carries most."""

    wires: tuple[Wire, ...]
    worst: Wire
    carried: Carried
    capacity: Capacity


class Conductors:
    """What flows where, worked out when first asked for."""

    def __init__(self, plan: Plan, states: States) -> None:
        self.plan, self._states = plan, states
        self.currents = Currents(plan)
        self.protection = Protection(plan, self.currents)
        self._sums: dict[frozenset[tuple[str, float]], tuple[float, Callable[[], tuple[str, ...]]]] = {}
        self._drawn: dict[tuple[int, str, frozenset[Terminal]], Drawn] = {}
        self._carried: dict[frozenset[tuple[int, str, Terminal]], Carried] = {}

    def passages(self, wire: Wire) -> tuple[Passage, ...]:
        """What passes a wire."""
        return self.currents.passages.get(wire.index, ())

    def draws(self, load: Load, source: Source, ends: Collection[Terminal]) -> Drawn:
        """What a load takes from a source through some of its ends."""
        key = (id(load), source.name, frozenset(ends))
        if key not in self._drawn:
            self._drawn[key] = drawn(self.plan, self._states.running(), load, source, ends, self.currents.voltages(load, source))
        return self._drawn[key]

    def carried(self, passages: Sequence[Passage]) -> Carried:
        """The most that passes at one time."""
        return self.together((p.load, p.source, p.end) for p in passages)

    def together(self, feeds: Iterable[tuple[Load, Source, Terminal]]) -> Carried:
        """The most that loads take from their sources through these ends at one time."""
        each = {(id(load), source.name, end): (load, source, end) for load, source, end in feeds}
        key = frozenset(each)
        if key not in self._carried:
            self._carried[key] = self._most(self._taken(each.values()))
        return self._carried[key]

    def _taken(self, feeds: Iterable[tuple[Load, Source, Terminal]]) -> list[tuple[Load, Drawn]]:
        """Each load with its current: of several sources the one that gives most."""
        ends: dict[tuple[int, str], tuple[Load, Source, set[Terminal]]] = {}
        for load, source, end in feeds:
            ends.setdefault((id(load), source.name), (load, source, set()))[2].add(end)
        best: dict[int, tuple[Load, Drawn]] = {}
        for load, source, reached in ends.values():
            one = self.draws(load, source, reached)
            known = best.get(id(load), (load, NOTHING))[1]
            if known.amps is not None and (one.amps is None or one.amps > known.amps):
                best[id(load)] = load, one
        return list(best.values())

    def _most(self, taken: Sequence[tuple[Load, Drawn]]) -> Carried:
        total, events = self._sum(taken, {id(load): one.amps or 0.0 for load, one in taken})
        estimated = any(one.least is not None for _, one in taken)
        least = {id(load): (one.amps or 0.0) if one.least is None else one.least for load, one in taken}
        asked = tuple(dict.fromkeys(m for _, one in taken for m in one.missing))
        unknown = any(one.amps is None for _, one in taken)
        return Carried(
            None if unknown else total,
            self._sum(taken, least)[0] if estimated else total,
            _sum_words([one for _, one in taken if one.amps], total),
            tuple(i for _, one in taken for i in one.inputs),
            asked,
            events,
            tuple(dict.fromkeys(load.device for load, _ in taken)),
        )

    def _sum(self, taken: Iterable[tuple[Load, Drawn]], amps: Mapping[int, float]) -> tuple[float, Callable[[], tuple[str, ...]]]:
        changing: dict[str, float] = {}
        steady = 0.0
        for load, _ in taken:
            if comes_and_goes(self.plan, load):
                changing[load.device] = changing.get(load.device, 0.0) + amps[id(load)]
            else:
                steady += amps[id(load)]
        together, events = self._at_once(changing)
        return together + steady, events

    def _at_once(self, changing: Mapping[str, float]) -> tuple[float, Callable[[], tuple[str, ...]]]:
        if len(changing) < 2:
            return sum(changing.values()), always
        key = frozenset(changing.items())
        if key not in self._sums:
            most = self._states.most_at_once(changing)
            self._sums[key] = most.total, most.events
        return self._sums[key]

    def guard(self, wire: Wire) -> Guard:
        """What limits the current of a wire from the side of its source."""
        passages = self.passages(wire)
        own = self.protection.ahead(passages)
        if all(self.protection.is_return(p) for p in passages):
            other = self.protection.other_side(passages)
            return other if other.amps < own.amps or (math.isinf(own.amps) and not own.missing) else own
        return own

    def is_short(self, wire: Wire) -> bool:
        """Whether a wire is short and protected where it lies: inside one place without a cable, or in a cable of up to 3 m."""
        if wire.cable is None:
            return self.inside(wire)
        length = self.plan.cables[wire.cable].length_m
        return length is not None and length <= limit("length of a tap that is thinner than its protection", LIMITS)

    def inside(self, wire: Wire) -> bool:
        """Whether a wire stays in one place, as far as the plan says where its ends are."""
        here, there = (self.plan.devices[end.device].place for end in (wire.a, wire.b))
        return wire.cable is None and (here == there or here is None or there is None)

    def capacity(self, wire: Wire) -> Capacity | None:
        """What a wire may carry, with what else is loaded in its cable and its route."""
        if wire.cable is None or wire.cable not in self._loaded:
            return capacity(self.plan, wire)
        route = self.plan.cables[wire.cable].route
        others = [name for name in self._loaded if route and self.plan.cables[name].route == route]
        return capacity(self.plan, wire, self._loaded[wire.cable], max(1, len(others)))

    @cached_property
    def _loaded(self) -> dict[str, int]:
        """For each cable that has any, how many of its cores are loaded."""
        counts: dict[str, int] = {}
        light = limit("load of a core that does not count as loaded", LIMITS) / 100
        for wire in self.plan.wires:
            alone = capacity(self.plan, wire) if wire.cable and self.passages(wire) else None
            amps = self.carried(self.passages(wire)).amps if alone else None
            if alone and wire.cable and amps is not None and amps > light * alone.high:
                counts[wire.cable] = counts.get(wire.cable, 0) + 1
        return counts

    @cached_property
    def sized(self) -> tuple[tuple[Wire, Capacity], ...]:
        """The wires that carry something and whose size is stated, with what they may carry."""
        carrying = [wire for wire in self.plan.wires if self.passages(wire)]
        return tuple((wire, can) for wire in carrying if (can := self.capacity(wire)) is not None)

    def alike(self, wires: Sequence[Wire], can: Capacity) -> Alike:
        """Wires as a group, with the one that carries most."""
        each = [(self.carried(self.passages(wire)), wire) for wire in wires]
        carried, worst = max(each, key=lambda one: math.inf if one[0].amps is None else one[0].amps)
        return Alike(tuple(wires), worst, carried, can)


def _sum_words(taken: Sequence[Drawn], total: float) -> str:
    words = " and ".join(one.words for one in taken)
    if len(taken) < 2:
        return words
    return f"{words}; at most {in_words(total, 'A')} at one time"


def wire_words(wires: Sequence[Wire]) -> str:
    """Wires in words by their numbers: `wires U, V and W`."""
    numbers = list(dict.fromkeys(wire.number for wire in wires))
    if len(numbers) == 1:
        return f"wire {numbers[0]}"
    shown = numbers[:5] + ([f"{len(numbers) - 5} more"] if len(numbers) > 5 else [])
    return f"wires {', '.join(shown[:-1])} and {shown[-1]}"
