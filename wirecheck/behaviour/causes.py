"""What must stop which motion: guards, emergency stops, stops, selector positions, plugs, and the functions that are stated."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from wirecheck.behaviour.behaviour import Behaviour, run_positions
from wirecheck.plan.functions import TURNING_LOADS
from wirecheck.plan.model import Device, Event, Function, Plan, Terminal
from wirecheck.plan.potentials import always_joined

CHOOSERS = ("selector", "key-switch")
OTHER_LOADS = ("solenoid", "heater", "load")
"""Loads of which nobody can say, without a function that names them, whether a stop must switch them off."""


class Known(Protocol):
    """What must be known of a plan to tell its causes."""

    plan: Plan

    @property
    def influences(self) -> Mapping[str, frozenset[str]]:
        """For every device, all that can change what it does."""

    def of_kind(self, *kinds: str) -> tuple[Device, ...]:
        """The devices of these kinds."""


@dataclass(frozen=True, slots=True)
class Cause:
    """An event that must stop something, and hold it stopped: `must` lists device and `stopped` or `off`."""

    event: Event
    device: Device
    must: tuple[tuple[str, str], ...]
    function: Function | None = None


def causes(facts: Known, group: str) -> Iterator[Cause]:
    """The causes of a group of `GROUPS`; `functions` has the functions of all devices but guards and emergency stops."""
    return GROUPS[group](facts)


def _guards(facts: Known) -> Iterator[Cause]:
    return _safety(facts, facts.of_kind("guard-switch"), "open")


def _emergency_stops(facts: Known) -> Iterator[Cause]:
    return _safety(facts, facts.of_kind("emergency-stop"), "pressed")


def _stops(facts: Known) -> Iterator[Cause]:
    for device in facts.plan.devices.values():
        if device.role == "stop" and len(device.positions) > 1:
            yield _everyday(facts, device, device.positions[1])
        elif device.kind == "no-volt-release":
            yield _everyday(facts, device, "stop")


def _selectors(facts: Known) -> Iterator[Cause]:
    for device in facts.of_kind(*CHOOSERS):
        for position in device.positions if run_positions(device) else ():
            if position not in run_positions(device):
                yield _everyday(facts, device, position)


def _plugs(facts: Known) -> Iterator[Cause]:
    for device in facts.of_kind("plug-connector"):
        yield _everyday(facts, device, "parted")


def _functions(facts: Known) -> Iterator[Cause]:
    for function in facts.plan.functions:
        for event in function.causes:
            device = facts.plan.devices[event.device]
            if device.kind not in ("guard-switch", "emergency-stop"):
                yield Cause(event, device, function.must, function)


GROUPS: Mapping[str, Callable[[Known], Iterator[Cause]]] = {
    "guards": _guards,
    "emergency-stops": _emergency_stops,
    "stops": _stops,
    "selectors": _selectors,
    "plugs": _plugs,
    "functions": _functions,
}


def _safety(facts: Known, devices: tuple[Device, ...], position: str) -> Iterator[Cause]:
    every = tuple((d.name, "stopped") for d in facts.of_kind("motor"))
    for device in devices:
        event = Event(device.name, position)
        named = [f for f in facts.plan.functions if event in f.causes]
        for function in named:
            yield Cause(event, device, function.must, function)
        if not named:
            yield Cause(event, device, every)


def _everyday(facts: Known, device: Device, position: str) -> Cause:
    """A stop stops the motors that it can influence, or else pumps and fans; one that has to do with nothing is meant for all."""
    motors = [d.name for d in facts.of_kind("motor")]
    near = [m for m in motors if device.name in facts.influences[m]]
    if near or not _is_of_loads(facts, device, motors):
        must = tuple((m, "stopped") for m in near or motors)
    else:
        must = tuple((d.name, "off") for d in facts.of_kind(*TURNING_LOADS) if device.name in facts.influences[d.name])
    return Cause(Event(device.name, position), device, must)


def _is_of_loads(facts: Known, device: Device, motors: Sequence[str]) -> bool:
    """Whether a device that influences no motor is there for a load: each motor has another stop, no contact is bridged."""
    loads = [d.name for d in facts.of_kind(*OTHER_LOADS, *TURNING_LOADS) if device.name in facts.influences[d.name]]
    stopped = all(any(_ends_motion(facts.plan.devices[name]) for name in facts.influences[m]) for m in motors)
    return bool(loads) and stopped and not _is_bridged(facts.plan, device)


def _ends_motion(device: Device) -> bool:
    """Whether a device is there to stop something every day."""
    chooser = device.kind in CHOOSERS and bool(run_positions(device))
    return device.role == "stop" or device.kind in ("no-volt-release", "foot-switch") or chooser


def _is_bridged(plan: Plan, device: Device) -> bool:
    """Whether metal joins both ends of one of a device's contacts: what it should have stopped is not to be seen any more."""
    joined = always_joined(plan.devices.values(), plan.wires)
    ends = [(joined.root(Terminal(device.name, c.a)), joined.root(Terminal(device.name, c.b))) for c in device.contacts]
    return any(a == b for a, b in ends)


def going_on(b: Behaviour, must: tuple[str, str]) -> int:
    """The states in which what must be stopped or off goes on."""
    device, state = must
    if state == "stopped" and b.plan.devices[device].kind == "motor":
        return b.moving(device)
    return b.acting[device] if device in b.acting and not b.within(device) else b.within(device)


def about_to_stop(b: Behaviour, states: int, goes_on: int) -> int:
    """Those of `states` in which a running delay will, by its end, stop what goes on: they count as stopped."""
    found = 0
    for rule in b.events:
        if rule.event.position == "elapsed":
            running = states & b.pending(rule.event.device)
            still = b.after(rule, running) & goes_on
            found |= running & ~(b.reach.before(rule, still, running) if still else 0)
    return found


def unstated(device: Device, words: Mapping[str, str]) -> tuple[str, ...]:
    """Which of a drive's settings a finding rests on without their being stated; `words` maps setting to the worst case."""
    given = device.values.get("settings")
    known = given if isinstance(given, Mapping) else {}
    return tuple(
        f"{device.name} {key} is not stated, so the worst is assumed: {worst}" for key, worst in words.items() if key not in known
    )
