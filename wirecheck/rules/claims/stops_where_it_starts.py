"""Each motion can be stopped at the place from which it is started; a station is what stands at one `place`.

A motion that ends when its start is let go needs no other stop. A stop that stands there and fails is told by other rules.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from wirecheck.behaviour import Behaviour, EventRule, Path
from wirecheck.behaviour.behaviour import MOMENTARY
from wirecheck.behaviour.causes import CHOOSERS, about_to_stop, causes
from wirecheck.behaviour.parts import rounds_of
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Event
from wirecheck.rules.claims.can_be_worked import is_everyday_stop
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "motor", "starts", "where", "hint"})

STOPS = ("stops", "emergency-stops", "selectors")
"""What somebody at a station works to stop a motion. Nobody stops a machine by opening its guard."""

NO_STOPS = ("mode", "speed")
"""Selectors that may end a motion, but to which no hand goes for that."""


class Start(NamedTuple):
    """A device that starts a lasting motion, the states of that motion, and a trace into one of them."""

    device: Device
    running: int
    path: Path


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each motor and place. Where no device states a place nothing is known, and nothing told or proved."""
    hands = [d for d in facts.plan.devices.values() if _starts_or_stops(d)]
    found: list[Finding | Proof] = []
    states, reached = 0, False
    for motor in facts.of_kind("motor") if any(d.place for d in hands) else ():
        b = facts.view_of(motor.name, *(d.name for d in hands))
        starts = [start for d in hands if not b.is_inert(d.name) for start in _starts(b, motor, d)]
        states += b.reached.bit_count()
        reached = reached or bool(starts)
        found += _findings(rule, facts, b, motor, starts)
    yield from found or [rule.proof(states, condition_reached=reached)]


def _starts_or_stops(device: Device) -> bool:
    if device.kind in MOMENTARY:
        return device.role in ("start", "forward", "reverse", "stop")
    return device.kind in (*CHOOSERS, "emergency-stop", "no-volt-release")


def _starts(b: Behaviour, motor: Device, device: Device) -> Iterator[Start]:
    """The lasting motions that a device starts: they go on when a hand lets go of it."""
    moving = b.moving(motor.name)
    still = b.reached & ~moving & ~b.start_held
    for press in (r for r in b.events if r.event.device == device.name and b.is_start(r.event)):
        begun = _begun(b, press, still, moving)
        last, before = press, still
        if device.kind in MOMENTARY:
            last, before = next(r for r in b.events if r.event == Event(device.name, device.positions[0])), begun
        running = b.after(last, before) & moving
        path = b.reach.step_trace(last, before, running) if running else None
        if path is not None:
            yield Start(device, running, path)


def _begun(b: Behaviour, press: EventRule, still: int, moving: int) -> int:
    """The states in which the motor turns after a press, or after a delay that the press began."""
    seen = front = b.after(press, still)
    ends = rounds_of(r for r in b.events if r.event.position == "elapsed")
    while front:
        front = b.reach.after_any(ends, front & ~moving & b.any_pending) & ~seen
        seen |= front
    return seen & moving


def _findings(rule: Rule, facts: Facts, b: Behaviour, motor: Device, starts: Sequence[Start]) -> Iterator[Finding]:
    stops = list({c.device.name: c.device for g in STOPS for c in causes(facts, g) if (motor.name, "stopped") in c.must}.values())
    for place in dict.fromkeys(start.device.place for start in starts):
        left = [start for start in starts if start.device.place == place]
        if place is not None:
            if any(stop.place == place for stop in stops):
                continue
            left = [start for start in left if not _ends(b, motor, start.running, _stopping(facts, b, place))]
        nowhere = [d for d in (*_once(left), *stops) if d.place is None]
        if left and nowhere:
            yield _question(rule, motor, left, nowhere)
        elif left:
            yield _finding(rule, facts, b, motor, left, stops)


def _stopping(facts: Facts, b: Behaviour, place: str) -> Iterator[EventRule]:
    """The events by which somebody at a place may stop a motion."""
    for r in b.events:
        device = facts.plan.devices[r.event.device]
        pressed = device.kind == "emergency-stop" and r.event.position == "pressed"
        if device.place == place and device.role not in NO_STOPS and (pressed or is_everyday_stop(b, r.event)):
            yield r


def _ends(b: Behaviour, motor: Device, running: int, events: Iterable[EventRule]) -> bool:
    """Whether one of the events ends a motion in any state, at once or by a delay that it begins."""
    moving = b.moving(motor.name)
    by_itself = about_to_stop(b, running, moving)
    for r in events:
        after = b.after(r, running)
        if after & ~moving or (not by_itself and about_to_stop(b, after & moving, moving)):
            return True
    return False


def _finding(rule: Rule, facts: Facts, b: Behaviour, motor: Device, starts: Sequence[Start], stops: Sequence[Device]) -> Finding:
    devices = _once(starts)
    place = facts.plan.places[devices[0].place or ""]
    mains = [d for d in facts.of_kind("isolator") if d.place == place.name and _turned_off(b, motor, starts, d)]
    return rule.finding(
        devices[0].spot,
        devices=(*(d.name for d in devices), motor.name),
        evidence=evidence(b, starts[0].path),
        severity="malfunction" if mains else None,
        device=_labels(devices),
        motor=motor.label(),
        starts=_verb(devices, "starts", "start"),
        where=f"{place.name} ({place.title})" if place.title else place.name,
        hint=f"{_only(mains)}{_elsewhere(stops)}",
    )


def _turned_off(b: Behaviour, motor: Device, starts: Sequence[Start], isolator: Device) -> bool:
    return all(
        _ends(b, motor, start.running, (r for r in b.events if r.event == Event(isolator.name, "off"))) for start in starts
    )


def _only(mains: Sequence[Device]) -> str:
    return f" Only the supply can be cut there, by {_labels(mains)}." if mains else ""


def _elsewhere(stops: Sequence[Device]) -> str:
    """Which stops there are, and where."""
    at = {place: _labels(d for d in stops if d.place == place) for place in dict.fromkeys(d.place for d in stops)}
    told = join_words(f"{names} at {place}" for place, names in at.items())
    return f" What stops it is {told}." if told else ""


def _question(rule: Rule, motor: Device, starts: Sequence[Start], unknown: Sequence[Device]) -> Finding:
    devices = _once(starts)
    return rule.finding(
        devices[0].spot,
        f"Whether {motor.label()} can be stopped from where {_labels(devices)} {_verb(devices, 'starts', 'start')} it is not "
        f"known: the plan does not say at which place {_labels(unknown)} {_verb(unknown, 'stands', 'stand')}.",
        devices=(*(d.name for d in devices), motor.name),
        severity="advice",
        device=_labels(devices),
        motor=motor.label(),
        starts="",
        where="",
        hint="",
    )


def _once(starts: Iterable[Start]) -> list[Device]:
    return list({start.device.name: start.device for start in starts}.values())


def _verb(devices: Sequence[Device], one: str, several: str) -> str:
    return one if len(devices) == 1 else several


def _labels(devices: Iterable[Device]) -> str:
    return join_words(d.label() for d in devices)
