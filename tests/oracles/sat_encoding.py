"""Bounded reach as a question to a SAT solver: can these devices be in these positions after at most so many events?

A second oracle, built unlike the first: no state is ever looked at by itself. A run is a row of frames. In each frame what is
joined is encoded as paths of growing length to and from every pole; between two frames either one thing moves that wants to, or
an event happens where nothing wants to move, or all stays. A thing that moves is a relay, or a drive that perceives one signal at
its terminals, and drives come first. Equal formulas have one variable, so that what hand-operated devices alone join is encoded
once for an event. After each event, and after the moment that a selector passes, there are `settling` frames: for relays alone
as many as a settling without a repeated state can take. Where there are drives the number is given: the plain engine says how
many moves its longest settling needs, and one is added. Only that number is taken from it.

Scope: plans of mains, d.c. supplies and transformers, hand-operated devices, fuses and breakers, relays and contactors without
change-over, delay or interlock, safety relays, diodes, lamps, loads and motors without a sensor; and drives, two-wire and
three-wire, with all their inputs, safe torque off, own supply, keypad and trips, but without output relays or a wired sensor. No
state may short a source. Positions, poles and their voltages, and what a drive's parameters say, are read from the plan by the
same helpers as the plain engine's; what a drive does with them is written here anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations, permutations

from pysat.solvers import Cadical153

from tests.oracles.plain_coils import LOADS, consumers_of
from tests.oracles.plain_drive import BITS, STOPPING, Drive
from tests.oracles.plain_network import Node, UnionFind, always_joined
from tests.oracles.plain_sources import Pole, Rating, Source, quantity_of, sources_of, value_of
from wirecheck.plan.model import Contact, Device, Plan

HANDS = (
    "push-button",
    "foot-switch",
    "limit-switch",
    "selector",
    "key-switch",
    "emergency-stop",
    "guard-switch",
    "thermal-switch",
    "isolator",
    "circuit-breaker",
    "fuse",
    "residual-current-device",
    "overload-relay",
)
COILS = ("relay", "contactor", "safety-relay")
STILL = ("mains", "dc-supply", "transformer", "earth-bar", "terminal-block", "frame", "motor", "diode", "potentiometer", *LOADS)

Frame = dict[object, int]


@dataclass(frozen=True)
class Move:
    """Something that can happen to a frame: when, and what the next one has instead."""

    when: int
    after: Mapping[object, int]


def in_scope(plan: Plan) -> bool:
    """Whether a plan has only what this encoding knows."""
    for device in plan.devices.values():
        if device.kind in COILS:
            odd = any(c.changeover for c in device.contacts) or "mechanical_interlock" in device.values
        elif device.kind == "drive":
            odd = bool(device.contacts) or Drive(plan, device).sensor_wired
        else:
            odd = device.kind not in (*HANDS, *STILL) or (device.kind == "motor" and len(device.positions) > 1)
        if odd or any(c.on_delay_s is not None or c.off_delay_s is not None for c in device.contacts):
            return False
    return True


def _passing(device: Device, contact: Contact, old: str, new: str) -> bool:
    """Whether a contact is closed in the moment between two positions."""
    if device.values.get("make_before_break") is True:
        return bool(contact.closed_in & {old, new})
    if device.kind in ("selector", "key-switch") or not any(c.early_break for c in device.contacts):
        return False
    return not contact.early_break and bool(contact.closed_in & {"on"})


def _passes(device: Device) -> bool:
    return device.kind in ("selector", "key-switch") or any(c.changeover or c.early_break for c in device.contacts)


class BoundedReach:
    """All runs of a plan of at most `events` events."""

    def __init__(self, plan: Plan, events: int, settling: int | None = None) -> None:
        self.plan = plan
        self._solver = Cadical153()
        self._last = 0
        self._known: dict[frozenset[int], int] = {}
        self._paths: dict[object, dict[Node, int]] = {}
        self._classes = UnionFind({})
        for a, b in always_joined(plan):
            self._classes.join(a, b)
        self._true = self._all([])
        self._sources = sources_of(plan)
        self._drives = {d.name: Drive(plan, d) for d in plan.devices.values() if d.kind == "drive"}
        self._coils = [d for d in plan.devices.values() if d.kind in COILS]
        self._hands = [d for d in plan.devices.values() if d.positions and d.kind != "drive"]
        self._memory: list[object] = [
            (d.name, bit) for d in self._coils if d.kind == "safety-relay" for bit in ("ready", "armed")
        ]
        self._memory += [(name, bit) for name in self._drives for bit in (*BITS, "healthy")]
        self._consumers = consumers_of(plan)
        self._edges = [c for d in plan.devices.values() for c in d.contacts if self._node(c, c.a) != self._node(c, c.b)]
        self._diodes = [d.name for d in plan.devices.values() if d.kind == "diode"]
        frames = 2 ** len(self._coils) - 1 if settling is None else settling
        self._ends = [self._first(frames)]
        for _ in range(events):
            self._ends.append(self._event(self._ends[-1], frames))

    def shortest(self, target: Mapping[str, str]) -> int | None:
        """The least number of events to a rest with these positions and relays, None where the bound is not enough."""
        for count, frame in enumerate(self._ends):
            wanted = [self._is(frame, name, value) for name, value in target.items()]
            if self._solver.solve(assumptions=[frame["rest"], *wanted]):
                return count
        return None

    # Variables and clauses

    def _new(self) -> int:
        self._last += 1
        return self._last

    def _add(self, *literals: int) -> None:
        self._solver.add_clause(list(literals))

    def _any(self, literals: Iterable[int]) -> int:
        """A variable that is true where one of the literals is; the same one for the same literals."""
        literals = frozenset(literals)
        if len(literals) == 1:
            return next(iter(literals))
        if literals not in self._known:
            self._known[literals] = here = self._new()
            self._add(-here, *literals)
            for literal in literals:
                self._add(here, -literal)
        return self._known[literals]

    def _all(self, literals: Iterable[int]) -> int:
        return -self._any(-literal for literal in literals)

    def _differ(self, a: int, b: int) -> int:
        return self._any([self._all([a, -b]), self._all([-a, b])])

    def _said(self, value: bool) -> int:
        return self._true if value else -self._true

    def _exactly_one(self, literals: list[int]) -> None:
        self._add(*literals)
        for a, b in combinations(literals, 2):
            self._add(-a, -b)

    def _is(self, frame: Frame, name: str, value: str) -> int:
        device, _, bit = name.partition(".")
        if bit:
            return frame[device, bit] if value == "1" else -frame[device, bit]
        if device in self._drives:
            return frame[device, "healthy"] if value == "healthy" else -frame[device, "healthy"]
        if self.plan.devices[name].kind in COILS:
            return frame[name] if value == "in" else -frame[name]
        return frame[name, value]

    def _node(self, contact: Contact, mark: str) -> Node:
        return self._classes.find((contact.device, mark))

    # One frame

    def _places(self, device: Device) -> list[str | tuple[str, str]]:
        """Positions, and where the device passes a moment the pairs it can be between."""
        return [*device.positions, *(permutations(device.positions, 2) if _passes(device) else ())]

    def _frame(self, hands: Frame | None = None) -> Frame:
        """A frame; with the hand-operated devices of another one, if one is given."""
        frame: Frame = {d.name: self._new() for d in self._coils} | {key: self._new() for key in self._memory}
        for device in self._hands:
            places = self._places(device)
            here: Frame = {(device.name, p): hands[device.name, p] if hands else self._new() for p in places}
            if not hands:
                self._exactly_one(list(here.values()))
            frame |= here
        return frame

    def _moves(self, frame: Frame) -> list[Move]:
        """What wants to move in a frame; it says of the frame whether it rests, what each drive is fed, and whether it runs."""
        edges = [(self._node(c, c.a), self._node(c, c.b), self._closed(frame, c)) for c in self._edges]
        edges += [(b, a, closed) for a, b, closed in edges]
        edges += [(self._classes.find((d, "A")), self._classes.find((d, "K")), self._true) for d in self._diodes]
        ways = Ways(self, edges)
        live: dict[str, int] = {}
        for name, drive in self._drives.items():
            frame[name, "runs"] = self._runs(frame, drive)
        order = ("mains", "transformer", "dc-supply")
        for source in sorted(self._sources, key=lambda s: order.index(s.what) if s.what in order else 3):
            if source.what in order:
                live[source.name] = self._live(frame, source, ways, live)
        for name in self._drives:
            frame[name, "fed"] = self._fed(self.plan.devices[name], ways, live)
        for source in self._sources:
            if source.what not in order:
                live[source.name] = frame[source.device, "runs" if source.what == "output" else "fed"]
        seen = [move for drive in self._drives.values() for move in self._perceptions(frame, drive, ways, live)]
        quiet = [-move.when for move in seen]
        coils = [self._coil_move(frame, coil, ways, live) for coil in self._coils]
        moves = seen + [Move(self._all([move.when, *quiet]), move.after) for move in coils]
        frame["rest"] = self._all(-move.when for move in moves)
        return moves

    def _coil_move(self, frame: Frame, coil: Device, ways: Ways, live: dict[str, int]) -> Move:
        consumer = self._consumers[coil.name]
        pulled = self._acts(ways, self._sources, live, consumer.ends, consumer.rating, (0.85, 1.30))
        if coil.kind == "safety-relay":
            return self._safety_move(frame, coil, ways, pulled)
        return Move(self._differ(pulled, frame[coil.name]), {coil.name: pulled})

    def _safety_move(self, frame: Frame, relay: Device, ways: Ways, supplied: int) -> Move:
        """In when both channels have closed since both were open, and its reset loop is closed, or has been and opens."""
        name, here = relay.name, frame[relay.name]
        ready, armed = frame[name, "ready"], frame[name, "armed"]
        monitored = relay.values.get("reset") == "monitored"
        closed = [ways.joined(name, pair) for pair in _pairs(relay.values.get("channels"))]
        loops = _pairs([relay.values["reset_loop"]]) if relay.values.get("reset_loop") else []
        loop = ways.joined(name, loops[0]) if loops else self._true
        good = self._all([supplied, *closed])
        comes = self._all([good, -here, ready, *([armed, -loop] if monitored else [loop])])
        opened = self._any([-supplied, -self._any(closed)])
        keeps = self._any([ready, self._all([-good, opened])])
        arms = self._all([good, ready, self._any([armed, loop]), -here, self._said(monitored)])
        after: dict[object, int] = {
            name: self._any([comes, self._all([good, here])]),
            (name, "ready"): self._all([keeps, -comes]),
            (name, "armed"): self._all([self._any([arms, self._all([good, here, armed])]), -comes]),
        }
        return Move(self._any(self._differ(frame[key], value) for key, value in after.items()), after)

    # Drives

    def _could(self, frame: Frame, name: str) -> int:
        """Fed, healthy, with torque and permit: only a command is missing."""
        return self._all(frame[name, bit] for bit in ("P", "healthy", "T", "M"))

    def _commanded(self, frame: Frame, name: str) -> int:
        return self._any(frame[name, bit] for bit in "FRJ")

    def _runs(self, frame: Frame, drive: Drive) -> int:
        """A drive runs by its keypad, by jog, by a run that is held in (three-wire), or by one that is there (two-wire)."""
        bit = {b: frame[drive.name, b] for b in BITS}
        run = bit["L"]
        if not drive.three_wire:
            run = self._any([bit["F"], bit["R"]])
            if drive.both == "stop":
                run = self._differ(bit["F"], bit["R"])
        commanded = self._all([-bit["K"], self._any([bit["J"], run])])
        return self._all([self._could(frame, drive.name), self._any([bit["Y"], commanded])])

    def _fed(self, device: Device, ways: Ways, live: dict[str, int]) -> int:
        """All input terminals at poles of one a.c. source, each pair with the voltage of the nameplate and 15 % either way."""
        stated = value_of(device, "input.terminals")
        marks = [str(m) for m in stated] if isinstance(stated, list | tuple) else []
        volts = quantity_of(device, "input.voltage")
        rating = Rating(*((volts.value, volts.high if volts.high is not None else volts.value) if volts else (None, None)))
        found = []
        for source in self._sources:
            if source.current != "AC" or source.name not in live:
                continue
            for poles in permutations(source.poles, len(marks)):
                if all(rating.fits(source, abs(p.volts - q.volts), 0.85, 1.15) for p, q in combinations(poles, 2)):
                    at = [ways.either(p, (device.name, m)) for p, m in zip(poles, marks, strict=True)]
                    found.append(self._all([live[source.name], *at]))
        return self._any(found)

    def _loop(self, drive: Drive, ways: Ways, live: dict[str, int], plus: Node, minus: Node, rating: Rating) -> int:
        """An input acts: from + through it to - of the drive's own supply, or of a live one of the right voltage."""
        found = []
        for source in self._sources:
            if source.current != "DC":
                continue
            own = source.device == drive.name and source.what == "supply"
            high, low = sorted(source.poles, key=lambda p: -p.volts.real)
            if own or rating.fits(source, abs(high.volts - low.volts), 0.85, 1.30):
                there = [ways.out_of(high, plus), ways.into(minus, low)]
                found.append(self._all([*there, self._true if own else live[source.name]]))
        return self._any(found)

    def _stands(self, drive: Drive, frame: Frame, ways: Ways, live: dict[str, int]) -> dict[str, int]:
        """What stands at a drive's terminals: its six signals, and whether they ask for a trip or a reset."""
        name, active = drive.name, {}
        for mark, _, _ in drive.inputs:
            ends = ((name, drive.plus), (name, mark)) if drive.sinking else ((name, mark), (name, drive.common))
            active[mark] = self._loop(drive, ways, live, *ends, drive.rating)

        def asked(meaning: str) -> int:
            return self._any(active[mark] for mark, does, _ in drive.inputs if does == meaning)

        def stopped(*meanings: str) -> int:
            inputs = [(active[mark], level) for mark, does, level in drive.inputs if does in meanings]
            return self._any(at if level == "closed" else -at for at, level in inputs)

        common = (name, drive.channel_common)
        torque = [self._loop(drive, ways, live, (name, c), common, Rating()) for c in drive.channels]
        obeys = self._said(drive.source != "keypad")
        return {
            "P": frame[name, "fed"],
            "T": self._all(torque),
            "M": -stopped(*STOPPING),
            "F": self._all([obeys, asked("run-forward")]),
            "R": self._all([obeys, asked("run-reverse")]),
            "J": self._all([obeys, asked("jog")]),
            "trip": stopped("external-trip"),
            "reset": asked("fault-reset"),
        }

    def _perceptions(self, frame: Frame, drive: Drive, ways: Ways, live: dict[str, int]) -> list[Move]:
        """Every single thing that a drive can notice, each by itself."""
        stands = self._stands(drive, frame, ways, live)
        bit = {b: frame[drive.name, b] for b in (*BITS, "healthy")}
        commanded, could = self._commanded(frame, drive.name), self._could(frame, drive.name)
        found = []
        for signal in "PTMFRJ":
            now = stands[signal]
            after = {signal: now}
            if signal in "PTM":  # what goes ends a run; what comes back lets a command that is there wait
                after |= {b: self._all([bit[b], now]) for b in "LY"}
                waits = self._all([now, commanded, self._said(drive.waits[signal] or drive.edge)])
                after["K"] = waits if signal == "P" else self._any([bit["K"], self._all([waits, bit["P"]])])
            if signal == "P":
                after["healthy"] = self._any([bit["healthy"], now])
            found.append((self._differ(bit[signal], now), after))
        found.append((self._all([stands["trip"], bit["P"], bit["healthy"]]), self._tripped(drive)))
        when = self._all([stands["reset"], bit["P"], -bit["healthy"], -stands["trip"]])
        found.append((when, self._reset(frame, drive)))
        found.append((self._all([bit["K"], -commanded]), {"K": -self._true}))
        both = self._all([bit["F"], bit["R"]])
        obeyed = self._all([could, -bit["K"], self._any([bit["F"], bit["R"]])])
        held = self._all([obeyed, -both if drive.both == "stop" else self._true, self._said(drive.three_wire)])
        turns = self._all([obeyed, -both, self._said(drive.chooses)])
        settles = {"L": self._any([bit["L"], held])}
        settles["D"] = self._any([self._all([turns, bit["R"]]), self._all([-turns, bit["D"]])])
        found.append((self._any(self._differ(bit[b], value) for b, value in settles.items()), settles))
        return [self._of_drive(drive, when, after) for when, after in found]

    @staticmethod
    def _of_drive(drive: Drive, when: int, after: Mapping[str, int]) -> Move:
        return Move(when, {(drive.name, bit): value for bit, value in after.items()})

    def _tripped(self, drive: Drive) -> dict[str, int]:
        """A drive that restarts itself after a trip has not forgotten that it ran."""
        forgets = {} if drive.restarts_itself else dict.fromkeys("LY", -self._true)
        return {"healthy": -self._true} | forgets

    def _reset(self, frame: Frame, drive: Drive) -> dict[str, int]:
        """After a reset a command that is there waits, unless it may start by itself."""
        waits = (drive.waits["reset"] or drive.edge) and not drive.restarts_itself
        lock = self._all([self._said(waits), self._commanded(frame, drive.name)])
        return {"healthy": self._true, "K": self._any([frame[drive.name, "K"], lock])}

    def _drive_events(self, frame: Frame, drive: Drive) -> list[Move]:
        """A fed drive trips; one that has tripped is reset; its keypad is pressed."""
        healthy, fed = frame[drive.name, "healthy"], frame[drive.name, "fed"]
        found = [(self._all([healthy, fed]), self._tripped(drive)), (-healthy, self._reset(frame, drive))]
        if drive.has_keypad:
            found += [(self._true, {"Y": self._could(frame, drive.name)}), (self._true, {"Y": -self._true})]
        return [self._of_drive(drive, when, after) for when, after in found]

    # What is closed and live

    def _closed(self, frame: Frame, contact: Contact) -> int:
        device = self.plan.devices[contact.device]
        if device.kind in COILS:
            return frame[device.name] if "in" in contact.closed_in else -frame[device.name]
        if device.kind == "overload-relay" and contact.pole:
            return self._any(frame[device.name, p] for p in device.positions)
        closed = [p for p in device.positions if p in contact.closed_in]
        between = [p for p in self._places(device) if isinstance(p, tuple) and _passing(device, contact, *p)]
        return self._any(frame[device.name, p] for p in [*closed, *between])

    def paths(self, start: Node, edges: list[tuple[Node, Node, int]]) -> dict[Node, int]:
        """For every node: whether a path leads to it, by paths of one more edge in each round."""
        nodes, grown = {start}, 0
        while len(nodes) > grown:
            grown = len(nodes)
            nodes |= {b for a, b, _ in edges if a in nodes}
        here = [(a, b, closed) for a, b, closed in edges if a in nodes]
        key = (start, tuple(here))
        if key not in self._paths:
            level = {start: self._true}
            for _ in range(len(nodes) - 1):
                more: dict[Node, list[int]] = {n: [literal] for n, literal in level.items()}
                for a, b, closed in here:
                    if a in level and b != start:
                        more.setdefault(b, []).append(closed if a == start else self._all([level[a], closed]))
                level = {n: self._any(literals) for n, literals in more.items()}
            self._paths[key] = level
        return self._paths[key]

    def node(self, node: Node) -> Node:
        """The class of a node by what is always joined."""
        return self._classes.find(node)

    def one_of(self, literals: Iterable[int]) -> int:
        """Whether one of the literals is true."""
        return self._any(literals)

    def never(self) -> int:
        """What is never true."""
        return -self._true

    def _live(self, frame: Frame, source: Source, ways: Ways, live: Mapping[str, int]) -> int:
        if source.what == "mains":
            return frame[source.device, "on"]
        device = self.plan.devices[source.device]
        marks = ("L", "N")
        rating, slack = Rating(), (0.0, 0.0)
        if source.what == "transformer":
            stated = device.values.get("primary")
            marks = tuple(map(str, stated)) if isinstance(stated, list | tuple) else ("1", "2")  # type: ignore[assignment]
            volts = quantity_of(device, "primary_voltage")
            rating, slack = Rating(*(volts.value, volts.value) if volts else (None, None)), (0.85, 1.15)
        mains = [s for s in self._sources if s.what == "mains"]
        return self._acts(ways, mains, live, ((device.name, marks[0]), (device.name, marks[1])), rating, slack)

    def _acts(
        self,
        ways: Ways,
        sources: list[Source],
        live: Mapping[str, int],
        ends: tuple[Node, ...],
        rating: Rating,
        slack: tuple[float, float],
    ) -> int:
        a, b = ends
        found = []
        for source in sources:
            for p, q in permutations(source.poles, 2):
                if rating.fits(source, abs(p.volts - q.volts), *slack):
                    turns = [(p, q)] if source.current == "AC" or p.volts.real > q.volts.real else []
                    for u, v in turns:
                        for x, y in ((a, b), (b, a)):
                            found.append(self._all([live[source.name], ways.out_of(u, x), ways.into(y, v)]))
        return self._any(found)

    # Rows of frames

    def _first(self, settling: int) -> Frame:
        frame = self._frame()
        for key in (*(d.name for d in self._coils), *self._memory):
            healthy = isinstance(key, tuple) and key[1] == "healthy"
            self._add(frame[key] if healthy else -frame[key])
        for device in self._hands:
            self._add(frame[device.name, device.positions[0]])
        return self._settled(frame, settling)

    def _settled(self, frame: Frame, settling: int) -> Frame:
        """So many frames on, in each of which something that wants to has moved, or nothing where none wanted."""
        for _ in range(settling):
            moves = self._moves(frame)
            after = self._frame(frame)
            self._next(frame, after, [*moves, Move(frame["rest"], {})])
            frame = after
        self._moves(frame)
        return frame

    def _next(self, frame: Frame, after: Frame, moves: list[Move]) -> None:
        """One of the moves leads from a frame to the one after it, and nothing else changes."""
        chosen = []
        for move in moves:
            choice = self._new()
            self._add(-choice, move.when)
            for key in after:
                value = move.after.get(key, frame[key])
                if value != after[key]:
                    self._add(-choice, -value, after[key])
                    self._add(-choice, value, -after[key])
            chosen.append(choice)
        self._add(*chosen)

    def _event(self, frame: Frame, settling: int) -> Frame:
        """One event, or none; then a second half for whatever is between two positions."""
        rest = frame["rest"]
        events = [Move(self._true, {})]
        for device in self._hands:
            for old, new in permutations(device.positions, 2):
                events.append(self._step(frame, device, old, (old, new) if _passes(device) else new))
        for drive in self._drives.values():
            events += self._drive_events(frame, drive)
        after = self._frame()
        self._next(frame, after, [Move(self._all([rest, move.when]), move.after) for move in events])
        between = [(d, place) for d in self._hands for place in self._places(d) if isinstance(place, tuple)]
        if not between:
            return self._settled(after, settling)
        middle = self._settled(after, settling)
        onward = [self._step(middle, device, place, place[1]) for device, place in between]
        stay = Move(self._all(-move.when for move in onward), {})
        end = self._frame()
        self._next(middle, end, [Move(self._all([middle["rest"], move.when]), move.after) for move in [*onward, stay]])
        return self._settled(end, settling)

    def _step(self, frame: Frame, device: Device, old: object, new: object) -> Move:
        """A device goes from one place to another."""
        places = self._places(device)
        return Move(frame[device.name, old], {(device.name, p): self._said(p == new) for p in places})


