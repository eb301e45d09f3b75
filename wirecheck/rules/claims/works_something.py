"""What the parts list has is wired: behind each coil hangs a contact or pole that is used, and no device is wired nowhere."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.circuit.elements import coil_ends
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Plan, Terminal
from wirecheck.rules.record import Rule

COILS = ("relay", "contactor", "timer-relay")
MAY_BE_SPARE = ("earth-bar", "terminal-block", "plug-connector", "frame", "mains")
"""What a plan may list without a wire: terminals kept for later; a frame without an earth is told by another rule."""

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "behind-a-coil: a relay or contactor whose coil is wired has a contact or pole wired at both ends. "
            "wired-at-all: every device has a wire.",
            "enum": ["behind-a-coil", "wired-at-all"],
        }
    },
}
WORDS = frozenset({"device"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device without effect."""
    wired = _wired(facts.plan)
    if rule.claim["which"] == "wired-at-all":
        chosen = [d for d in facts.plan.devices.values() if d.marks and d.kind not in MAY_BE_SPARE]
        idle = [d for d in chosen if not any(d.terminal(mark) in wired for mark in d.marks)]
    else:
        chosen = [d for d in facts.of_kind(*COILS) if any(d.terminal(mark) in wired for mark in coil_ends(d))]
        idle = [d for d in chosen if not _works_something(d, wired)]
    for device in idle:
        yield rule.finding(device.spot, devices=(device.name,), device=device.label())
    if not idle:
        yield rule.proof(1, condition_reached=bool(chosen))


def _wired(plan: Plan) -> set[Terminal]:
    """The terminals with a wire, and those that a link of their device joins to one."""
    found = {end for wire in plan.wires for end in (wire.a, wire.b)}
    links = [{device.terminal(mark) for mark in link} for device in plan.devices.values() for link in device.links]
    while near := [link for link in links if link & found and not link <= found]:
        found.update(*near)
    return found


def _works_something(device: Device, wired: set[Terminal]) -> bool:
    """Whether any contact or pole has both ends wired; of a change-over contact the common and one of the others."""
    return any({device.terminal(contact.a), device.terminal(contact.b)} <= wired for contact in device.contacts)
