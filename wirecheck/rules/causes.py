"""What must stop which motion: guards, emergency stops, stops, selector positions, plugs, and the functions that the plan states."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from wirecheck.behaviour import Behaviour, run_positions
from wirecheck.facts import Facts
from wirecheck.plan.model import Device, Event, Function

CHOOSERS = ("selector", "key-switch")


@dataclass(frozen=True, slots=True)
class Cause:
    """An event that must stop something, and hold it stopped: `must` lists device and `stopped` or `off`."""

    event: Event
    device: Device
    must: tuple[tuple[str, str], ...]
    function: Function | None = None


def causes(facts: Facts, group: str) -> Iterator[Cause]:
    """The causes of a group: `guards`, `emergency-stops`, `stops`, `selectors`, `plugs` or `functions` (those of other devices)."""
    if group in ("guards", "emergency-stops"):
        kind, position = ("guard-switch", "open") if group == "guards" else ("emergency-stop", "pressed")
        yield from _safety(facts, facts.of_kind(kind), position)
    elif group == "stops":
        for device in facts.plan.devices.values():
            if device.role == "stop" and len(device.positions) > 1:
                yield _everyday(facts, device, device.positions[1])
            elif device.kind == "no-volt-release":
                yield _everyday(facts, device, "stop")
    elif group == "selectors":
        for device in facts.of_kind(*CHOOSERS):
            for position in device.positions if run_positions(device) else ():
                if position not in run_positions(device):
                    yield _everyday(facts, device, position)
    elif group == "plugs":
        for device in facts.of_kind("plug-connector"):
            yield _everyday(facts, device, "parted")
    else:
        named = ("guard-switch", "emergency-stop")
        for function in facts.plan.functions:
            for event in function.causes:
                if facts.plan.devices[event.device].kind not in named:
                    yield Cause(event, facts.plan.devices[event.device], function.must, function)


def _safety(facts: Facts, devices: tuple[Device, ...], position: str) -> Iterator[Cause]:
    every = tuple((d.name, "stopped") for d in facts.of_kind("motor"))
    for device in devices:
        event = Event(device.name, position)
        named = [f for f in facts.plan.functions if event in f.causes]
        for function in named:
            yield Cause(event, device, function.must, function)
        if not named:
            yield Cause(event, device, every)


def _everyday(facts: Facts, device: Device, position: str) -> Cause:
    """A stop stops the motors that it can influence; one that can influence none is meant for all of them."""
    motors = [d.name for d in facts.of_kind("motor")]
    near = [m for m in motors if device.name in facts.influences[m]]
    return Cause(Event(device.name, position), device, tuple((m, "stopped") for m in near or motors))


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
            found |= running & ~(b.reach.settling.before(rule, still, running) if still else 0)
    return found


def unstated(device: Device, words: Mapping[str, str]) -> tuple[str, ...]:
    """Which of a drive's settings a finding rests on without their being stated; `words` maps setting to the worst case."""
    given = device.values.get("settings")
    known = given if isinstance(given, Mapping) else {}
    return tuple(
        f"{device.name} {key} is not stated, so the worst is assumed: {worst}" for key, worst in words.items() if key not in known
    )
