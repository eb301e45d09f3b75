"""A machine with one wiring error in it, and an ohmmeter: plainly, one plan and one reading at a time.

Written apart from `wirecheck.metering.matrix`: the error is made in the plan itself, and a flood through that plan reads it.
"""

from __future__ import annotations

from dataclasses import replace

from wirecheck.metering.dead import CLOSED, OHMS, OPEN, Path, joins, paths_of, states_in
from wirecheck.metering.errors import WiringError
from wirecheck.metering.matrix import Reading
from wirecheck.plan.model import Contact, Device, Plan, Terminal


def with_error(plan: Plan, error: WiringError) -> Plan:
    """The plan as somebody wired it by mistake."""
    gone = {int(ident.split()[1]) for ident in error.removed if ident.startswith("wire ")}
    wires = [w for w in plan.wires if w.index not in gone]
    spare = plan.wires[0]
    wires += [replace(spare, index=10_000 + i, a=a, b=b) for i, (a, b) in enumerate(error.added)]
    links = {ident for ident in error.removed if ident.startswith("link ")}
    devices = {name: _device(d, error, links) for name, d in plan.devices.items()}
    return replace(plan, wires=tuple(wires), devices=devices)


def _device(device: Device, error: WiringError, links: set[str]) -> Device:
    contacts = tuple(_turned(device, c) if f"contact {c}" in error.turned else c for c in device.contacts)
    kept = tuple(
        link for n, link in enumerate(device.links, start=1) if f"link {device.name}:{link[0]}-{link[1]} link {n}" not in links
    )
    return replace(device, contacts=contacts, links=kept)


def _turned(device: Device, contact: Contact) -> Contact:
    every = frozenset(device.positions) | {"in", "out", "healthy", "fault", "running", "at-speed"}
    every |= {f"not {state}" for state in ("healthy", "fault", "running", "at-speed")}
    return contact._replace(closed_in=every - contact.closed_in)


def paths_with(plan: Plan, error: WiringError) -> tuple[Path, ...]:
    """The paths of the wrongly wired plan. What a drive has joined inside does not change by how somebody wires it."""
    inside = tuple(p for p in paths_of(plan) if p.ident.startswith("bridge"))
    return (*(p for p in paths_of(with_error(plan, error)) if not p.ident.startswith("bridge")), *inside)


def may_read(plan: Plan, paths: tuple[Path, ...], reading: Reading, supply_on: frozenset[str]) -> set[int]:
    """What the meter may show: every level from the least to the most."""
    states = states_in(plan, reading.setting, supply_on)
    there = [p for p in paths if joins(p, states)]
    least = next((level for level in (CLOSED, OHMS) if _joined(reading, [p for p in there if p.least <= level])), OPEN)
    most = next((level for level in (CLOSED, OHMS) if _joined(reading, [p for p in there if p.most <= level])), OPEN)
    return set(range(least, most + 1))


def _joined(reading: Reading, paths: list[Path]) -> bool:
    seen: set[Terminal] = {reading.a}
    waiting = [reading.a]
    while waiting:
        here = waiting.pop()
        for p in paths:
            for one, other in ((p.a, p.b), (p.b, p.a)):
                if one == here and other not in seen:
                    seen.add(other)
                    waiting.append(other)
    return reading.b in seen
