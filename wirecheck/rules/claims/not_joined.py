"""None of the chosen terminals is joined to one of the others, through wires and links (or what `through` lists)."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.rules.record import Rule
from wirecheck.rules.select import terminals_of
from wirecheck.rules.ways import CONDITIONS, way_to, ways_of, wires_of

__all__ = ["CONDITIONS", "WORDS", "judge"]

WORDS = frozenset({"device", "terminal", "other"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each terminal that is joined to another, with the walk between them."""
    ways = ways_of(rule, facts.plan)
    goals = {terminal for _, terminal in terminals_of(facts.plan, rule.claim["to"])}
    chosen = list(terminals_of(facts.plan, rule.claim["each"]))
    found = [(device, terminal, way) for device, terminal in chosen if (way := way_to(ways, terminal, goals - {terminal}))]
    for device, terminal, way in found:
        yield rule.finding(
            device.spot,
            devices=tuple(dict.fromkeys(stop.device for stop in way)),
            wires=wires_of(ways, way),
            evidence=Evidence(walk=tuple(map(str, way))),
            device=device.label(),
            terminal=str(terminal),
            other=str(way[-1]),
        )
    if not found:
        yield rule.proof(1, condition_reached=bool(chosen))
