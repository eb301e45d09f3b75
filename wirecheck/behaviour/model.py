"""A plan as a machine of states: variables, what conducts in each state, what moves of itself, and what can be done to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

from wirecheck.behaviour.coils import CoilPart, NoVoltPart, SafetyRelayPart, ThermistorRelayPart, TimerPart
from wirecheck.behaviour.drives import DrivePart
from wirecheck.behaviour.network import Network, Supplies
from wirecheck.behaviour.parts import EventRule, Part
from wirecheck.behaviour.protection import OPERATES, trips
from wirecheck.behaviour.space import Move, Space
from wirecheck.circuit import CONDUCTS, Element, Source, elements_of, sources_of
from wirecheck.circuit.elements import has_coil
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

MOST_BITS = 23
"""A space of more variable bits than this is not explored: a set of states would take more than 1 MB."""


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
            raise TooLarge(
                f"the states of {plan.machine.name}: {bits} variables of two values, {MOST_BITS} can be explored together"
            )
        self.space = Space(codes)
        self.interlocks = self._interlocks()
        self._truths: dict[tuple[str, str], int] = {}
        self._join_up()

    def _join_up(self) -> None:
        """What is joined and live in every state."""
        poles = (pole for source in self.sources for pole in source.poles)
        self.network = Network(self.elements, self.conducts, self.space.full, poles)
        self.supplies = Supplies(self.sources, self.network, self.alive)

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

    def alive(self, source: Source) -> int:
        """The states in which a source could be live: switched on, running, not dead."""
        space = self.space
        alive = space.full & ~space.bit(self.dead(source.name)) if source.name in self.dying else space.full
        part = self.parts[source.device]
        if source.role == "output":
            assert isinstance(part, DrivePart)
            return alive & part.running(space)
        return alive & space.at(source.device, "on") if source.feed is None else alive

    @cached_property
    def protective(self) -> tuple[Element, ...]:
        """The poles of the devices that clear a short."""
        kinds = {name: d.kind for name, d in self.plan.devices.items()}
        return tuple(e for e in self.elements if e.contact is not None and e.contact.pole and kinds[str(e.device)] in OPERATES)

    @cached_property
    def _element_by_contact(self) -> dict[str, Element]:
        return {str(e.contact): e for e in self.elements if e.contact is not None}

    def element_of(self, contact: Contact) -> Element:
        """The element that a contact of the plan became."""
        return self._element_by_contact[str(contact)]

    @cached_property
    def _wired(self) -> frozenset[Terminal]:
        return frozenset(t for wire in self.plan.wires for t in (wire.a, wire.b))

    def is_wired(self, terminal: Terminal) -> bool:
        """Whether a wire ends at the terminal."""
        return terminal in self._wired

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """All that moves while the circuit settles: what a drive perceives comes before everything else."""
        perceived = [m for part in self.parts.values() for m in part.perceptions(self)]
        perceiving = 0
        for move in perceived:
            perceiving |= move.mask
        others = [m for part in self.parts.values() for m in part.moves(self)]
        if self.tripping:
            others += trips(self)
        return (*perceived, *(Move(mask, m.bits) for m in others if (mask := m.mask & ~perceiving)))

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
        return tuple(rule for part in self.parts.values() for rule in part.events(self))

    def shorts(self) -> dict[str, int]:
        """For every source that can be shorted, the states in which it is."""
        return {s.name: states for s in self.sources if (states := self.supplies.shorts(s))}

    def drives(self) -> Iterable[DrivePart]:
        """The drives of the plan."""
        return (part for part in self.parts.values() if isinstance(part, DrivePart))

    def conducting(self) -> Iterable[Element]:
        """The elements that can join two terminals."""
        return (e for e in self.elements if e.kind in CONDUCTS)
