"""Bounded reach as a question to a SAT solver: can these devices be in these positions after at most so many events?

A second oracle, built unlike the first: no state is ever looked at by itself. A run is a row of frames. In each frame what is
joined is encoded as paths of growing length from every pole; between two frames either one relay moves that wants to, or an event
happens where nothing wants to move, or all stays. After each event, and after the moment that a selector passes, there are as
many frames as a settling without a repeated state can take.

Scope: plans of mains, d.c. supplies and transformers, hand-operated devices, fuses and breakers, relays and contactors without
change-over, delay or interlock, lamps, loads and motors; no state may short a source. Positions, poles and their voltages are
read from the plan by the same helpers as the plain engine's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import combinations, permutations

from pysat.solvers import Cadical153

from tests.oracles.plain_coils import LOADS, consumers_of
from tests.oracles.plain_network import Node, UnionFind, always_joined
from tests.oracles.plain_sources import Rating, Source, quantity_of, sources_of
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
COILS = ("relay", "contactor")
STILL = ("mains", "dc-supply", "transformer", "earth-bar", "terminal-block", "frame", "motor", *LOADS)

Frame = dict[object, int]


def in_scope(plan: Plan) -> bool:
    """Whether a plan has only what this encoding knows."""
    for device in plan.devices.values():
        if device.kind in COILS:
            odd = any(c.changeover for c in device.contacts) or "mechanical_interlock" in device.values
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

    def __init__(self, plan: Plan, events: int) -> None:
        self.plan = plan
        self._solver = Cadical153()
        self._last = 0
        self._classes = UnionFind({})
        for a, b in always_joined(plan):
            self._classes.join(a, b)
        self._sources = sources_of(plan)
        self._coils = [d for d in plan.devices.values() if d.kind in COILS]
        self._hands = [d for d in plan.devices.values() if d.positions]
        self._consumers = consumers_of(plan)
        self._edges = [c for d in plan.devices.values() for c in d.contacts if self._node(c, c.a) != self._node(c, c.b)]
        settling = 2 ** len(self._coils) - 1
        self._ends = [self._first(settling)]
        for _ in range(events):
            self._ends.append(self._event(self._ends[-1], settling))

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
        """A variable that is true where one of the literals is."""
        literals = list(literals)
        here = self._new()
        self._add(-here, *literals)
        for literal in literals:
            self._add(here, -literal)
        return here

    def _all(self, literals: Iterable[int]) -> int:
        return -self._any(-literal for literal in literals)

    def _exactly_one(self, literals: list[int]) -> None:
        self._add(*literals)
        for a, b in combinations(literals, 2):
            self._add(-a, -b)

    def _is(self, frame: Frame, name: str, value: str) -> int:
        if self.plan.devices[name].kind in COILS:
            return frame[name] if value == "in" else -frame[name]
        return frame[name, value]

    def _node(self, contact: Contact, mark: str) -> Node:
        return self._classes.find((contact.device, mark))

    # One frame

    def _places(self, device: Device) -> list[str | tuple[str, str]]:
        """Positions, and where the device passes a moment the pairs it can be between."""
        return [*device.positions, *(permutations(device.positions, 2) if _passes(device) else ())]

    def _frame(self) -> Frame:
        frame: Frame = {d.name: self._new() for d in self._coils}
        for device in self._hands:
            here: Frame = {(device.name, place): self._new() for place in self._places(device)}
            self._exactly_one(list(here.values()))
            frame |= here
        joined = self._joined([(self._node(c, c.a), self._node(c, c.b), self._closed(frame, c)) for c in self._edges])
        live: dict[str, int] = {}
        for source in sorted(self._sources, key=lambda s: s.what != "mains"):
            live[source.name] = self._live(frame, source, joined, live)
        for coil in self._coils:
            a, b = self._consumers[coil.name].ends
            acts = self._acts(joined, self._sources, live, (a, b), self._consumers[coil.name].rating, (0.85, 1.30))
            frame["wants", coil.name] = wants = self._new()
            for x, y in ((acts, frame[coil.name]), (frame[coil.name], acts)):
                self._add(-wants, x, y)
                self._add(-wants, -x, -y)
                self._add(wants, -x, y)
        frame["rest"] = self._all(-frame["wants", c.name] for c in self._coils)
        return frame

    def _closed(self, frame: Frame, contact: Contact) -> int:
        device = self.plan.devices[contact.device]
        if device.kind in COILS:
            return frame[device.name] if "in" in contact.closed_in else -frame[device.name]
        if device.kind == "overload-relay" and contact.pole:
            return self._any(frame[device.name, p] for p in device.positions)
        closed = [p for p in device.positions if p in contact.closed_in]
        between = [p for p in self._places(device) if isinstance(p, tuple) and _passing(device, contact, *p)]
        return self._any(frame[device.name, p] for p in [*closed, *between])

    def _joined(self, edges: list[tuple[Node, Node, int]]) -> dict[tuple[Node, Node], int]:
        """For every pole and every node: whether a path joins them, by paths of one more edge in each round."""
        nodes = sorted({n for a, b, _ in edges for n in (a, b)})
        found: dict[tuple[Node, Node], int] = {}
        always = self._all([])
        for pole in {self._classes.find(p.node) for s in self._sources for p in s.poles}:
            level = {pole: always}
            for _ in nodes:
                level = {n: self._any(self._one_more(n, level, edges)) for n in {*level, *self._beside(level, edges)}}
            found |= {(pole, n): literal for n, literal in level.items()}
        return found

    @staticmethod
    def _beside(level: Mapping[Node, int], edges: list[tuple[Node, Node, int]]) -> set[Node]:
        return {n for a, b, _ in edges if a in level or b in level for n in (a, b)}

    def _one_more(self, node: Node, level: Mapping[Node, int], edges: list[tuple[Node, Node, int]]) -> list[int]:
        found = [level[node]] if node in level else []
        for a, b, closed in edges:
            other = b if a == node else a if b == node else None
            if other is not None and other in level:
                found.append(self._all([level[other], closed]))
        return found

    def _live(self, frame: Frame, source: Source, joined: Mapping[tuple[Node, Node], int], live: Mapping[str, int]) -> int:
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
        return self._acts(joined, mains, live, ((device.name, marks[0]), (device.name, marks[1])), rating, slack)

    def _acts(
        self,
        joined: Mapping[tuple[Node, Node], int],
        sources: list[Source],
        live: Mapping[str, int],
        ends: tuple[Node, Node],
        rating: Rating,
        slack: tuple[float, float],
    ) -> int:
        a, b = (self._classes.find(end) for end in ends)
        ways = []
        for source in sources:
            for p, q in permutations(source.poles, 2):
                at = (self._classes.find(p.node), a), (self._classes.find(q.node), b)
                if rating.fits(source, abs(p.volts - q.volts), *slack) and at[0] in joined and at[1] in joined:
                    ways.append(self._all([live[source.name], joined[at[0]], joined[at[1]]]))
        return self._any(ways)

    # Rows of frames

    def _first(self, settling: int) -> Frame:
        frame = self._frame()
        for coil in self._coils:
            self._add(-frame[coil.name])
        for device in self._hands:
            self._add(frame[device.name, device.positions[0]])
        return self._settled(frame, settling)

    def _settled(self, frame: Frame, settling: int) -> Frame:
        """So many frames on, in each of which a relay that wants to has moved, or nothing where none wanted."""
        for _ in range(settling):
            after = self._frame()
            moves = []
            for coil in self._coils:
                move = self._new()
                self._add(-move, frame["wants", coil.name])
                self._same(frame, after, move, but={coil.name})
                self._add(-move, frame[coil.name], after[coil.name])
                self._add(-move, -frame[coil.name], -after[coil.name])
                moves.append(move)
            self._exactly_one([*moves, self._stay(frame, after)])
            frame = after
        return frame

    def _stay(self, frame: Frame, after: Frame) -> int:
        stay = self._new()
        self._add(-stay, frame["rest"])
        self._same(frame, after, stay, but=set())
        return stay

    def _same(self, frame: Frame, after: Frame, when: int, but: set[str]) -> None:
        for key in frame:
            device = key[0] if isinstance(key, tuple) else key
            if device not in ("rest", "wants") and device not in but:
                self._add(-when, -frame[key], after[key])
                self._add(-when, frame[key], -after[key])

    def _event(self, frame: Frame, settling: int) -> Frame:
        """One event, or none; then a second half for whatever is between two positions."""
        after = self._frame()
        chosen = [self._stay(frame, after)]
        for device in self._hands:
            for old, new in permutations(device.positions, 2):
                chosen.append(self._step(frame, after, device, old, (old, new) if _passes(device) else new))
        self._exactly_one(chosen)
        middle = self._settled(after, settling)
        end = self._frame()
        between = [(d, place) for d in self._hands for place in self._places(d) if isinstance(place, tuple)]
        onward = [self._step(middle, end, device, place, place[1]) for device, place in between]
        stay = self._stay(middle, end)
        for device, place in between:
            self._add(-stay, -middle[device.name, place])
        self._exactly_one([*onward, stay])
        return self._settled(end, settling)

    def _step(self, frame: Frame, after: Frame, device: Device, old: object, new: object) -> int:
        """A variable that says: from rest, this device goes from one place to another, and nothing else moves."""
        step = self._new()
        self._add(-step, frame["rest"])
        self._add(-step, frame[device.name, old])
        self._add(-step, after[device.name, new])
        self._same(frame, after, step, but={device.name})
        return step
