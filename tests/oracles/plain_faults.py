"""The plain engine on a plan with one fault in it: there from the start, or coming in any state at rest of the whole plan.

A fault is read from its words, as they stand in the list of faults; only where the words leave open which conductor is meant does
the record say it.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Iterable, Mapping, Sequence

from tests.oracles.plain_contacts import key_of
from tests.oracles.plain_drive import Drive, Raw
from tests.oracles.plain_engine import Look, Now, PlainEngine, Power, State
from tests.oracles.plain_network import Joints, Node, UnionFind, always_joined
from tests.oracles.plain_sources import Source, shorts
from wirecheck.behaviour.faults import Fault
from wirecheck.plan.model import Contact, Device, Event, Plan

EARTHS = (("mains", "PE"), ("earth-bar", None), ("frame", "PE"))


class Effect:
    """What a fault changes, by its words."""

    def __init__(self, plan: Plan, fault: Fault) -> None:
        self.forced: dict[str, bool] = {}
        self.coils: set[str] = set()
        self.stuck: set[str] = set()
        self.lost: set[str] = set()
        self.inputs: dict[Node, bool] = {}
        self.joined: list[tuple[Node, Node]] = []
        self.wires: set[int] = set()
        self._read(plan, fault)

    def _read(self, plan: Plan, fault: Fault) -> None:
        text = fault.text
        if found := re.fullmatch(r"(\S+) (coil open|stuck in|lost)", text):
            {"coil open": self.coils, "stuck in": self.stuck, "lost": self.lost}[found[2]].add(found[1])
        elif found := re.fullmatch(r"(\S+) control supply lost", text):
            self.lost.add(f"{found[1]} control supply")
        elif found := re.fullmatch(r"(\S+):(\S+) stuck (on|off)", text):
            self.inputs[found[1], found[2]] = found[3] == "on"
        elif found := re.fullmatch(r"(\S+:\S+) (stuck open|welded)", text):
            self._contact(plan, found[1], welded=found[2] == "welded")
        elif found := re.fullmatch(r"(\S+) poles welded", text):
            device = plan.devices[found[1]]
            assert device.values["mirror_contacts"] is False
            used = {(t.device, t.mark) for w in plan.wires for t in (w.a, w.b)}
            for pole in device.contacts:
                if pole.pole and {(device.name, pole.a), (device.name, pole.b)} <= used:
                    self.forced[key_of(pole)] = True
        elif text.endswith(" open"):
            same = [i for i, w in enumerate(plan.wires) if f"{w} open" == text]
            self.wires = {i for i in same if ("wire", str(plan.wires[i].index)) in fault.removed}
            assert len(self.wires) == 1
        elif found := re.fullmatch(r"wire (.+) earthed", text):
            (one, _), *more = fault.joins
            assert not more
            assert any(w.number == found[1] and one in (w.a, w.b) for w in plan.wires)
            self.joined = [((one.device, one.mark), earth_of(plan))]
        else:
            found = re.fullmatch(r"(\S+): (.+) shorted to (.+)", text)
            assert found, text
            ((a, b),) = fault.joins
            for end, number in ((a, found[2]), (b, found[3])):
                assert any(w.number == number and w.cable == found[1] and end in (w.a, w.b) for w in plan.wires)
            self.joined = [((a.device, a.mark), (b.device, b.mark))]

    def _contact(self, plan: Plan, name: str, welded: bool) -> None:
        """A contact by name; welded, it keeps those open that are linked with it."""
        device = plan.devices[name.partition(":")[0]]
        (contact,) = (c for c in device.contacts if key_of(c) == name)
        if welded:
            guided = device.values.get("forced_guided") is True
            mirrored = contact.pole and device.values.get("mirror_contacts") is True
            for other in device.contacts:
                opposite = (contact.form == "NC") != (other.form == "NC")
                if opposite and (guided or (mirrored and other.form == "NC")):
                    self.forced[key_of(other)] = False
        self.forced[name] = welded


def earth_of(plan: Plan) -> Node:
    """Earth: the PE of the mains, else the first earth bar or frame."""
    for kind, mark in EARTHS:
        for device in plan.devices.values():
            if device.kind == kind:
                return device.name, mark or ("PE" if "PE" in device.marks else device.marks[0])
    raise ValueError("a plan without earth has no earth fault")


class _Drive(Drive):
    """A drive, some of its inputs stuck, or its own supply lost."""

    def __init__(self, plan: Plan, device: Device, effect: Effect) -> None:
        super().__init__(plan, device)
        self._stuck, self._lost = effect.inputs, effect.lost

    def raw(self, joints: Joints, live: list[Source], sources: list[Source], is_fed: bool) -> Raw:
        return super().raw(joints, live, [s for s in sources if s.name not in self._lost], is_fed)

    def _input_active(self, joints: Joints, live: list[Source], sources: list[Source], mark: str) -> bool:
        stuck = self._stuck.get((self.name, mark))
        return super()._input_active(joints, live, sources, mark) if stuck is None else stuck


class _Power(Power):
    """What is live with the fault: a short that nothing clears takes its source's voltage away while it lasts."""

    engine: FaultyEngine

    def _feed(self) -> None:
        self.collapsed: set[str] = set()
        super()._feed()
        down = {s.name for s in self.live if self.engine.collapses(s) and self._uncleared(s)}
        if down:
            self.collapsed, self.live = down, []
            super()._feed()

    def _uncleared(self, source: Source) -> bool:
        """Whether the source is shorted and no fuse or breaker lies on the way of any of its shorts."""
        pairs = shorts(self.joints, source)
        return bool(pairs) and not any(self.joints.protections_between(a, b) for a, b in pairs)

    def _gives(self, source: Source) -> bool:
        return source.name not in self.engine.effect.lost | self.collapsed and super()._gives(source)


