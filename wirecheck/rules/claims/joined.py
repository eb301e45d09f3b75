"""Each of the chosen terminals is joined to one of the others, through wires and links (or what `through` lists)."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.rules.record import Rule
from wirecheck.rules.select import terminals_of
from wirecheck.rules.ways import CONDITIONS, way_to, ways_of

__all__ = ["CONDITIONS", "WORDS", "judge"]

WORDS = frozenset({"device", "terminal"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each terminal that is joined to none of the others."""
    ways = ways_of(rule, facts.plan)
    goals = {terminal for _, terminal in terminals_of(facts.plan, rule.claim["to"])}
    chosen = list(terminals_of(facts.plan, rule.claim["each"]))
    apart = [(device, terminal) for device, terminal in chosen if not way_to(ways, terminal, goals)]
    for device, terminal in apart:
        yield rule.finding(device.spot, devices=[device.name], device=device.label(), terminal=str(terminal))
    if not apart:
        yield rule.proof(1, condition_reached=bool(chosen))
