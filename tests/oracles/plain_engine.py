"""A plain engine: what a plan does, one state at a time.

Written for being seen to be right, not for speed, and from the description of the behaviour alone, so that it can be held against
the program's engine. Every state is looked at by itself: what is joined, what is live, which devices want to move; every order
of moves is followed.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from tests.oracles.plain_coils import CoilDevice, Consumer, consumers_of
from tests.oracles.plain_contacts import Closing, Delay, Moment, delays_of, moments, rest_word
from tests.oracles.plain_drive import BITS, Bits, Drive, Raw
from tests.oracles.plain_network import Joints, Node, Protection, UnionFind, always_joined
from tests.oracles.plain_sources import Source, acts, fed, shorts, sources_of, supplied
from tests.oracles.plain_windings import halves, turning
from wirecheck.plan.model import Contact, Device, Event, Plan

_OTHER_WAY = {"forward": "reverse", "reverse": "forward"}
JOINING = ("thermistor", "motor", "sensor", "plug-connector")
"""What can join terminals without being a contact."""

PROTECTION = {"fuse": "blown", "circuit-breaker": "tripped"}


class State(NamedTuple):
    """Positions and memory bits, in the order of the engine's `names`, and the passing moment if it is one."""

    values: tuple[str, ...]
    moment: Moment = ()


@dataclass(frozen=True)
class Outcome:
    """Where an event can come to rest, and every state passed on the way.

    `oscillates`: some state passed comes to no rest, whatever the order. `races`: different orders come to different rests, at
    the end or in a moment that passes.
    """

    rests: frozenset[State]
    passed: frozenset[State]
    oscillates: bool
    races: bool


class Power:
    """What is live, and what follows from it, where so much is joined, and these drives run.

    `switched` has the positions of the mains and which sources are dead.
    """

    def __init__(self, engine: PlainEngine, joints: Joints, switched: Mapping[str, str], running: Mapping[str, bool]) -> None:
        self.engine, self.joints, self._switched, self._running = engine, joints, switched, running
        self.live: list[Source] = []
        self.fed = dict.fromkeys(engine.drives, False)
        self._feed()

    def _feed(self) -> None:
        """Which sources are live and which drives fed: from mains onwards until nothing more comes alive."""
        plan = self.engine.plan
        while True:
            self.fed = {n: fed(self.joints, self.live, plan.devices[n]) for n in self.engine.drives}
            alive = (s for s in self.engine.sources if s not in self.live and self._switched[f"{s.name}.dead"] == "0")
            more = [s for s in alive if self._gives(s)]
            if not more:
                return
            self.live += more

    def _gives(self, source: Source) -> bool:
        return self._running[source.device] if source.what == "output" else self.has_supply(source)

    def has_supply(self, source: Source) -> bool:
        """Whether what a source lives from is there."""
        if source.what == "mains":
            return self._switched[source.device] == "on"
        return supplied(self.engine.plan, self.joints, self.live, source, self.fed.__getitem__)

    @cached_property
    def raw(self) -> dict[str, Raw]:
        """What stands at each drive's terminals."""
        return {n: d.raw(self.joints, self.live, self.engine.sources, self.fed[n]) for n, d in self.engine.drives.items()}

    @cached_property
    def energised(self) -> set[str]:
        """Devices whose coil, lamp or load acts."""
        return {c.device for c in self.engine.consumers.values() if self._acts(c)}

    def _acts(self, consumer: Consumer) -> bool:
        ends = consumer.ends
        pairs = [(a, b) for i, a in enumerate(ends) for b in ends[i + 1 :]]
        apart = all(self.joints.of(a) != self.joints.of(b) for a, b in pairs)  # joined ends have no voltage across them
        return bool(pairs) and apart and all(acts(self.joints, self.live, a, b, consumer.rating) for a, b in pairs)

    @cached_property
    def shorts(self) -> list[tuple[Source, set[str]]]:
        """Live sources with joined poles, and the fuses and breakers on the way."""
        return [(s, self.joints.protections_between(a, b)) for s in self.live for a, b in shorts(self.joints, s)]


