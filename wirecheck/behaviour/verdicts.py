"""What every single fault does to every function that stops something, and whether it starts anything."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING

from wirecheck.behaviour.behaviour import CHOOSERS, INERT, Behaviour
from wirecheck.behaviour.causes import Cause, about_to_stop, going_on
from wirecheck.behaviour.faulted import FaultedBehaviour, FaultedModel, FaultPath, FaultSet
from wirecheck.behaviour.faults import EXCLUDED, PROTECTIVE, Fault, single_faults
from wirecheck.behaviour.parts import EventRule, Rounds, rounds_of
from wirecheck.behaviour.space import lowest, minus
from wirecheck.circuit.sources import DRIVE_SUPPLY
from wirecheck.plan.model import Terminal

if TYPE_CHECKING:
    from wirecheck.behaviour.islands import Islands
    from wirecheck.circuit.impedances import Impedance

NO_EFFECT, STOPS, SEEN, UNSEEN = "no effect", "stops or prevents start", "lost, but the next start is prevented", "lost unseen"
VERDICTS = (NO_EFFECT, STOPS, SEEN, UNSEEN)
"""From the mildest to the worst."""

SMALL_BITS = 14
"""In a view of so few variable bits a faulted model is soon made again: what its fault does to islands is looked at when somebody
asks. In a larger one it is looked at together with all else that the fault does."""


@dataclass(frozen=True, slots=True)
class Held:
    """A function as it is tried: what is held, and the one thing that must then be stopped or off."""

    name: str
    cause: Cause
    must: tuple[str, str]


class Shown:
    """A trace with a fault, and the behaviour in which it was found: its last state is the bad one.

    `length` is how many events it has. The behaviour and the trace are worked out anew when they are first asked for: few are
    printed, and to keep the behaviour of every fault would take much memory.
    """

    def __init__(
        self, make: Callable[[], FaultedBehaviour], from_start: bool, length: int, find: Callable[[FaultedBehaviour], FaultPath]
    ) -> None:
        self.from_start, self.length = from_start, length
        self._make, self._find = make, find

    @cached_property
    def behaviour(self) -> FaultedBehaviour:
        """The behaviour with the fault."""
        return self._make()

    @cached_property
    def path(self) -> FaultPath:
        """The trace."""
        return self._find(self.behaviour)

    @property
    def rank(self) -> tuple[int, bool]:
        """For the choice of the clearest: short ones first, then those with the fault there from the start."""
        return (self.length, not self.from_start)


@dataclass(frozen=True, slots=True)
class Effect:
    """What a group of faults that act alike does.

    `verdicts` has one word of `VERDICTS` for each function tried, by its place in the list; `lost` the traces of those lost;
    `starts` a trace for each motor that the fault makes start by itself.
    """

    faults: tuple[Fault, ...]
    verdicts: tuple[str, ...]
    lost: Mapping[int, Shown] = field(default_factory=dict)
    starts: Mapping[str, Shown] = field(default_factory=dict)

    @property
    def worst(self) -> int:
        """The place of the worst verdict in `VERDICTS`; a start by itself is as bad as a loss."""
        return max((*(VERDICTS.index(v) for v in self.verdicts), VERDICTS.index(UNSEEN) if self.starts else 0), default=0)


class FaultTrial:
    """All single faults of one view, tried on the functions given."""

    def __init__(
        self, healthy: Behaviour, functions: Sequence[Held], loads: Callable[[], Sequence[Impedance]] | None = None
    ) -> None:
        self.healthy = healthy
        self.functions = tuple(functions)
        self._loads = loads
        self._at_once = loads is not None and healthy.space.bits > SMALL_BITS
        self._islands_of: dict[str, Mapping[Terminal, int]] = {}
        self._astray = 0  # where faults lead and nothing leads without them
        self.set = FaultSet(healthy)
        self._broken = {i for i, f in enumerate(self.functions) if lost_in(healthy, f)}
        self._surprising: dict[str, tuple[tuple[EventRule, ...], list[EventRule], Rounds]] = {}
        self._begins = {m: self._healthy_starts(m) for m in healthy.motors}

    def _healthy_starts(self, motor: str) -> frozenset[str]:
        """The events that begin motion without any fault: told by themselves."""
        b = self.healthy
        before = b.reached & ~b.moving(motor) & ~b.start_held
        return frozenset(str(r.event) for r in b.events if b.after(r, before) & b.moving(motor))

    def effects(self, progress: Callable[[int, int, str], None] | None = None) -> Iterator[Effect]:
        """One effect for each group of faults that act alike, in the order of their first fault."""
        groups: dict[object, list[Fault]] = {}
        found: dict[object, Effect] = {}
        faults = list(self._faults())
        for done, fault in enumerate(faults):
            if progress:
                progress(done, len(faults), fault.text)
            model = self.set.model(fault)
            if self._at_once and (changed := self.islands.changed(model)):
                self._islands_of[fault.text] = changed
            key = self.set.key(model)
            groups.setdefault(key, []).append(fault)
            if key not in found:  # judged at once, so that no more than one model is kept
                found[key] = self._quiet(fault) if key is None else self._effect(fault, model)
        if self._at_once:
            self.mixed  # noqa: B018 -- kept, while the islands, which take much memory, are let go
            self.__dict__.pop("islands", None)
        for key, effect in found.items():
            yield replace(effect, faults=tuple(groups[key]))

    @cached_property
    def islands(self) -> Islands:
        """What hangs together through loads."""
        from wirecheck.behaviour.islands import Islands

        return Islands(self.set.none, self._loads() if self._loads else ())

    @cached_property
    def mixed(self) -> int:
        """The states in which two rails reach what may act through loads without any fault."""
        return self.islands.mixed

    def suspects(self, effects: Iterable[Effect]) -> Iterator[tuple[Fault, Mapping[Terminal, int]]]:
        """The faults by which voltage may come through loads where there is none without it, with the islands that they change.

        `effects` are those of this trial; without any only what a fault does to the circuit is looked at.
        """
        each = [(fault, self._strays(e)) for e in effects for fault in e.faults] or [(fault, False) for fault in self._faults()]
        for fault, strays in each:
            if fault.kind != EXCLUDED:
                at_once = self._islands_of.get(fault.text, {})
                changed = at_once if self._at_once and effects else self.islands.changed(self.set.model(fault))
                if changed or strays:
                    yield fault, changed

    def _strays(self, effect: Effect) -> bool:
        """Whether faults lead to where a load stands between two rails, and nothing leads without them."""
        new = self._astray & self.mixed if self._astray else 0
        if not new:
            return False
        model = self.set.model(effect.faults[0])
        return any(self.set.behaviour(model, from_start).passed & new for from_start in (True, False))

    def _faults(self) -> Iterator[Fault]:
        """The faults that this view can tell of: those of what has no part in it are tried in other views."""
        devices, passive = self.healthy.plan.devices, {INERT, DRIVE_SUPPLY, "terminal-block", "earth-bar", "frame"}
        for fault in single_faults(self.healthy.plan):
            elsewhere = any(self.healthy.is_inert(name) for name in fault.devices)
            if not elsewhere or any(devices[name].kind not in passive for name in fault.devices):
                yield fault

    def _quiet(self, fault: Fault) -> Effect:
        return Effect((fault,), (NO_EFFECT,) * len(self.functions))

    def _effect(self, fault: Fault, model: FaultedModel) -> Effect:
        from_start = self.set.behaviour(model, from_start=True)
        any_time = self.set.behaviour(model, from_start=False, other=from_start)
        self._astray |= minus(from_start.passed | any_time.passed, self.healthy.passed)
        return self.effect_in(fault, from_start, any_time)

    def effect_in(self, fault: Fault, from_start: FaultedBehaviour, any_time: FaultedBehaviour) -> Effect:
        """What a fault does, by the behaviour with it."""
        verdicts, lost = [], {}
        for i, function in enumerate(self.functions):
            verdict, shown = self._verdict(i, function, from_start, any_time)
            verdicts.append(verdict)
            if shown is not None:
                lost[i] = shown
        starts = {}
        for motor in self.healthy.motors:
            never = any_time.covers and not self._can_start(motor, any_time)
            begun = None if never else self._starts(motor, from_start) or self._starts(motor, any_time)
            if begun is not None:
                starts[motor] = begun
        return Effect((fault,), tuple(verdicts), lost, starts)

    def second_losses(self, i: int, effects: Iterable[Effect], counts: Callable[[Fault], bool]) -> Iterator[tuple[Fault, Shown]]:
        """The pairs of faults that lose a function: a first one that nothing shows, a second one at any moment after it.

        Of the faults that act alike the first that counts stands for all. Both faults are given as one, in their order.
        The second may be one that alone keeps the next start away, for it comes while all runs; but then one that closes
        something, for what only opens something stops.
        """
        changing = [e for e in effects if self.set.key(self.set.model(e.faults[0])) is not None and e.faults[0].kind != EXCLUDED]
        counted = [(fault, e) for e in changing if (fault := next(filter(counts, e.faults), None))]
        unfelt = [(fault, e) for fault, e in counted if e.verdicts[i] == NO_EFFECT]
        seconds = [f for f, e in counted if e.verdicts[i] == NO_EFFECT or (e.verdicts[i] == STOPS and f.closes)]
        for first in (fault for fault, e in unfelt if not e.starts):
            before = self.set.behaviour(self.set.model(first), from_start=True)
            for second in (fault for fault in seconds if fault is not first):
                both = first + second
                b = FaultedBehaviour(before, self.set.model(both, second), from_start=False)
                bad = lost_in(b, self.functions[i])
                depth = b.reach.depth(bad) if bad else None
                if depth is not None:
                    yield both, Shown(partial(as_it_is, b), b.from_start, depth, partial(to_reached, states=bad))

    def _verdict(
        self, i: int, function: Held, from_start: FaultedBehaviour, any_time: FaultedBehaviour
    ) -> tuple[str, Shown | None]:
        never = i in self._broken or (any_time.covers and not lost_in(any_time, function))
        for b in (from_start, any_time) if not never else ():
            bad = lost_in(b, function)
            depth = b.reach.depth(bad) if bad else None
            if depth is not None:
                unseen = b is from_start or _again(b, bad, going_on(b, function.must))
                return (UNSEEN if unseen else SEEN), self.shown(b, depth, partial(to_reached, states=bad))
        could, can = (going_on(b, function.must) & b.reached for b in (self.healthy, from_start))
        return (STOPS if could and not can else NO_EFFECT), None

    def _can_start(self, motor: str, b: FaultedBehaviour) -> bool:
        """Whether the fault, or an event that is no start, can begin motion at all."""
        moving = b.moving(motor)
        comes = minus(b.reach.start, self.healthy.moving(motor) | self.healthy.start_held)
        before = minus(b.reached, moving | b.start_held)
        rounds = self._surprises(motor, b.events)[1]
        return bool(b.reach.after_any(rounds, before) & moving or self._comes_to(b, comes) & moving)

    def _starts(self, motor: str, b: FaultedBehaviour) -> Shown | None:
        """A trace by which the fault, or an event that is no start, begins motion."""
        moving = b.moving(motor)
        come = self._come(motor, b, moving)
        if come is not None:
            return come
        before = minus(b.reached, moving | b.start_held)
        rules, rounds = self._surprises(motor, b.events)
        if not b.reach.after_any(rounds, before) & moving:
            return None
        begun = [(d, r) for r in rules if (d := b.reach.step_depth(r, before, moving)) is not None]
        depth, rule = min(reversed(begun), key=lambda pair: pair[0])
        return self.shown(b, depth + 1, partial(_by_event, rule=rule, before=before, moving=moving))

    @staticmethod
    def _comes_to(b: FaultedBehaviour, states: int) -> int:
        return minus(b.reach.settling.passing(states), b.model.restless)

    def _surprises(self, motor: str, events: tuple[EventRule, ...]) -> tuple[list[EventRule], Rounds]:
        """The events at which the motor must not begin to turn, also put together in rounds."""
        known = self._surprising.get(motor)
        if known is None or known[0] is not events:  # with most faults the events are the same ones
            rules = [r for r in events if self._is_surprise(r) and str(r.event) not in self._begins[motor]]
            known = self._surprising[motor] = (events, rules, rounds_of(rules))
        return known[1:]

    def shown(self, b: FaultedBehaviour, length: int, find: Callable[[FaultedBehaviour], FaultPath]) -> Shown:
        """A trace in a behaviour, worked out when it is asked for."""
        return Shown(b.again or partial(self._made, b.fault, b.from_start), b.from_start, length, find)

    def _made(self, fault: Fault, from_start: bool) -> FaultedBehaviour:
        return self.set.behaviour(self.set.model(fault), from_start)

    def _come(self, motor: str, b: FaultedBehaviour, moving: int) -> Shown | None:
        """The fault's own coming begins motion."""
        if b.from_start:
            return None
        kept = self.healthy.moving(motor) | self.healthy.start_held
        if not self._comes_to(b, minus(b.reach.start, kept)) & moving:
            return None
        for depth, seed in enumerate(b.reach.seeds):
            rests = self._comes_to(b, minus(seed, kept)) & moving
            if rests:
                return self.shown(b, depth, partial(_by_coming, origins=minus(seed, kept), rests=rests, depth=depth))
        return None

    def _is_surprise(self, rule: EventRule) -> bool:
        """Whether an event that begins motion is a surprise.

        With a fault, motion after a direction switch or a delay's end still counts as begun by the start before it; and who puts
        a fuse back has a fault in hand already.
        """
        b = self.healthy
        return (
            not b.is_start(rule.event)
            and rule.event.position != "elapsed"
            and b.plan.devices[rule.event.device].kind not in CHOOSERS | PROTECTIVE
        )


