"""A plan as a machine of states: variables, what conducts in each state, what moves of itself, and what can be done to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

from wirecheck.behaviour.coils import CoilPart, NoVoltPart, SafetyRelayPart, ThermistorRelayPart, TimerPart
from wirecheck.behaviour.drives import DrivePart, Raw
from wirecheck.behaviour.network import Network
from wirecheck.behaviour.parts import EventRule, Part, Rounds, rounds_of
from wirecheck.behaviour.protection import OPERATES, cleared, trips
from wirecheck.behaviour.space import MOST_IN_ONE, Move, Space, minus
from wirecheck.behaviour.supplies import Fits, Supplies
from wirecheck.circuit import CONDUCTS, Element, Source, elements_of, sources_of
from wirecheck.circuit.elements import has_coil, windings_of
from wirecheck.errors import TooLarge
from wirecheck.plan.model import Contact, Device, Plan, Quantity, Terminal

PARTS: Mapping[str, type[Part]] = {
    "relay": CoilPart,
    "contactor": CoilPart,
    "timer-relay": TimerPart,
    "thermistor-relay": ThermistorRelayPart,
    "safety-relay": SafetyRelayPart,
    "no-volt-release": NoVoltPart,
    "drive": DrivePart,
}
"""What has a memory of its own; every other kind has positions at most."""

MOST_BITS = 28
"""A space of more variable bits than this is not explored: with all faults it would take minutes, and a gigabyte."""


SHORTS = ""
"""Stands among the names of parts for what shorts move."""


def part_of(device: Device) -> Part:
    """What a device brings to the behaviour."""
    return (PARTS.get(device.kind) or (CoilPart if has_coil(device) else Part))(device)


def bits_of(plan: Plan, names: frozenset[str] | None = None) -> int:
    """How many variable bits the devices of a plan need, or those named."""
    devices = (d for d in plan.devices.values() if names is None or d.name in names)
    return sum(width_of(codes) for d in devices for codes in part_of(d).variables().values())


def width_of(codes: Sequence[str]) -> int:
    """The bits of a variable with these codes."""
    return max(1, (len(codes) - 1).bit_length())


def too_large(what: str, advice: str, plan: Plan, names: Iterable[str], bits: int | None = None) -> TooLarge:
    """That a part of the plan is too large, in words that say what makes it so and what can be done."""
    each = {name: bits_of(plan, frozenset({name})) for name in plan.devices if name in frozenset(names)}
    count = sum(each.values()) if bits is None else bits
    most = [f"{name} ({2 ** each[name]})" for name in sorted(each, key=lambda name: -each[name]) if each[name] > 1][:4]
    spare = [name for name in each if each[name] and plan.devices[name].kind in OPERATES]
    tells = f"; most of them come from {', '.join(most)}" if most else ""
    more = f", or write a plain wire in place of one of {', '.join(spare)}, in the next check of another: half as many are left"
    return TooLarge(
        f"{what} is too much to be tried in one: its devices together can stand in {2**count:,} ways, and up to {2**MOST_BITS:,} "
        f"are tried{tells}. What you can do: {advice}{more if spare else ''}"
    )


class Answer(NamedTuple):
    """What a part makes of what the circuit tells it: moves while it settles, and events."""

    told: tuple[object, ...]
    perceptions: list[Move]
    moves: list[Move]
    events: list[EventRule]


class Model:
    """Everything that moves in a plan.

    Parameters
    ----------
    plan : Plan
        The plan.
    dying : frozenset of str
        Sources (by name) whose short no protective device clears: they get a bit that says they are dead.
    tripping : bool
        Whether shorts are followed. Most plans have none; the caller asks again when one can happen.

    Raises
    ------
    TooLarge
        The plan has more variable bits than `MOST_BITS`.
    """

    def __init__(self, plan: Plan, dying: frozenset[str] = frozenset(), tripping: bool = False) -> None:
        self.plan, self.dying, self.tripping = plan, dying, tripping
        self.parts = {d.name: part_of(d) for d in plan.devices.values()}
        self.elements = elements_of(plan)
        self.sources = sources_of(plan)
        codes = {name: c for part in self.parts.values() for name, c in part.variables().items()}
        codes |= {self.dead(name): ("no", "yes") for name in sorted(dying)}
        bits = sum(map(width_of, codes.values()))
        if bits > MOST_BITS:
            raise too_large(
                f"all of {plan.machine.name}", "check each motor's circuit as a plan of its own", plan, plan.devices, bits
            )
        self.space = Space(self._in_order(codes) if bits > MOST_IN_ONE else codes)
        self.interlocks = self._interlocks()
        self._truths: dict[tuple[str, str], int] = {}
        self.fits = Fits(self.sources)
        poles = (pole for source in self.sources for pole in source.poles)
        self.network = Network(self.elements, self.conducts, self.space.full, poles)
        self.supplies = Supplies(self.fits, self.network, self.alive)

    def _in_order(self, codes: Mapping[str, Sequence[str]]) -> Mapping[str, Sequence[str]]:
        """The variables of a large plan, what follows from others last: the pieces of a set are then mostly empty or alike."""
        rank = {name: 1 + isinstance(p, DrivePart) for name, p in self.parts.items() if isinstance(p, CoilPart | DrivePart)}
        of = {variable: rank.get(name, 0) for name, p in self.parts.items() for variable in p.variables()}
        return {name: codes[name] for name in sorted(codes, key=lambda name: of.get(name, 3))}

    @staticmethod
    def dead(source: str) -> str:
        """The variable that says a source is dead."""
        return f"{source} dead"

    def _interlocks(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        for device in self.plan.devices.values():
            other = device.values.get("mechanical_interlock")
            if isinstance(other, str) and other in self.plan.devices:
                found.setdefault(device.name, set()).add(other)
                found.setdefault(other, set()).add(device.name)
        return found

    def conducts(self, element: Element) -> int:
        """The states in which a conducting element conducts."""
        if element.closed_in is None:
            return self.space.full
        known = self._truths.get(element.key)
        if known is None:
            assert element.device is not None
            known = self._truths[element.key] = self.parts[element.device].conducts(self.space, element)
        return known

    def coil(self, device: str, a: Terminal, b: Terminal, rated: Quantity | None) -> int:
        """The states in which a coil acts."""
        del device  # a fault in it is a matter of the faulted model
        return self.supplies.energised(a, b, rated)

    def held(self, device: str) -> int:
        """The states in which a coil that is in stays in though it would not pull in: with voltage through other loads."""
        del device
        return 0

    def input_fed(self, terminal: Terminal) -> int:
        """The states in which a drive's input acts by voltage through other loads."""
        del terminal
        return 0

    def stays_in(self, device: str) -> bool:
        """Whether a device that is in cannot drop out."""
        del device
        return False

    def input_level(self, terminal: Terminal) -> bool | None:
        """The level at which a drive's input is stuck, None where it follows its wire."""
        del terminal
        return None

    @cached_property
    def _alive(self) -> dict[str, int]:
        return {}

    def raw(self, drive: DrivePart) -> Raw:
        """What the circuit gives a drive."""
        known = self._raws.get(drive.name)
        if known is None:
            known = self._raws[drive.name] = drive.raw(self)
        return known

    @cached_property
    def _raws(self) -> dict[str, Raw]:
        return {}

    def alive(self, source: Source) -> int:
        """The states in which a source could be live: switched on, running, not dead."""
        known = self._alive.get(source.name)
        if known is None:
            known = self._alive[source.name] = self._could_live(source)
        return known

    def _could_live(self, source: Source) -> int:
        space = self.space
        alive = minus(space.full, space.bit(self.dead(source.name))) if source.name in self.dying else space.full
        part = self.parts[source.device]
        if source.role == "output":
            assert isinstance(part, DrivePart)
            return alive & part.running(space)
        return alive & space.at(source.device, "on") if source.feed is None else alive

    @cached_property
    def loads(self) -> tuple[Element, ...]:
        """The lamps, solenoids and other loads."""
        return tuple(e for e in self.elements if e.kind == "load")

    @cached_property
    def motor_ends(self) -> Mapping[str, tuple[Terminal, ...]]:
        """For every motor the ends of its windings that can be wired."""
        motors = (d for d in self.plan.devices.values() if d.kind == "motor")
        marks = {m.name: dict.fromkeys(mark for pair in windings_of(m) for mark in pair if mark[0] != "*") for m in motors}
        return {name: tuple(Terminal(name, mark) for mark in ends) for name, ends in marks.items()}

    @cached_property
    def element_by_key(self) -> Mapping[tuple[str, str], Element]:
        """The elements by their key."""
        return {e.key: e for e in self.elements}

    def cleared(self, source: Source) -> dict[str, int]:
        """For every protective device, the states in which it lies on the path of a short of a source."""
        if source.name not in self._cleared:
            self._cleared[source.name] = cleared(self, source)
        return self._cleared[source.name]

    @cached_property
    def _cleared(self) -> dict[str, dict[str, int]]:
        return {}

    @cached_property
    def protective(self) -> tuple[Element, ...]:
        """The poles of the devices that clear a short."""
        kinds = {name: d.kind for name, d in self.plan.devices.items()}
        return tuple(e for e in self.elements if e.contact is not None and e.contact.pole and kinds[str(e.device)] in OPERATES)

    @cached_property
    def element_by_contact(self) -> Mapping[str, Element]:
        """The elements that are contacts, by the contact's name."""
        return {str(e.contact): e for e in self.elements if e.contact is not None}

    def element_of(self, contact: Contact) -> Element:
        """The element that a contact of the plan became."""
        return self.element_by_contact[str(contact)]

    @cached_property
    def _wired(self) -> frozenset[Terminal]:
        return frozenset(t for wire in self.plan.wires for t in (wire.a, wire.b))

    def is_wired(self, terminal: Terminal) -> bool:
        """Whether a wire ends at the terminal."""
        return terminal in self._wired

    @cached_property
    def answers(self) -> Mapping[str, Answer]:
        """What every part makes of what the circuit tells it."""
        return {name: self.answer(part) for name, part in self.parts.items()}

    def answer(self, part: Part, near: Answer | None = None) -> Answer:
        """What one part makes of what the circuit tells it; `near` is what it made of something else."""
        events = part.events(self) if near is None or part.events_told else near.events
        return Answer(part.told(self), part.perceptions(self), part.moves(self), events)

    @cached_property
    def trips(self) -> list[Move]:
        """What shorts move."""
        return trips(self) if self.tripping else []

    @cached_property
    def perceiving(self) -> int:
        """The states in which a drive has something to perceive: that comes before everything else."""
        found = 0
        for answer in self.answers.values():
            for move in answer.perceptions:
                found |= move.mask
        return found

    @cached_property
    def others(self) -> Mapping[str, Sequence[Move]]:
        """For every part what it moves once nothing is to be perceived; `SHORTS` has what shorts move."""
        each = {name: answer.moves for name, answer in self.answers.items() if answer.moves}
        return {name: self.once_perceived(moves) for name, moves in (each | {SHORTS: self.trips}).items()}

    def once_perceived(self, moves: Iterable[Move]) -> list[Move]:
        """The moves in the states in which nothing is to be perceived."""
        return [Move(mask, m.bits) for m in moves if (mask := minus(m.mask, self.perceiving))]

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """All that moves while the circuit settles."""
        perceived = (move for answer in self.answers.values() for move in answer.perceptions)
        return (*perceived, *(move for moves in self.others.values() for move in moves))

    @cached_property
    def restless(self) -> int:
        """The states in which something wants to move."""
        found = 0
        for move in self.moves:
            found |= move.mask
        return found

    @cached_property
    def events(self) -> tuple[EventRule, ...]:
        """All events, in the plan's order of devices."""
        return tuple(rule for answer in self.answers.values() for rule in answer.events)

    @cached_property
    def rounds(self) -> Rounds:
        """The events put together so that few rounds do for all."""
        return rounds_of(self.events)

    def shorts(self) -> dict[str, int]:
        """For every source that can be shorted, the states in which it is."""
        return {s.name: states for s in self.sources if (states := self.supplies.shorts(s))}

    def drives(self) -> Iterable[DrivePart]:
        """The drives of the plan."""
        return (part for part in self.parts.values() if isinstance(part, DrivePart))

    def conducting(self) -> Iterable[Element]:
        """The elements that can join two terminals."""
        return (e for e in self.elements if e.kind in CONDUCTS)
