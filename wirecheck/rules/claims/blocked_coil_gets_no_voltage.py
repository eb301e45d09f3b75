"""No coil has voltage while the bar to another contactor, which is in, keeps it from pulling in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour
from wirecheck.circuit.elements import quantity
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import coil_walk, evidence, wires_on

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "other", "how", "also"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each two contactors with a bar between them; where it is so both ways, the shorter trace shows it."""
    states = 0
    found: list[Finding | Proof] = []
    pairs = list(_pairs(facts))
    for one, other in pairs:
        b = facts.view_of(one.name, other.name)
        states += b.reached.bit_count()
        ways = [(in_, out, bad) for in_, out in ((one, other), (other, one)) if (bad := _blocked(b, in_, out))]
        if ways:
            found.append(_finding(rule, b, min(ways, key=lambda way: b.reach.depth(way[2]) or 0), len(ways) > 1))
    yield from found or [rule.proof(states, condition_reached=bool(pairs))]


def _pairs(facts: Facts) -> Iterator[tuple[Device, Device]]:
    devices = facts.plan.devices
    told = set()
    for device in devices.values():
        other = device.values.get("mechanical_interlock")
        if isinstance(other, str) and other in devices and frozenset((device.name, other)) not in told:
            told.add(frozenset((device.name, other)))
            yield device, devices[other]


def _blocked(b: Behaviour, held: Device, out: Device) -> int:
    """The settled states with one in, and voltage on the coil of the other, which is out."""
    return b.reached & b.within(held.name) & ~b.within(out.name) & b.acting.get(out.name, 0)


def _finding(rule: Rule, b: Behaviour, way: tuple[Device, Device, int], both: bool) -> Finding:
    held, out, bad = way
    path = b.reach.trace(bad)
    assert path is not None
    walk = coil_walk(b, path[-1][1], out.name)
    rated = quantity(out.values, "coil")
    direct = rated is not None and rated.current == "DC"
    coil = f"the coil of {out.label()}"
    return rule.finding(
        out.spot,
        devices=(out.name, held.name),
        wires=wires_on(b, walk),
        evidence=evidence(b, path, walk),
        device=out.label(),
        other=held.label(),
        how=f"Nothing but a bar keeps {held.label()} and {out.label()} apart: {coil}" if direct else f"T{coil[1:]} burns out: it",
        also=" The same the other way round." if both else "",
    )
