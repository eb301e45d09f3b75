"""The machine can be worked: each motor starts in each direction meant, each start starts, each motion can be stopped."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour, run_positions
from wirecheck.behaviour.causes import CHOOSERS
from wirecheck.behaviour.drives import inputs_of
from wirecheck.behaviour.parts import rounds_of
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Event
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence

CONDITIONS = {
    "required": ["what"],
    "properties": {
        "what": {
            "description": "motors-start: each motor runs, in each direction meant. starts-start: each start starts something. "
            "motors-stop: each motion can be stopped.",
            "enum": ["motors-start", "starts-start", "motors-stop"],
        }
    },
}
WORDS = frozenset({"device", "motor", "way", "hint"})

MOMENTARY = ("push-button", "foot-switch", "limit-switch")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each motor or start that does not do what it is for."""
    kind = {"motors-start": _motors_start, "starts-start": _starts_start, "motors-stop": _motors_stop}[str(rule.claim["what"])]
    found: list[Finding | Proof] = list(kind(rule, facts))
    yield from found or [
        rule.proof(sum(b.reached.bit_count() for b in facts.views), condition_reached=bool(facts.of_kind("motor")))
    ]


def meant_to_reverse(facts: Facts, motor: Device) -> list[Device]:
    """The devices by which a motor is meant to run in reverse: buttons and positions of that name, a drive's wired input."""
    near = facts.influences[motor.name]
    found = [d for d in facts.plan.devices.values() if d.name in near and (d.role == "reverse" or "reverse" in d.positions)]
    wired = {t for w in facts.plan.wires for t in (w.a, w.b)}
    drives = [d for d in facts.of_kind("drive") if d.name in near]
    return found + [d for d in drives if any(i.does == "run-reverse" and (d.name, i.mark) in wired for i in inputs_of(d))]


def _motors_start(rule: Rule, facts: Facts) -> Iterator[Finding]:
    for motor in facts.of_kind("motor"):
        reverse = meant_to_reverse(facts, motor)
        b = facts.view_of(motor.name, *(d.name for d in facts.of_kind(*CHOOSERS)))
        ways = {"at all": b.moving(motor.name) & b.reached}
        if ways["at all"] and reverse:
            ways |= {
                "forward": b.moving(motor.name, "forward") & b.reached,
                "in reverse": b.moving(motor.name, "reverse") & b.reached,
            }
        for way, states in ways.items():
            if not states:
                never = _never_in(facts, b, motor) if way == "at all" else ()
                devices = (motor.name, *never, *(d.name for d in reverse if way != "at all"))
                hint = f" {join_words(never)} never pull{'' if len(never) > 1 else 's'} in." if never else ""
                yield rule.finding(motor.spot, devices=devices, motor=motor.label(), device=motor.label(), way=way, hint=hint)
        yield from _positions(rule, facts, b, motor)


def _never_in(facts: Facts, b: Behaviour, motor: Device) -> tuple[str, ...]:
    """The relays and contactors on the way to a motor that never pull in."""
    near = [d.name for d in facts.of_kind("relay", "contactor", "safety-relay") if d.name in facts.influences[motor.name]]
    return tuple(name for name in near if name in b.subjects and not b.is_inert(name) and not b.within(name) & b.reached)


def _positions(rule: Rule, facts: Facts, b: Behaviour, motor: Device) -> Iterator[Finding]:
    """A position in which the machine is meant to run, and does not."""
    if not b.moving(motor.name) & b.reached:
        return
    for device in facts.of_kind(*CHOOSERS):
        near = [m.name for m in facts.of_kind("motor") if device.name in facts.influences[m.name]]
        if motor.name != next(iter(near), None):
            continue
        for position in run_positions(device):
            if not any(
                b.at(device.name, position) & facts.view_of(m).moving(m) & b.reached for m in near if facts.view_of(m) is b
            ):
                yield rule.finding(
                    device.spot,
                    devices=(device.name, motor.name),
                    motor=motor.label(),
                    device=device.label(),
                    way=f"with {device.name} at {position}",
                    hint="",
                )


def _starts_start(rule: Rule, facts: Facts) -> Iterator[Finding]:
    """A start button that in no state starts anything. Where nothing moves at all that is told of the motor instead."""
    for device in facts.plan.devices.values():
        if device.kind not in MOMENTARY or device.role not in ("start", "forward", "reverse", "jog"):
            continue
        press = Event(device.name, device.positions[1])
        motors = [m for m in facts.of_kind("motor") if device.name in facts.influences[m.name]]
        views = [facts.view_of(m.name, device.name) for m in motors]
        if not any(b.any_motion & b.reached for b in views):
            continue
        if not any(_starts(b, press, m.name) for b, m in zip(views, motors, strict=True)):
            devices = (device.name, *(m.name for m in motors))
            yield rule.finding(
                device.spot, devices=devices, motor=" ".join(m.label() for m in motors), device=device.label(), way="", hint=""
            )


def _starts(b: Behaviour, press: Event, motor: str) -> bool:
    rule = next(r for r in b.events if r.event == press)
    moving = b.moving(motor)
    seen = front = b.after(rule, b.reached & ~moving & ~b.start_held)
    ends = rounds_of(r for r in b.events if r.event.position == "elapsed")
    while front and not front & moving:  # a start-up delay that the press began
        front = b.reach.after_any(ends, front & b.any_pending) & ~seen
        seen |= front
    return bool(front & moving)


def is_everyday_stop(b: Behaviour, event: Event) -> bool:
    """Whether an event is an ordinary way to stop: a stop pressed, a run button let go, a selector turned."""
    device = b.plan.devices[event.device]
    if device.kind == "no-volt-release":
        return event.position == "stop"
    if device.kind in CHOOSERS:
        return True
    if device.kind in MOMENTARY:
        return (device.role == "stop") == (event.position == device.positions[1])
    return event.position in ("elapsed", "keypad-stop")


def _motors_stop(rule: Rule, facts: Facts) -> Iterator[Finding]:
    """A motion that no ordinary stop ends: only the supply, a guard or the emergency stop does."""
    for motor in facts.of_kind("motor"):
        b = facts.view_of(motor.name)
        moving = b.moving(motor.name)
        left = b.reached & moving & ~_can_be_stopped(b, moving) & ~b.start_held
        path = b.reach.trace(left) if left else None
        if path is not None:
            yield rule.finding(
                motor.spot,
                devices=(motor.name,),
                evidence=evidence(b, path),
                motor=motor.label(),
                device=motor.label(),
                way="",
                hint="",
            )


def _can_be_stopped(b: Behaviour, moving: int) -> int:
    """The states from which ordinary stops, one or several after the other, end a motion."""
    stops = [r for r in b.events if is_everyday_stop(b, r.event)]
    ended = b.reached & ~moving
    while True:
        earlier, leading = ended, b.reach.leading(ended)
        for r in stops:
            earlier |= b.reach.before(r, ended, b.reached, leading)
        if earlier == ended:
            return ended
        ended = earlier