class FaultyEngine(PlainEngine):
    """The behaviour of a plan with one fault. `whole` is the engine of the plan without it."""

    def __init__(self, whole: PlainEngine, fault: Fault, dying: frozenset[str]) -> None:
        self.whole, self.fault, self.effect, self._dying = whole, fault, Effect(whole.plan, fault), dying
        self._onward_from: dict[State, frozenset[State]] = {}
        super().__init__(whole.plan)

    def collapses(self, source: Source) -> bool:
        """Whether a short takes the voltage away only while it lasts: of all sources but those that die without any fault too."""
        return source.what != "output" and source.name not in self._dying

    def _always_joined(self) -> dict[Node, Node]:
        self.drives = {n: _Drive(self.plan, self.plan.devices[n], self.effect) for n in self.drives}
        classes = UnionFind({})
        open_ends = [tuple((name.partition(":")[0], m) for m in name.partition(":")[2].split("-")) for name in self.effect.forced]
        for i, pair in enumerate(always_joined(self.plan)):  # wires first, in the plan's order
            if i not in self.effect.wires and (i < len(self.plan.wires) or pair not in open_ends):
                classes.join(*pair)
        for a, b in self.effect.joined:
            classes.join(a, b)
        return classes.parent

    def look(self, state: State) -> Look:
        return self.whole.look(state)  # what a state says by itself is the same with the fault

    def closed(self, now: Now) -> list[Contact]:
        forced = self.effect.forced
        if not forced:
            return now.look.closed
        free = {id(c) for c in now.look.closed if key_of(c) not in forced}
        return [c for c in self.closing.contacts if id(c) in free or forced.get(key_of(c))]

    def _power(self, joints: Joints, switched: Mapping[str, str], running: Mapping[str, bool]) -> Power:
        return _Power(self, joints, switched, running)

    def pulls(self, now: Now, coil: str) -> bool:
        return super().pulls(now, coil) and coil not in self.effect.coils

    def _coil_moves(self, now: Now) -> list[State]:
        found = []
        for name, coil in self.coils.items():
            changes = dict(coil.wants(now.at, self.pulls(now, name), now.joints.joined))
            if name in self.effect.stuck and now.at[name] == "in":
                changes.pop(name, None)
            if changes:
                found.append(self.change(now.state, changes, now.state.moment))
        return found

    def _source_moves(self, now: Now) -> list[State]:
        """What a short does; a source that collapses does not die of it as well, even beside a short that a fuse will clear."""
        bits = [self.names.index(f"{s.name}.dead") for s in self.sources if self.collapses(s)]
        return [s for s in super()._source_moves(now) if all(s.values[i] == "0" for i in bits)]

    def _first_rest(self) -> State:
        """The state at rest before anything settles: what is stuck is in."""
        return self.change(self._unsettled(), dict.fromkeys(self.effect.stuck, "in"))

    def from_start(self) -> dict[State, int]:
        """Every state at rest with the fault there before anything is switched on, with the least number of events to it."""
        return self._onward({self.rest: 0})

    def at_any_time(self, healthy: Mapping[State, int]) -> dict[State, int]:
        """The same with the fault coming in any state at rest in which it can come."""
        return self._onward({s: d for s, d in healthy.items() if self._can_come(s)})

    def seeds(self, states: Iterable[State]) -> frozenset[State]:
        """Where the fault leaves those of some states in which it can come, once all has settled."""
        return self.settle([s for s in states if self._can_come(s)]).rests

    def _can_come(self, state: State) -> bool:
        now = self.whole.now(state)
        welded = [name for name, closed in self.effect.forced.items() if closed]
        in_order = self.whole.closing
        closed = all(
            in_order.closed(in_order.by_name[w], now.at, {}, now.running)
            for w in welded
            if in_order.by_name[w] in in_order.contacts
        )
        return closed and all(now.at[name] == "in" for name in self.effect.stuck)

    def replay_with_fault(self, events: Sequence[Event], fault_after: int, motion: Sequence[Mapping[str, str]]) -> list[State]:
        """The same with a fault: `motion` has one more, for the moment when the fault comes after so many events."""
        here = self.whole.replay(events[:fault_after], motion[: fault_after + 1])
        came = [s for s in here if self._can_come(s)] if fault_after else [self.rest]
        here = self.as_shown(self.settle(came).rests, motion[fault_after + 1])
        for event, shown in zip(events[fault_after:], motion[fault_after + 2 :], strict=True):
            here = self.as_shown(self.after(here, event), shown)
        return here

    def _onward(self, seeds: Mapping[State, int]) -> dict[State, int]:
        depth: dict[State, int] = {}
        todo: dict[int, deque[State]] = {}
        for seed, d in seeds.items():
            for rest in self.settle([seed]).rests:
                todo.setdefault(d, deque()).append(rest)
        for d in range(10_000):
            if d not in todo and d > max(seeds.values(), default=0):
                break
            for here in todo.pop(d, ()):
                if here not in depth:
                    depth[here] = d
                    todo.setdefault(d + 1, deque()).extend(s for s in self._next_rests(here) if s not in depth)
        return depth

    def _next_rests(self, state: State) -> frozenset[State]:
        """Where any event can lead; remembered, for a fault is followed from the start and from every moment."""
        if state not in self._onward_from:
            self._onward_from[state] = frozenset(s for event in self.events(state) for s in self.step(state, event).rests)
        return self._onward_from[state]


def dying_in(engine: PlainEngine) -> frozenset[str]:
    """The sources that a short kills without any fault, at any moment that the engine has looked at so far."""
    places = [(engine.names.index(f"{s.name}.dead"), s.name) for s in engine.sources]
    return frozenset(name for state in engine.looked_at() for i, name in places if state.values[i] == "1")
