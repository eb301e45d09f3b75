"""A plan with one fault in it, and its behaviour with the fault there from the start, or coming at any moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b

from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.behaviour.coils import IN, TimerPart
from wirecheck.behaviour.faults import Fault, fault_elements
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.motion import Motion, motion_of
from wirecheck.behaviour.network import Supplies
from wirecheck.behaviour.protection import uncleared
from wirecheck.behaviour.reach import Path, Reach
from wirecheck.behaviour.space import lowest
from wirecheck.circuit import Element, Source
from wirecheck.circuit.elements import windings_of
from wirecheck.plan.model import Device, Quantity, Terminal

NOTHING = Fault("no fault", "none")


class FaultedModel(Model):
    """The model of a plan with a fault; it shares the space, the parts and most contacts with the healthy one.

    A short that no protective device clears takes the source's voltage away for as long as it lasts.
    """

    def __init__(self, healthy: Model, fault: Fault) -> None:
        self.plan, self.dying, self.tripping = healthy.plan, healthy.dying, True
        self.parts, self.sources, self.space = healthy.parts, healthy.sources, healthy.space
        self.interlocks, self.fault = healthy.interlocks, fault
        self.elements = fault_elements(healthy.elements, fault)
        self._truths = healthy._truths  # the same contacts, but for those that `conducts` looks at first
        self._collapsed: dict[str, int] = {}
        self._join_up()
        for source in self.sources:
            if source.role != "output" and source.name not in self.dying and (lost := uncleared(self, source)):
                self._collapsed[source.name] = lost
        if self._collapsed or fault.lost:
            self.supplies = Supplies(self.sources, self.network, self.alive, fault.lost)

    def conducts(self, element: Element) -> int:
        if element.ident in self.fault.closed:
            return self.space.full
        if element.ident in self.fault.opened:
            return 0
        return super().conducts(element)

    def coil(self, device: str, a: Terminal, b: Terminal, rated: Quantity | None) -> int:
        return 0 if device in self.fault.coils else super().coil(device, a, b, rated)

    def stays_in(self, device: str) -> bool:
        return device in self.fault.stuck

    def input_level(self, terminal: Terminal) -> bool | None:
        return self.fault.inputs.get(terminal)

    def alive(self, source: Source) -> int:
        if source.name in self.fault.lost:
            return 0
        return super().alive(source) & ~self._collapsed.get(source.name, 0)

    @cached_property
    def signature(self) -> tuple[object, ...]:
        """What tells two faults apart: all that moves, what is live, what reaches motors and loads, which way drives turn."""
        live, turns = tuple(self.supplies.live.values()), tuple(self.turns.values())
        return (frozenset(self.moves), live, turns, self.acting, *(self.power_at(m) for m in motors(self)))

    @cached_property
    def digest(self) -> bytes:
        """The signature, where the fault can come, and the rest state, in sixteen bytes: to keep them would take much memory."""
        found = blake2b(digest_size=16)
        for move in sorted(self.moves):
            found.update(_bytes(move.mask) + bytes(move.bits))
        live, turns = self.supplies.live.values(), self.turns.values()
        power = (states for motor in motors(self) for states in self.power_at(motor))
        for states in (*live, *turns, *power, *self.acting, self.able, self.at_rest):
            found.update(_bytes(states))
        return found.digest()

    @cached_property
    def acting(self) -> tuple[int, ...]:
        """For every load the states in which it is energised: a function may have to put it off. Coils show in what moves."""
        return tuple(self.supplies.energised(e.a, e.b, e.rated) for e in self.elements if e.kind == "load")

    @cached_property
    def turns(self) -> Mapping[str, int]:
        """For every drive the states in which, if it runs, it turns its motor backwards."""
        return {drive.name: drive.backwards(self) for drive in self.drives()}

    def power_at(self, motor: Device) -> tuple[int, ...]:
        """What the windings of a motor see: which poles reach which end, and which ends are joined."""
        ends = [motor.terminal(m) for m in dict.fromkeys(m for pair in windings_of(motor) for m in pair if m[0] != "*")]
        poles = [(s, p) for s in self.sources if s.kind == "AC" for p in s.poles]
        reaching = [self.supplies.at(s, p, end) for s, p in poles for end in ends]
        joined = [self.network.joined(a, b) for i, a in enumerate(ends) for b in ends[:i]]
        return (*reaching, *joined)

    @property
    def able(self) -> int:
        """The states in which the fault can come: a contact welds where it is closed, a relay sticks where it is in."""
        found = self.space.full
        for name in self.fault.stuck:
            found &= self.space.at(name, IN)
        for e in self.elements if self.fault.closed else ():
            if e.ident in self.fault.closed:
                found &= super().conducts(e)
        return found

    @property
    def stuck_at_rest(self) -> Mapping[str, str]:
        """What is not at rest in the state at rest: a relay that is stuck is in, and what acts with it at once has acted."""
        return {name: IN for name in self.fault.stuck for name in (name, *self._acted_with(name))}

    @property
    def at_rest(self) -> int:
        """The state at rest with the fault in it."""
        return 1 << self.space.encode(self.stuck_at_rest)

    def _acted_with(self, name: str) -> tuple[str, ...]:
        part = self.parts[name]
        return (part.clock,) if isinstance(part, TimerPart) and part.off_delay else ()


def _bytes(states: int) -> bytes:
    """A set with its length in front, so that one set ends where the next begins."""
    size = (states.bit_length() + 7) // 8
    return size.to_bytes(8, "little") + states.to_bytes(size, "little")


def motors(model: Model) -> list[Device]:
    """The motors of a model's plan."""
    return [d for d in model.plan.devices.values() if d.kind == "motor"]