class Look:
    """What a state says by itself, whatever is wired to what: values, which drives run, and what is closed in it."""

    def __init__(self, engine: PlainEngine, state: State) -> None:
        self.at: Mapping[str, str] = dict(zip(engine.names, state.values, strict=True))
        self.bits = {n: {b: self.at[f"{n}.{b}"] == "1" for b in BITS} for n in engine.drives}
        self.running = {n: d.running(self.bits[n], self.at[n] == "healthy") for n, d in engine.drives.items()}
        moment = dict(state.moment)
        self.closed = [c for c in engine.closing.contacts if engine.closing.closed(c, self.at, moment, self.running)]
        self.pairs = tuple(engine.other_pairs(self.at, moment))


class Now:
    """One state, with all that follows from it."""

    def __init__(self, engine: PlainEngine, state: State) -> None:
        self.engine, self.state = engine, state
        self.look = engine.look(state)
        self.at, self.running = self.look.at, self.look.running
        self.power: Power = engine.power(self)
        self.joints, self.live, self.fed = self.power.joints, self.power.live, self.power.fed
        self.has_supply = self.power.has_supply

    def bits(self, drive: str) -> Bits:
        """What a drive has perceived."""
        return dict(self.look.bits[drive])

    @property
    def raw(self) -> dict[str, Raw]:
        """What stands at each drive's terminals."""
        return self.power.raw

    @property
    def energised(self) -> set[str]:
        """Devices whose coil, lamp or load acts."""
        return self.power.energised

    @property
    def shorts(self) -> list[tuple[Source, set[str]]]:
        """Live sources with joined poles, and the fuses and breakers on the way."""
        return self.power.shorts

    def motion(self) -> dict[str, str]:
        """How every motor turns."""
        motors = [d for d in self.engine.plan.devices.values() if d.kind == "motor"]
        return {m.name: self._turning(m) or "stopped" for m in motors}

    def _turning(self, motor: Device) -> str | None:
        windings = str(motor.values["windings"]) if "windings" in motor.values else None
        marks = sorted({e for pair in halves(windings) for e in pair if not e.startswith("star")})
        ends = {m: self.joints.of((motor.name, m)) for m in marks}
        for source in self.live:
            if source.current == "AC":
                turned = turning(windings, ends, self._potentials(source, set(ends.values())))
                if turned:
                    return _OTHER_WAY[turned] if source.what == "output" and self._reversed(source.device) else turned
        return None

    def _potentials(self, source: Source, points: set[Node]) -> dict[object, complex]:
        found: dict[object, complex] = {}
        for pole in source.poles:
            for point in points:
                if self.joints.joined(pole.node, point):
                    found.setdefault(point, pole.volts)
        return found

    def _reversed(self, drive: str) -> bool:
        return self.engine.drives[drive].reverse(self.bits(drive), self.raw[drive].turned)


