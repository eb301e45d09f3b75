"""What opens one torque-off channel of a drive opens the others too.

A drive compares its channels, and reports a fault where they differ for longer than a moment. Channels that nothing opens at all
are torque-off that is not used, and are left alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour, EventRule
from wirecheck.behaviour.faults import PROTECTIVE
from wirecheck.behaviour.space import minus
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import evidence, told_event

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"drive", "terminal", "other", "happens"})

CUTTING_OFF = PROTECTIVE | {"mains", "isolator", "plug-connector", "overload-relay"}
"""What takes the supply away opens a bridged channel too."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each channel that nothing opens, beside one that something opens."""
    found: list[Finding | Proof] = []
    reached = False
    for drive in facts.of_kind("drive"):
        b = facts.view_of(drive.name)
        if not b.is_inert(drive.name):
            acts = {
                end: b.drive(drive.name).channel_active(b.model, end, common) & b.reached
                for end, common in b.drive(drive.name).torque_off
                if b.model.is_wired(end)
            }
            reached = reached or len(acts) > 1
            found += _unlike(rule, b, drive, acts)
    yield from found or [rule.proof(1, condition_reached=reached)]


def _unlike(rule: Rule, b: Behaviour, drive: Device, acts: dict[Terminal, int]) -> Iterator[Finding]:
    opening = {end: next(_opening(b, states), None) for end, states in acts.items()}
    opened = next((end for end in opening if opening[end]), None)
    for end in acts if opened else ():
        by = opening[opened] if opened and acts[end] and opening[end] is None else None
        if by and opened:
            path = b.reach.step_trace(by, acts[end] & acts[opened], minus(b.reached & acts[end], acts[opened]))
            yield rule.finding(
                drive.spot,
                devices=(drive.name, by.event.device),
                evidence=evidence(b, path),
                drive=drive.label(),
                terminal=str(end),
                other=str(opened),
                happens=told_event(b, by.event),
            )


def _opening(b: Behaviour, acts: int) -> Iterator[EventRule]:
    """The events, other than those that cut off a supply, that open a channel."""
    devices = b.plan.devices
    for rule in b.events:
        if devices[rule.event.device].kind not in CUTTING_OFF and minus(b.after(rule, acts), acts):
            yield rule