@dataclass(frozen=True, slots=True)
class FaultPath:
    """A trace with a fault in it: the path before the fault came, and the path from the state with the fault."""

    before: Path
    after: Path

    @property
    def events(self) -> tuple[str, ...]:
        """The events of the whole trace."""
        return tuple(str(rule.event) for rule, _ in (*self.before, *self.after) if rule is not None)

    @property
    def fault_after(self) -> int:
        """How many events come before the fault."""
        return len(self.before) - 1


class FaultedBehaviour(Behaviour):
    """The behaviour with one fault: `from_start` it is there before anything is switched on, else it may come at any moment."""

    def __init__(self, healthy: Behaviour, model: FaultedModel, from_start: bool, motion: Mapping[str, Motion]) -> None:
        self.healthy = healthy
        self.fault, self.from_start = model.fault, from_start
        seeds = [model.at_rest] if from_start else [layer & model.able for layer in healthy.reach.layers]
        super().__init__(healthy.plan, healthy.subjects, healthy.free, Reach(model, seeds))
        self._motion = dict(motion)

    def fault_trace(self, path: Path) -> FaultPath:
        """A path of this reach, with the healthy path to the state in which its fault came in front of it."""
        if self.from_start:
            return FaultPath([(None, lowest(self.reach.seeds[0]))], path)
        first = path[0][1]
        for depth, seed in enumerate(self.reach.seeds):
            origin = self.reach.settling.leading(1 << first, self.passed) & seed
            if origin:
                return FaultPath(self.healthy.reach.walk(lowest(origin), depth), path)
        raise AssertionError("a path that no fault began")


class FaultSet:
    """The faulted models of one behaviour, each distinct one once, with the faults that act alike."""

    def __init__(self, healthy: Behaviour) -> None:
        self.healthy = healthy
        self.none = FaultedModel(healthy.model, NOTHING)
        self._motion = {m.name: motion_of(self.none, m, healthy.space.full) for m in motors(self.none)}
        self._power = {m.name: self.none.power_at(m) for m in motors(self.none)}

    def model(self, fault: Fault) -> FaultedModel | None:
        """The model with a fault, None where it changes nothing at all."""
        model = FaultedModel(self.healthy.model, fault)
        return None if model.signature == self.none.signature and not fault.stuck else model

    def behaviour(self, model: FaultedModel, from_start: bool) -> FaultedBehaviour:
        """The behaviour with the fault there from the start, or coming at any moment."""
        same = {m.name: self._motion[m.name] for m in motors(model) if self._same_power(model, m)}
        return FaultedBehaviour(self.healthy, model, from_start, same)

    def _same_power(self, model: FaultedModel, motor: Device) -> bool:
        same_live = all(model.supplies.live[s.name] == self.none.supplies.live[s.name] for s in model.sources if s.kind == "AC")
        return same_live and model.turns == self.none.turns and model.power_at(motor) == self._power[motor.name]
