"""A core that states a size states that of its cable."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Wire
from wirecheck.rules.record import Rule

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"cable", "wire", "value", "other", "where"})

THICK_MM2 = 16.0
"""In cables thicker than this the protective core is often a thinner one (common practice)."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each cable, with all the wires that say otherwise."""
    plan = facts.plan
    unlike: dict[str, list[Wire]] = {}
    for wire in plan.wires:
        if wire.stated_size and wire.cable and not wire.is_screen and not _thin_earth(facts, wire):
            unlike.setdefault(wire.cable, []).append(wire)
    found: list[Finding | Proof] = [_finding(rule, facts, name, wires) for name, wires in unlike.items()]
    yield from found or [rule.proof(1, condition_reached=any(w.cable for w in plan.wires))]


def _thin_earth(facts: Facts, wire: Wire) -> bool:
    size = facts.plan.cables[str(wire.cable)].size_mm2 or 0.0
    return size > THICK_MM2 and facts.metal.net(wire.a) in facts.metal.any_earth


def _finding(rule: Rule, facts: Facts, name: str, wires: list[Wire]) -> Finding:
    cable, first = facts.plan.cables[name], wires[0]
    return rule.finding(
        first.spot,
        devices=(first.a.device, first.b.device),
        wires=tuple(dict.fromkeys(w.number for w in wires)),
        cable=name,
        where=f"line {cable.spot.line}",
        value=cable.size_text,
        wire=str(first),
        other=first.stated_size,
    )
