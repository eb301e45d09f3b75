"""The same plan with contacts slower or faster than the ideal.

Buttons whose contacts are all open for a moment, and selectors that close the next contact before they open the last.
"""

from __future__ import annotations

from dataclasses import replace

from wirecheck.behaviour.behaviour import CHOOSERS, MOMENTARY, Behaviour
from wirecheck.behaviour.parts import EventRule
from wirecheck.plan.model import Device, Plan


def slow_contact_devices(plan: Plan) -> tuple[str, ...]:
    """The devices on which it could matter which of their contacts is faster."""
    return tuple(d.name for d in plan.devices.values() if _both_forms(d) or _may_overlap(d))


def _both_forms(device: Device) -> bool:
    """A button with a make and a break contact: at the release either the one opens first, or the other closes first."""
    rest = device.positions[:1]
    return device.kind in MOMENTARY and len({bool(c.closed_in & set(rest)) for c in device.contacts}) == 2


def _may_overlap(device: Device) -> bool:
    """A selector of which the plan does not say whether its contacts overlap."""
    return device.kind in CHOOSERS and "make_before_break" not in device.values and len(device.contacts) > 1


def slow_plan(plan: Plan) -> Plan | None:
    """The plan with those devices slow, None where there are none."""
    names = set(slow_contact_devices(plan))
    devices = {name: _slow(device) if name in names else device for name, device in plan.devices.items()}
    return replace(plan, devices=devices) if names else None


def with_slow_contacts(b: Behaviour) -> Behaviour:
    """The behaviour with those devices slow; the same one where there are none."""
    slow = slow_plan(b.plan)
    return b if slow is None else Behaviour(slow, b.subjects, b.free)


def _slow(device: Device) -> Device:
    key = "make_before_break" if device.kind in CHOOSERS else "break_before_make"
    return replace(device, values={**device.values, key: True})


def at_once(b: Behaviour, rule: EventRule) -> EventRule:
    """The same event with all contacts at the same moment."""
    others = [p for p in b.plan.devices[rule.event.device].positions if p != rule.event.position]
    name, to = rule.event
    moves = tuple(m for p in others for m in b.space.assign(b.space.at(name, p), name, to))
    return EventRule(rule.event, (moves,))
