"""Every operator device of a group changes something in some state: a coil, a drive, a lamp, a motion."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour
from wirecheck.circuit.elements import section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.record import Rule

KINDS = {
    "stops": ("emergency-stop", "guard-switch"),
    "operators": (
        "push-button",
        "foot-switch",
        "limit-switch",
        "selector",
        "key-switch",
        "sensor",
        "thermal-switch",
        "thermistor",
    ),
}
CONDITIONS = {
    "required": ["of"],
    "properties": {
        "of": {
            "description": "stops: stops, emergency stops and guards. operators: all else that a hand or the machine works.",
            "enum": sorted(KINDS),
        }
    },
}
WORDS = frozenset({"device"})


SETS_A_SPEED = ("potentiometer", "resistor", "sensor")
"""What can stand at the wiper of a drive's reference."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device that changes nothing. A stop button counts among the stops."""
    of = str(rule.claim["of"])
    chosen = [d for d in facts.plan.devices.values() if d.contacts and _group(d) == of]
    dead = [d for d in chosen if not any(changes_something(facts, b, d) for b in facts.views if d.name in b.plan.devices)]
    for device in dead:
        if not _waits_for_a_start(facts, device):
            yield rule.finding(device.spot, devices=(device.name,), device=device.label())
    if not dead:
        yield rule.proof(sum(b.reached.bit_count() for b in facts.views), condition_reached=bool(chosen))


def _group(device: Device) -> str | None:
    if device.role == "stop" or device.kind in KINDS["stops"]:
        return "stops"
    return "operators" if device.kind in KINDS["operators"] and len(device.positions) > 1 else None


def _waits_for_a_start(facts: Facts, device: Device) -> bool:
    """Whether a device acts on a motor that can never be started: that is told of the motor, the device may be right."""
    motors = [m.name for m in facts.of_kind("motor") if device.name in facts.influences[m.name]]
    return any(not b.moving(m) & b.reached for m in motors for b in (facts.view_of(m),))


def changes_something(facts: Facts, b: Behaviour, device: Device) -> bool:
    """Whether in any state putting the device into another position moves anything, or changes what acts or a drive is told."""
    ways = (b.moving(motor, way) for motor in b.motors for way in ("forward", "reverse"))
    return _changes(b, device, (*ways, *b.acting.values())) or _changes(b, device, tuple(_told_to_drives(facts, b)))


def _changes(b: Behaviour, device: Device, outputs: Iterable[int]) -> bool:
    settling = b.reach.settling
    for rule in b.events:
        if rule.event.device != device.name:
            continue
        before = b.reached
        for moves in rule.stages:
            after = settling.apply(moves, before)
            if after & b.model.restless:
                return True
            for acting in outputs:
                if settling.apply(moves, before & acting) & ~acting or settling.apply(moves, before & ~acting) & acting:
                    return True
            before = after
    return False


def _told_to_drives(facts: Facts, b: Behaviour) -> Iterator[int]:
    """For every input and speed reference of a drive: when it is joined to a pole, or to what sets the speed."""
    setters = [d.terminal(mark) for d in facts.of_kind(*SETS_A_SPEED) for mark in d.marks]
    for drive in facts.of_kind("drive"):
        if b.is_inert(drive.name):
            continue
        wiper = section(drive.values, "control", "reference").get("wiper")
        used = [i.mark for i in b.drive(drive.name).inputs if i.does != "unused"]
        ends = [(mark, pole) for mark in used for pole in facts.poles]
        ends += [(str(wiper), end) for end in (*setters, *facts.poles)] if wiper else []
        yield from (b.joined(Terminal(drive.name, mark), end) for mark, end in ends)