def as_it_is(b: FaultedBehaviour) -> FaultedBehaviour:
    """The behaviour of a trace that is shown as it stands, with no other one to be made for it."""
    return b


def to_reached(b: FaultedBehaviour, states: int) -> FaultPath:
    """The shortest trace into any of `states`."""
    path = b.reach.trace(states)
    assert path is not None
    return b.fault_trace(path)


def _by_event(b: FaultedBehaviour, rule: EventRule, before: int, moving: int) -> FaultPath:
    path = b.reach.step_trace(rule, before, moving)
    assert path is not None
    return b.fault_trace(path)


def _by_coming(b: FaultedBehaviour, origins: int, rests: int, depth: int) -> FaultPath:
    first = lowest(rests)
    origin = b.reach.leading(b.space.only(first)) & origins
    return FaultPath(b.healthy.reach.walk(lowest(origin), depth), [(None, first)])


def lost_in(b: Behaviour, function: Held) -> int:
    """The reached states in which the cause is held and what it must stop goes on."""
    held = b.reached & b.at(function.cause.event.device, function.cause.event.position)
    bad = held & going_on(b, function.must)
    return bad & ~about_to_stop(b, bad, going_on(b, function.must)) if bad else 0


def _again(b: Behaviour, bad: int, on: int) -> bool:
    """Whether after the loss, once everything has stopped, the function can be lost in the same way again."""
    stopped = _onward(b, bad) & ~on
    return bool(_onward(b, stopped) & bad)


def _onward(b: Behaviour, states: int) -> int:
    seen = front = states
    while front:
        front = minus(b.reach.after_any(b.model.rounds, front), seen)
        seen |= front
    return seen


def worst_first(effects: Iterable[Effect]) -> list[Effect]:
    """Effects with the worst verdict first, else in their order."""
    return sorted(effects, key=lambda e: -e.worst)
