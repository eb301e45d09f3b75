"""What a plan does, for whoever judges or shows it: questions in, sets of states and traces out."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from wirecheck.behaviour.coils import IN, CoilPart, NoVoltPart
from wirecheck.behaviour.drives import DrivePart
from wirecheck.behaviour.motion import Motion, motion_of
from wirecheck.behaviour.parts import EventRule
from wirecheck.behaviour.reach import Path, Reach, explore
from wirecheck.behaviour.space import numbers
from wirecheck.circuit.elements import COIL_KINDS, LOAD_KINDS
from wirecheck.circuit.sources import DRIVE_SUPPLY
from wirecheck.findings import Step
from wirecheck.plan.model import Device, Event, Plan, Terminal

START_ROLES = frozenset({"start", "forward", "reverse", "jog"})
MOMENTARY = frozenset({"push-button", "foot-switch", "limit-switch"})
INERT = "inert"
"""The kind of what has no part in a view: its terminals and links stay, its contacts and coils go."""

CHOOSERS = frozenset({"selector", "key-switch"})


class Behaviour:
    """The behaviour of one plan. A set of states is an integer; 0 is the empty set.

    Raises
    ------
    TooLarge
        From the constructor, where the plan has too many states to explore.
    """

    def __init__(
        self,
        plan: Plan,
        subjects: frozenset[str] | None = None,
        free: frozenset[str] = frozenset(),
        reach: Reach | None = None,
    ) -> None:
        self.plan, self.free = plan, free
        self.subjects = frozenset(plan.devices) if subjects is None else subjects
        self.reach: Reach = explore(plan) if reach is None else reach
        self.model = self.reach.model
        self.space = self.model.space
        self.events: tuple[EventRule, ...] = self.reach.events
        self.reached, self.passed = self.reach.reached, self.reach.passed
        self._motion: dict[str, Motion] = {}

    def is_inert(self, device: str) -> bool:
        """Whether the device has no part in this view."""
        return self.plan.devices[device].kind in (INERT, DRIVE_SUPPLY)

    # in which states

    def at(self, device: str, position: str) -> int:
        """The device is in a position."""
        part = self.model.parts[device]
        return self.space.at(device, position) if position in part.device.positions and device in self.space.variables else 0

    def within(self, device: str) -> int:
        """A relay, contactor, timer or safety relay is in; a no-volt release is on."""
        part = self.model.parts[device]
        if isinstance(part, NoVoltPart):
            return part.state(self.space, "on")
        return part.state(self.space, IN) if isinstance(part, CoilPart) else 0

    def motion(self, motor: str) -> Motion:
        """When a motor turns; in the states that are reached or passed."""
        if motor not in self._motion:
            self._motion[motor] = motion_of(self.model, self.plan.devices[motor], self.passed)
        return self._motion[motor]

    def moving(self, motor: str, direction: str | None = None) -> int:
        """A motor turns, in any direction or in one."""
        motion = self.motion(motor)
        return motion.moving if direction is None else motion.forward if direction == "forward" else motion.reverse

    @cached_property
    def motors(self) -> tuple[str, ...]:
        """The motors of the plan."""
        return tuple(d.name for d in self.plan.devices.values() if d.kind == "motor")

    @cached_property
    def any_motion(self) -> int:
        """Any motor turns."""
        found = 0
        for motor in self.motors:
            found |= self.moving(motor)
        return found

    @cached_property
    def acting(self) -> Mapping[str, int]:
        """For every coil, lamp and load: when it is energised."""
        elements = [e for e in self.model.elements if e.kind in ("coil", "load") and e.device]
        return {str(e.device): self.model.supplies.energised(e.a, e.b, e.rated) for e in elements}

    def drive(self, name: str) -> DrivePart:
        """A drive with its questions `running`, `ready`, `bit`."""
        part = self.model.parts[name]
        assert isinstance(part, DrivePart)
        return part

    def running(self, drive: str) -> int:
        """A drive runs."""
        return self.drive(drive).running(self.space)

    def joined(self, a: Terminal, b: Terminal) -> int:
        """Two terminals are joined."""
        return self.model.network.joined(a, b)

    def pending(self, device: str) -> int:
        """A delay of the device is running."""
        found = 0
        for _, mask, _ in self.model.parts[device].pending(self.model):
            found |= mask
        return found

    @cached_property
    def any_pending(self) -> int:
        """Any delay is running."""
        found = 0
        for name in self.model.parts:
            found |= self.pending(name)
        return found

    # what starts and stops

    def is_start(self, event: Event) -> bool:
        """Whether an event is a start event: a start button pressed, a selector put to a run position."""
        device = self.plan.devices[event.device]
        if event.device in self.free:
            return False
        if event.position == "keypad-run" or (device.kind == "no-volt-release" and event.position == "start"):
            return True
        if device.kind in MOMENTARY:
            return device.role in START_ROLES and event.position == device.positions[1]
        return device.kind in CHOOSERS and event.position in run_positions(device)

    @cached_property
    def start_held(self) -> int:
        """A momentary start device is held."""
        found = 0
        for device in self.plan.devices.values():
            if device.kind in MOMENTARY and device.role in START_ROLES and device.values.get("latching") is not True:
                found |= self.at(device.name, device.positions[1])
            elif device.kind == "no-volt-release":
                found |= self.at(device.name, "start")
        return found

    # traces

    def after(self, rule: EventRule, states: int) -> int:
        """The settled states after an event in any of `states`."""
        return self.reach.after(rule, states)

    def steps(self, path: Path) -> tuple[Step, ...]:
        """A trace in words: what moved and what the motors do after each event."""
        found = []
        before: dict[str, str] | None = None
        for rule, number in path:
            now = self.describe(number)
            moved = () if before is None else tuple(_changes(before, now, None if rule is None else rule.event))
            motion = {m: self._motion_at(m, number) for m in self.motors}
            found.append(Step("rest" if rule is None else str(rule.event), moved, motion))
            before = now
        return tuple(found)

    def changes(self, before: int, now: int) -> tuple[str, ...]:
        """What is different between two states, in words."""
        return tuple(_changes(self.describe(before), self.describe(now), None))

    def _motion_at(self, motor: str, number: int) -> str:
        one = self.space.only(number)
        return (
            "forward" if self.moving(motor, "forward") & one else "reverse" if self.moving(motor, "reverse") & one else "stopped"
        )

    def describe(self, number: int) -> dict[str, str]:
        """What a state is like: positions, coils in or out, drives running, lamps and loads on."""
        one, found = self.space.only(number), {}
        codes = self.space.decode(number)
        for name, part in self.model.parts.items():
            if isinstance(part, CoilPart):
                found[name] = "in" if self.within(name) & one else "out"
            elif name in codes:
                found[name] = codes[name]
            if isinstance(part, DrivePart):
                found[f"{name} power"] = "has power" if part.bit(self.space, "power") & one else "has no power"
                waits = part.bit(self.space, "waiting") & one
                found[f"{name} run"] = (
                    "runs" if part.running(self.space) & one else "waits for a fresh run command" if waits else "is stopped"
                )
        for name, states in self.acting.items():
            if self.plan.devices[name].kind in LOAD_KINDS:
                found[name] = "on" if states & one else "off"
        return found


def _changes(before: dict[str, str], now: dict[str, str], event: Event | None) -> list[str]:
    found = []
    for name, value in now.items():
        if value != before.get(name) and not (event and name == event.device and value == event.position):
            words = {"in": "pulls in", "out": "drops out", "on": "comes on", "off": "goes off"}
            found.append(f"{name.split(' ')[0]} {words.get(value, value)}")
    return found


def run_positions(device: Device) -> tuple[str, ...]:
    """The positions of a selector in which the machine is meant to run."""
    given = device.values.get("run_positions")
    return tuple(map(str, given)) if isinstance(given, list | tuple) else ()


def state_count(states: int) -> int:
    """How many states a set holds."""
    return states.bit_count()


__all__ = ["COIL_KINDS", "Behaviour", "numbers", "run_positions", "state_count"]
