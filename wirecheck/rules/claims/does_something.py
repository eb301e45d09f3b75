"""Every operator device of a group changes something in some state: a coil, a drive, a lamp, a motion."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.behaviour import Behaviour
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
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
CONDITIONS = {"required": ["of"], "properties": {"of": {"enum": sorted(KINDS)}}}
WORDS = frozenset({"device"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device that changes nothing. A stop button counts among the stops."""
    of = str(rule.claim["of"])
    chosen = [d for d in facts.plan.devices.values() if d.contacts and _group(d) == of]
    dead = [d for d in chosen if not any(changes_something(b, d) for b in facts.views if d.name in b.plan.devices)]
    for device in dead:
        yield rule.finding(device.spot, devices=(device.name,), device=device.label())
    if not dead:
        yield rule.proof(sum(b.reached.bit_count() for b in facts.views), condition_reached=bool(chosen))


def _group(device: Device) -> str | None:
    if device.role == "stop" or device.kind in KINDS["stops"]:
        return "stops"
    return "operators" if device.kind in KINDS["operators"] and len(device.positions) > 1 else None


def changes_something(b: Behaviour, device: Device) -> bool:
    """Whether in any state putting the device into another position moves anything or changes what acts."""
    settling = b.reach.settling
    outputs = [b.any_motion, *b.acting.values()]
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
