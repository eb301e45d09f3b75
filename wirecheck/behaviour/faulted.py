"""A plan with one fault in it, and its behaviour with the fault there from the start, or coming at any moment."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.behaviour.changed import ChangedNetwork
from wirecheck.behaviour.coils import IN, TimerPart
from wirecheck.behaviour.faults import Fault, fault_elements
from wirecheck.behaviour.model import SHORTS, Answer, Model
from wirecheck.behaviour.motion import Motion, motion_of
from wirecheck.behaviour.network import Network
from wirecheck.behaviour.parts import EventRule, Part, Rounds
from wirecheck.behaviour.protection import uncleared
from wirecheck.behaviour.reach import LateReach, Path, Reach
from wirecheck.behaviour.settle import Settling
from wirecheck.behaviour.space import Move, digest, lowest, minus
from wirecheck.behaviour.supplies import Supplies
from wirecheck.circuit import Element, Source
from wirecheck.plan.model import Quantity, Terminal

NOTHING = Fault("no fault", "none")


class FaultedModel(Model):
    """The model of a plan with a fault; it shares the space, the parts and most contacts with the healthy one.

    A short that no protective device clears takes the source's voltage away for as long as it lasts.

    Parameters
    ----------
    healthy : Model
        The model of the plan.
    fault : Fault
        The fault.
    none : FaultedModel, optional
        The model with no fault. What it answers is taken over wherever the circuit tells a part the same.
    coming : Fault, optional
        The part of the fault that comes at any moment, where the rest is there already.
    """

    def __init__(self, healthy: Model, fault: Fault, none: FaultedModel | None = None, coming: Fault | None = None) -> None:
        self.plan, self.dying, self.tripping = healthy.plan, healthy.dying, True
        self.parts, self.sources, self.space = healthy.parts, healthy.sources, healthy.space
        self.interlocks, self.fault, self.fits = healthy.interlocks, fault, healthy.fits
        self.healthy, self.none, self.coming = healthy, none, coming or fault
        self.protective, self.loads = healthy.protective, healthy.loads
        self._truths, self._alive = healthy._truths, healthy._alive  # the same, but for what the fault changes
        self._collapsed: dict[str, int] = {}
        self.network = self._changed(healthy)
        if none is not None and self.wired_alike:
            self._collapsed, self.supplies = none._collapsed, none.supplies
        else:
            self._supply()

    @property
    def wired_alike(self) -> bool:
        """Whether all that conducts and all sources are as without the fault."""
        return self.network is self.healthy.network and not self.fault.lost

    def _supply(self) -> None:
        self.supplies = Supplies(self.fits, self.network, self.alive, self.fault.lost)
        for source in self.sources:
            if source.role != "output" and source.name not in self.dying and (lost := uncleared(self, source)):
                self._collapsed[source.name] = lost
        if self._collapsed:
            self.supplies = Supplies(self.fits, self.network, self.alive, self.fault.lost)
            self._cleared.clear()  # what is shorted is another set now

    def _changed(self, healthy: Model) -> Network:
        fault, contacts = self.fault, healthy.element_by_contact
        cut = [healthy.element_by_key[key] for key in fault.removed]
        cut += [contacts[name] for name in fault.opened - fault.closed]
        closed = [contacts[name] for name in fault.closed]
        if not (cut or closed or fault.joins):
            return healthy.network
        return ChangedNetwork(healthy.network, cut, closed, fault.joins)

    @cached_property
    def elements(self) -> tuple[Element, ...]:  # type: ignore[override]
        """All elements, with those of the fault."""
        return fault_elements(self.healthy.elements, self.fault)

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
        lost = self._collapsed.get(source.name)
        return minus(super().alive(source), lost) if lost else super().alive(source)

    # what moves, most of it as with no fault

    @cached_property
    def _told(self) -> tuple[Part, ...]:
        """The parts that the circuit tells anything."""
        return tuple(part for name, part in self.parts.items() if self.answers[name].told)

    @cached_property
    def _apart(self) -> Mapping[str, Answer]:
        """The answers of the parts that are told something else than with no fault."""
        if self.none is None:
            return {}
        given = self.none.answers
        told = self.none._told
        if self.wired_alike:
            told = tuple(part for part in told if part.name in self.fault.devices)
        apart = (part for part in told if part.told(self) != given[part.name].told)
        return {part.name: self.answer(part, given[part.name]) for part in apart}

    @cached_property
    def answers(self) -> Mapping[str, Answer]:
        if self.none is None:
            return super().answers
        return {**self.none.answers, **self._apart} if self._apart else self.none.answers

    @cached_property
    def perceiving(self) -> int:
        if self.none is None or any(a.perceptions != self.none.answers[n].perceptions for n, a in self._apart.items()):
            return super().perceiving
        return self.none.perceiving

    @cached_property
    def others(self) -> Mapping[str, Sequence[Move]]:
        if self.none is None:
            return super().others
        given = self.none.others
        if self.perceiving != self.none.perceiving:
            return {name: _if_other(moves, given.get(name, ())) for name, moves in super().others.items()}
        apart = {name: answer.moves for name, answer in self._apart.items()} | {SHORTS: self.trips}
        return {**given, **{name: _if_other(self.once_perceived(moves), given.get(name, ())) for name, moves in apart.items()}}

    @cached_property
    def events(self) -> tuple[EventRule, ...]:
        if self.none is None or any(self.parts[n].events_told for n in self._apart):
            return super().events
        return self.none.events

    @cached_property
    def rounds(self) -> Rounds:
        return self.none.rounds if self.none is not None and self.events is self.none.events else super().rounds

    @cached_property
    def moved_otherwise(self) -> tuple[list[Move], list[Move]]:
        """The moves that the model with no fault does not have, and the other way round."""
        assert self.none is not None
        fresh, gone = [], []
        for name, answer in self._apart.items():
            fresh += answer.perceptions
            gone += self.none.answers[name].perceptions
        for name, moves in self.others.items():
            if moves is not self.none.others.get(name):
                fresh += moves
                gone += self.none.others.get(name, ())
        return [m for m in fresh if m not in gone], [m for m in gone if m not in fresh]

    @cached_property
    def moves_differ(self) -> int:
        """The states in which something else can move than with no fault."""
        fresh, gone = map(_by_bits, self.moved_otherwise)
        found = 0
        for bits in fresh.keys() | gone.keys():
            found |= fresh.get(bits, 0) ^ gone.get(bits, 0)
        return found

    # what shows

    @cached_property
    def key(self) -> tuple[object, ...]:
        """What tells two faults apart: all that moves, what is live, what reaches motors and loads, which way drives turn, when
        the fault can come, and the state at rest.

        It says how the model differs from the one with no fault, and names the sets by a digest: to keep them takes much memory.
        """
        assert self.none is not None
        fresh, gone = self.moved_otherwise
        moves = (tuple(sorted((m.bits, digest(m.mask)) for m in fresh)), tuple(sorted(map(self.none.moves.index, gone))))
        if self.shown == self.none.shown:
            return (moves, ())
        sets = zip(self.shown, self.none.shown, strict=True)
        return (moves, tuple(None if own == given else digest(own) for own, given in sets))

    @property
    def changes(self) -> bool:
        """Whether anything is different at all."""
        assert self.none is not None
        return any(self.moved_otherwise) or self.shown != self.none.shown

    @cached_property
    def shown(self) -> tuple[int, ...]:
        """What is live, which way drives turn, what reaches motors and loads."""
        if self.none is not None and self.wired_alike and self.turns == self.none.turns:
            return self.none.shown
        power = (states for each in self.power.values() for states in each)
        return (*self.supplies.live.values(), *self.turns.values(), *self.acting, *power)

    @cached_property
    def acting(self) -> tuple[int, ...]:
        """For every load the states in which it is energised: a function may have to put it off. Coils show in what moves."""
        return tuple(self.supplies.energised(e.a, e.b, e.rated) for e in self.loads)

    @cached_property
    def turns(self) -> Mapping[str, int]:
        """For every drive the states in which, if it runs, it turns its motor backwards."""
        if self.none is None:
            return {drive.name: drive.backwards(self) for drive in self.drives()}
        told = ((drive, self.none.raw(drive).turned) for drive in self.drives() if drive.name in self._apart)
        apart = {drive.name: drive.backwards(self) for drive, turned in told if self.raw(drive).turned != turned}
        return {**self.none.turns, **apart}

    @cached_property
    def power(self) -> Mapping[str, tuple[int, ...]]:
        """What the windings of each motor see: which poles reach which end, and which ends are joined."""
        return {motor: self._power_at(ends) for motor, ends in self.healthy.motor_ends.items()}

    def _power_at(self, ends: Sequence[Terminal]) -> tuple[int, ...]:
        nets = [self.network.net(end) for end in ends]
        reaching = [flood for flood, pole in zip(self.supplies.floods, self.fits.kinds, strict=True) if pole == "AC"]
        reaching += [self.network.flood(end) for end in ends[1:]]
        return tuple(flood.get(net, 0) for flood in reaching for net in nets)

    @property
    def able(self) -> int:
        """The states in which the fault can come: a contact welds where it is closed, a relay sticks where it is in."""
        found = self.space.full
        for name in self.coming.stuck:
            found &= self.space.at(name, IN)
        for name in self.coming.closed:
            found &= super().conducts(self.healthy.element_by_contact[name])
        return found

    @property
    def stuck_at_rest(self) -> Mapping[str, str]:
        """What is not at rest in the state at rest: a relay that is stuck is in, and what acts with it at once has acted."""
        return {name: IN for name in self.fault.stuck for name in (name, *self._acted_with(name))}

    @property
    def at_rest(self) -> int:
        """The state at rest with the fault in it."""
        return self.space.only(self.space.encode(self.stuck_at_rest))

    def _acted_with(self, name: str) -> tuple[str, ...]:
        part = self.parts[name]
        return (part.clock,) if isinstance(part, TimerPart) and part.off_delay else ()


def _by_bits(moves: Iterable[Move]) -> dict[tuple[int, ...], int]:
    found: dict[tuple[int, ...], int] = {}
    for move in moves:
        found[move.bits] = found.get(move.bits, 0) | move.mask
    return found


def _if_other(moves: Sequence[Move], given: Sequence[Move]) -> Sequence[Move]:
    """The moves, as those given if they are the same: what is known of these need not be worked out again."""
    return moves if moves != given else given


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
    """The behaviour with one fault: `from_start` it is there before anything is switched on, else it may come at any moment.

    One that `covers` the other has all the states of that one, so that what never happens in it does not happen there either.
    """

    def __init__(
        self,
        healthy: Behaviour,
        model: FaultedModel,
        from_start: bool,
        motion: Mapping[str, Motion] | None = None,
        near: Settling | None = None,
        known: Reach | None = None,
        within: Reach | None = None,
    ) -> None:
        self.healthy = healthy
        self.fault, self.from_start = model.fault, from_start
        self.covers = within is not None
        able = model.able
        seeds = [model.at_rest] if from_start else [layer & able for layer in healthy.reach.layers]
        self.covered_by: FaultedBehaviour | None = None
        self.again: Callable[[], FaultedBehaviour] | None = None  # how to work it out anew, where that is not the usual way
        reach = LateReach(model, seeds, near, known, within)
        super().__init__(healthy.plan, healthy.subjects, healthy.free, reach)
        self._motion = dict(motion or {})

    @property
    def start_held(self) -> int:
        return self.healthy.start_held

    def motion(self, motor: str) -> Motion:
        if motor not in self._motion and self.covered_by is not None:
            return self.covered_by.motion(motor)
        return super().motion(motor)

    def fault_trace(self, path: Path) -> FaultPath:
        """A path of this reach, with the healthy path to the state in which its fault came in front of it."""
        if self.from_start:
            return FaultPath([(None, lowest(self.reach.seeds[0]))], path)
        first = path[0][1]
        for depth, seed in enumerate(self.reach.seeds):
            origin = self.reach.leading(self.space.only(first)) & seed
            if origin:
                return FaultPath(self.healthy.reach.walk(lowest(origin), depth), path)
        raise AssertionError("a path that no fault began")


class FaultSet:
    """The faulted models of one behaviour."""

    def __init__(self, healthy: Behaviour) -> None:
        self.healthy = healthy
        self.none = FaultedModel(healthy.model, NOTHING)
        motors = (healthy.plan.devices[name] for name in healthy.model.motor_ends)
        self._motion = {m.name: motion_of(self.none, m, healthy.space.full) for m in motors}

    def model(self, fault: Fault, coming: Fault | None = None) -> FaultedModel:
        """The model with a fault, of which all or what is `coming` can come at any moment."""
        return FaultedModel(self.healthy.model, fault, self.none, coming)

    def key(self, model: FaultedModel) -> object:
        """What is equal for faults that act alike; None for a fault that changes nothing at all."""
        if not model.changes and not model.fault.stuck:
            return None
        able = None if model.able == model.space.full else digest(model.able)
        return (model.key, able, model.space.encode(model.stuck_at_rest))

    def behaviour(self, model: FaultedModel, from_start: bool, other: FaultedBehaviour | None = None) -> FaultedBehaviour:
        """The behaviour with the fault there from the start, or coming at any moment.

        `other` is that from the start: where the fault can come at rest too, all that this reaches is reached at any moment.
        """
        same = {name: self._motion[name] for name in model.power if self._same_power(model, name)}
        known = self.healthy.reach if self._same_reach(model, from_start) else None
        at_rest = other is not None and model.at_rest & self.healthy.reached & model.able
        within = other.reach if other is not None and at_rest else None
        found = FaultedBehaviour(self.healthy, model, from_start, same, self._near, known, within)
        if other is not None and found.covers:
            other.covered_by = found  # one motion does for both
        return found

    @cached_property
    def _near(self) -> Settling:
        near = Settling(self.none)
        for moves in (self.none.moves, *(moves for stages in self.none.rounds for moves in stages)):
            near.shifts(moves)
        return near

    def _same_reach(self, model: FaultedModel, from_start: bool) -> bool:
        """Whether nothing that is passed without the fault goes on in another way with it."""
        if model.events is not self.none.events or model.moves_differ & self.healthy.passed:
            return False
        return model.at_rest == 1 if from_start else model.able == model.space.full and not model.restless & 1

    def _same_power(self, model: FaultedModel, motor: str) -> bool:
        same_live = all(model.supplies.live[s.name] == self.none.supplies.live[s.name] for s in model.sources if s.kind == "AC")
        return same_live and model.turns == self.none.turns and model.power[motor] == self.none.power[motor]