class PlainEngine:
    """The behaviour of one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.sources = sources_of(plan)
        self.drives = {d.name: Drive(plan, d) for d in plan.devices.values() if d.kind == "drive"}
        self.consumers = consumers_of(plan)
        self.coils = {n: CoilDevice(plan, plan.devices[n]) for n, c in self.consumers.items() if c.coil}
        self.delays = delays_of(plan)
        self.closing = Closing(plan, self.delays)
        self.names = self._names()
        self._places = {name: place for place, name in enumerate(self.names)}
        self._always = self._always_joined()
        self._joining = [d for d in plan.devices.values() if d.kind in JOINING]
        self._switched = [*(s.device for s in self.sources if s.what == "mains"), *(f"{s.name}.dead" for s in self.sources)]
        self._looks: dict[State, Look] = {}
        self._passing: dict[tuple[str, str, str], list[Moment]] = {}
        self._joints: dict[object, Joints] = {}
        self._powers: dict[object, Power] = {}
        self._nows: dict[State, Now] = {}
        self._nexts: dict[State, list[State]] = {}
        self._settled: dict[State, Outcome] = {}
        self.rest = self._first_rest()

    # The state

    def _names(self) -> list[str]:
        names = [d.name for d in self.plan.devices.values() if d.positions or d.name in self.coils]
        names += [bit for coil in self.coils.values() for bit in coil.memory()]
        names += [f"{s.name}.dead" for s in self.sources]
        names += [d.name for d in self.delays]
        return names + [f"{drive}.{bit}" for drive in self.drives for bit in BITS]

    def _unsettled(self) -> State:
        """The state with the supply off, before anything has moved."""
        first = {d.name: d.positions[0] for d in self.plan.devices.values() if d.positions}
        first |= {n: "out" for n, c in self.coils.items() if c.kind != "no-volt-release"}
        first |= {d.name: rest_word(self.plan.devices[d.device]) for d in self.delays}
        return State(tuple(first.get(n, "0") for n in self.names))

    def _first_rest(self) -> State:
        rests = self.settle([self._unsettled()]).rests
        if len(rests) != 1:
            raise ValueError("the plan does not come to one rest with the supply off")
        return next(iter(rests))

    def change(self, state: State, changes: Mapping[str, str], moment: Moment = ()) -> State:
        """The state after some values change; late contacts that follow at once follow."""
        if not self.delays:
            values = list(state.values)
            for name, value in changes.items():
                values[self._places[name]] = value
            return State(tuple(values), moment)
        at = dict(zip(self.names, state.values, strict=True)) | dict(changes)
        running = {n: d.running({b: at[f"{n}.{b}"] == "1" for b in BITS}, at[n] == "healthy") for n, d in self.drives.items()}
        for delay in self.delays:
            actual = self._delay_word(delay, at, running)
            if delay.pending_s(actual, at[delay.name]) is None:
                at[delay.name] = actual
        return State(tuple(at[n] for n in self.names), moment)

    def _delay_word(self, delay: Delay, at: Mapping[str, str], running: Mapping[str, bool]) -> str:
        """What late contacts follow."""
        if delay.contacts:
            return self.closing.word(self.closing.by_name[delay.contacts[0]], at, running)
        return self.closing.device_word(self.plan.devices[delay.device], at)

    def view(self, state: State) -> frozenset[tuple[str, str]]:
        """A state as pairs of name and value, for comparing with another engine's."""
        return frozenset(zip(self.names, state.values, strict=True))

    # What follows from a state

    def now(self, state: State) -> Now:
        """A state with all that follows from it."""
        if state not in self._nows:
            self._nows[state] = Now(self, state)
        return self._nows[state]

    def motion(self, state: State) -> dict[str, str]:
        """How every motor turns: stopped, forward or reverse."""
        return self.now(state).motion()

    def energised(self, state: State) -> set[str]:
        """Coils, lamps and loads that act."""
        return self.now(state).energised

    def live(self, state: State) -> set[str]:
        """Sources that are live."""
        return {s.name for s in self.now(state).live}

    def shorted(self, state: State) -> set[str]:
        """Live sources whose poles are joined."""
        return {s.name for s, _ in self.now(state).shorts}

    def edges(self, state: State) -> tuple[list[tuple[Node, Node]], list[tuple[Node, Node]]]:
        """What can open or close, as pairs of terminals: closed in a state, and open in it."""
        at, moment, running = self.now(state).at, dict(state.moment), self.now(state).running
        closed: list[tuple[Node, Node]] = list(self.other_pairs(at, moment))
        opened: list[tuple[Node, Node]] = []
        for contact in self.closing.contacts:
            pair = ((contact.device, contact.a), (contact.device, contact.b))
            (closed if self.closing.closed(contact, at, moment, running) else opened).append(pair)
        return closed, opened

    def _always_joined(self) -> dict[Node, Node]:
        classes = UnionFind({})
        for a, b in always_joined(self.plan):
            classes.join(a, b)
        return classes.parent

    def always_class(self, node: Node) -> Node:
        """The class of a node by what is joined in every state."""
        return UnionFind(self._always).find(node)

    def power(self, now: Now) -> Power:
        """What is live and what follows from it; remembered by all that it depends on."""
        joints = self.joints(now)
        switched = {name: now.at[name] for name in self._switched}
        key = (id(joints), *switched.values(), *now.running.values())
        if key not in self._powers:
            self._powers[key] = self._power(joints, switched, now.running)
        return self._powers[key]

    def _power(self, joints: Joints, switched: Mapping[str, str], running: Mapping[str, bool]) -> Power:
        return Power(self, joints, switched, running)

    def look(self, state: State) -> Look:
        """What a state says by itself."""
        if state not in self._looks:
            self._looks[state] = Look(self, state)
        return self._looks[state]

    def closed(self, now: Now) -> list[Contact]:
        """The contacts that are closed in a state."""
        return now.look.closed

    def joints(self, now: Now) -> Joints:
        """What is joined in a state; remembered by what is closed."""
        closed, pairs = self.closed(now), now.look.pairs
        key = (tuple(map(id, closed)), pairs)
        if key not in self._joints:
            safe = [c for c in closed if self.plan.devices[c.device].kind not in PROTECTION]
            guards = [Protection(c.device, (c.device, c.a), (c.device, c.b)) for c in closed if c not in safe]
            diodes = [((d.name, "A"), (d.name, "K")) for d in self.plan.devices.values() if d.kind == "diode"]
            plain = [((c.device, c.a), (c.device, c.b)) for c in safe]
            self._joints[key] = Joints(self._always, plain + list(pairs), guards, diodes)
        return self._joints[key]

    def other_pairs(self, at: Mapping[str, str], moment: Mapping[str, bool]) -> list[tuple[Node, Node]]:
        """What joins without being a contact: cold thermistors, sensor outputs, dummy plugs."""
        found = []
        for d in self._joining:
            if d.kind == "thermistor" and at[d.name] == "cold":
                found.append(("1", "2", d.name))
            elif d.kind == "motor" and d.positions and at[d.name] == "cold":
                found.append(("TP1", "TP2", d.name))
            elif d.kind == "sensor" and (at[d.name] == "active") == (d.values.get("form") != "NC"):
                plus, minus, out = _sensor_marks(d)
                found.append((minus if d.values.get("output") == "NPN" else plus, out, d.name))
            elif d.kind == "plug-connector" and at[d.name] == "parted" and moment.get(f"{d.name} dummy", True):
                found += [(a, b, d.name) for link in _dummy_links(d) for a, b in pairwise(link)]
        return [((name, a), (name, b)) for a, b, name in found]

    # Moves

    def moves(self, state: State) -> list[State]:
        """All states that one move leads to; empty where the state rests. Drives perceive before anything else moves."""
        if state not in self._nexts:
            now = self.now(state)
            self._nexts[state] = self._perceptions(now) or self._coil_moves(now) + self._source_moves(now)
        return self._nexts[state]

    def looked_at(self) -> Iterable[State]:
        """Every state whose moves were asked for so far, those that only pass among them."""
        return self._nexts.keys()

    def _perceptions(self, now: Now) -> list[State]:
        found = []
        for name, drive in self.drives.items():
            for bits, healthy in drive.perceptions(now.bits(name), now.at[name] == "healthy", now.raw[name]):
                found.append(self.change(now.state, drive_changes(name, bits, healthy), now.state.moment))
        return [s for s in found if s != now.state]

    def pulls(self, now: Now, coil: str) -> bool:
        """Whether a coil is energised."""
        return coil in now.energised

    def _coil_moves(self, now: Now) -> list[State]:
        wanted = [c.wants(now.at, self.pulls(now, n), now.joints.joined) for n, c in self.coils.items()]
        return [self.change(now.state, changes, now.state.moment) for changes in wanted if changes]

    def _source_moves(self, now: Now) -> list[State]:
        """Fuses that blow, sources that die of a short, and dead ones that have lost their supply and are as new."""
        wanted = [{s.name + ".dead": "0"} for s in self.sources if now.at[s.name + ".dead"] == "1" and not now.has_supply(s)]
        for source, guards in now.shorts:
            if source.what == "output":  # a drive protects its own output
                bits, healthy = self.drives[source.device].fault(now.bits(source.device))
                wanted.append(drive_changes(source.device, bits, healthy))
                continue
            wanted += [{g: PROTECTION[self.plan.devices[g].kind]} for g in sorted(guards)] or [{source.name + ".dead": "1"}]
        return [self.change(now.state, changes, now.state.moment) for changes in wanted]

    def settle(self, starts: Iterable[State]) -> Outcome:
        """All that the starts can come to by themselves."""
        found = [self._settle(start) for start in starts]
        if len(found) == 1:
            return found[0]
        rests = frozenset(s for one in found for s in one.rests)
        passed = frozenset(s for one in found for s in one.passed)
        return Outcome(rests, passed, any(one.oscillates for one in found), any(one.races for one in found))

    def _settle(self, start: State) -> Outcome:
        """All that one start can come to; remembered, for many events lead to one start."""
        if start not in self._settled:
            self._settled[start] = self._followed(start)
        return self._settled[start]

    def _followed(self, start: State) -> Outcome:
        seen, todo = {start}, [start]
        before: dict[State, list[State]] = {}
        while todo:
            here = todo.pop()
            for there in self.moves(here):
                before.setdefault(there, []).append(here)
                if there not in seen:
                    seen.add(there)
                    todo.append(there)
        rests = {s for s in seen if not self.moves(s)}
        oscillates = bool(seen - _leading_to(rests, before))
        return Outcome(frozenset(rests), frozenset(seen), oscillates, races=len(rests) > 1)

    def longest_settling(self) -> int:
        """The most moves that any rest is away from the start of a settling, of all that were followed so far."""
        return max(self._moves_to_rest(start) for start in self._settled)

    def _moves_to_rest(self, start: State) -> int:
        away, todo = {start: 0}, deque([start])
        while todo:
            here = todo.popleft()
            for there in self.moves(here):
                if there not in away:
                    away[there] = away[here] + 1
                    todo.append(there)
        return max((moves for state, moves in away.items() if not self.moves(state)), default=0)

    # Events

    def events(self, state: State) -> list[Event]:
        """What can happen next."""
        at = dict(zip(self.names, state.values, strict=True))
        found = []
        for d in self.plan.devices.values():
            found += [Event(d.name, p) for p in d.positions if p != at[d.name] and self._can(d, p, state)]
            if self._pending(d.name, state):
                found.append(Event(d.name, "elapsed"))
            if d.kind == "thermistor-relay" and d.values.get("reset") == "manual":
                found.append(Event(d.name, "reset"))
            if d.name in self.drives and self.drives[d.name].has_keypad:
                found += [Event(d.name, "keypad-run"), Event(d.name, "keypad-stop")]
        return found

    def _can(self, device: Device, position: str, state: State) -> bool:
        return not (device.kind == "drive" and position == "faulted") or self.now(state).fed[device.name]

    def _pending(self, name: str, state: State) -> list[tuple[float, str, str]]:
        """Late contacts of a device that have not caught up: time, bit, and what they will follow."""
        now = self.now(state)
        found = []
        for delay in self.delays:
            if delay.device == name:
                actual = self._delay_word(delay, now.at, now.running)
                seconds = delay.pending_s(actual, now.at[delay.name])
                if seconds is not None:
                    found.append((seconds, delay.name, actual))
        return sorted(found)

    def step(self, state: State, event: Event) -> Outcome:
        """All that an event can lead to from a state at rest."""
        changes, passing = self._effects(state, event)
        starts, stages = [state], []
        for moment in passing:
            stages.append(self.settle([State(s.values, moment) for s in starts]))
            starts = sorted(stages[-1].rests, key=lambda s: s.values)
        stages.append(self.settle([self.change(s, {**changes, **self._pressed(s, event)}) for s in starts]))
        passed = frozenset().union(*(stage.passed for stage in stages))
        return Outcome(stages[-1].rests, passed, any(s.oscillates for s in stages), any(s.races for s in stages))

    def _pressed(self, state: State, event: Event) -> Mapping[str, str]:
        """What the start of a no-volt release leaves behind, from the state in which it is down."""
        if event.position != "start" or self.plan.devices[event.device].kind != "no-volt-release":
            return {}
        return self.coils[event.device].pressed(self.pulls(self.now(state), event.device))

    def _effects(self, state: State, event: Event) -> tuple[Mapping[str, str], list[Moment]]:
        """The values an event changes, and the moments that pass first."""
        device, now = self.plan.devices[event.device], self.now(state)
        if event.position == "elapsed":
            pending = self._pending(device.name, state)
            ending = {bit: word for seconds, bit, word in pending if seconds == pending[0][0]}
            return ending, []
        if device.kind == "drive":
            return self._drive_effects(now, event), []
        if event.position == "reset" and device.kind == "thermistor-relay":
            return self.coils[device.name].reset(now.at, now.joints.joined), []
        return {device.name: event.position}, self._moments(device, now.at[device.name], event.position)

    def _moments(self, device: Device, old: str, new: str) -> list[Moment]:
        """What passes on the way from one position to another; remembered."""
        key = (device.name, old, new)
        if key not in self._passing:
            self._passing[key] = moments(device, old, new, self.closing)
        return self._passing[key]

    def _drive_effects(self, now: Now, event: Event) -> Mapping[str, str]:
        drive, bits = self.drives[event.device], now.bits(event.device)
        healthy = now.at[event.device] == "healthy"
        if event.position.startswith("keypad"):
            bits = drive.keypad(bits, healthy, run=event.position == "keypad-run")
        elif event.position == "healthy":
            bits, healthy = drive.heal(bits)
        else:
            bits, healthy = drive.fault(bits)
        return drive_changes(event.device, bits, healthy)

    def forget(self) -> None:
        """Forgets what was looked at: an engine and its states know each other, and would go only with the next round of Python's
        garbage collector."""
        for known in (self._nows, self._nexts, self._settled, self._powers, self._joints):
            known.clear()

    # Reach

    def reach(self, limit: int = 100_000) -> dict[State, int]:
        """Every state that can be at rest, with the least number of events to it."""
        depth, todo = {self.rest: 0}, deque([self.rest])
        while todo and len(depth) <= limit:
            here = todo.popleft()
            for event in self.events(here):
                for there in sorted(self.step(here, event).rests, key=lambda s: s.values):
                    if there not in depth:
                        depth[there] = depth[here] + 1
                        todo.append(there)
        return depth

    def after(self, states: Iterable[State], event: Event) -> set[State]:
        """Where an event leads from those of some states in which it can happen."""
        return {there for state in states if event in self.events(state) for there in self.step(state, event).rests}

    def as_shown(self, states: Iterable[State], motion: Mapping[str, str]) -> list[State]:
        """Those of some states in which the motors turn as a trace shows."""
        return [s for s in states if motion.items() <= self.motion(s).items()]

    def replay(self, events: Iterable[Event], motion: Sequence[Mapping[str, str]]) -> list[State]:
        """Where a trace ends whose motion at rest and after each event is as given; none where it cannot be."""
        here = self.as_shown([self.rest], motion[0])
        for event, shown in zip(events, motion[1:], strict=True):
            here = self.as_shown(self.after(here, event), shown)
        return here


def _leading_to(goals: set[State], before: Mapping[State, list[State]]) -> set[State]:
    """The states that have a way to one of the goals."""
    found, todo = set(goals), list(goals)
    while todo:
        for earlier in before.get(todo.pop(), []):
            if earlier not in found:
                found.add(earlier)
                todo.append(earlier)
    return found


def drive_changes(name: str, bits: Bits, healthy: bool) -> dict[str, str]:
    """What a drive has perceived, as values of the state."""
    changes = {f"{name}.{bit}": "1" if bits[bit] else "0" for bit in BITS}
    return changes | {name: "healthy" if healthy else "faulted"}


def _sensor_marks(device: Device) -> tuple[str, str, str]:
    stated = device.values.get("terminals")
    marks = [str(m) for m in stated] if isinstance(stated, list | tuple) and len(stated) == 3 else ["+", "-", "OUT"]
    return marks[0], marks[1], marks[2]


def _dummy_links(device: Device) -> list[list[str]]:
    dummy = device.values.get("dummy")
    links = dummy.get("links") if isinstance(dummy, Mapping) else None
    return [[str(m) for m in link] for link in links] if isinstance(links, list | tuple) else []