class Ways:
    """Which paths there are in one frame, from the poles and to them."""

    def __init__(self, reach: BoundedReach, edges: list[tuple[Node, Node, int]]) -> None:
        self._reach, self._edges = reach, edges
        self._back = [(b, a, closed) for a, b, closed in edges]
        self._found: dict[tuple[Node, bool], dict[Node, int]] = {}

    def _paths(self, start: Node, back: bool, end: Node) -> int:
        start, end = self._reach.node(start), self._reach.node(end)
        if (start, back) not in self._found:
            self._found[start, back] = self._reach.paths(start, sorted(self._back if back else self._edges))
        return self._found[start, back].get(end, self._reach.never())

    def out_of(self, pole: Pole, node: Node) -> int:
        """Whether current can go from a pole to a node."""
        return self._paths(pole.node, False, node)

    def into(self, node: Node, pole: Pole) -> int:
        """Whether current can go from a node to a pole."""
        return self._paths(pole.node, True, node)

    def either(self, pole: Pole, node: Node) -> int:
        """Whether a pole and a node are joined in one direction at least."""
        return self._reach.one_of([self.out_of(pole, node), self.into(node, pole)])

    def joined(self, device: str, marks: tuple[str, str]) -> int:
        """Whether two terminals of a device are joined in one direction at least."""
        a, b = ((device, m) for m in marks)
        return self._reach.one_of([self._paths(a, False, b), self._paths(a, True, b)])


def _pairs(stated: object) -> list[tuple[str, str]]:
    return [(str(a), str(b)) for a, b in stated] if isinstance(stated, list | tuple) else []
