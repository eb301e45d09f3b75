"""A function of category 4 survives a second fault after a first one that nothing shows (ISO 13849-1: accumulation of faults)."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.rules.claims.survives import Bad, finding
from wirecheck.rules.claims.survives_as_required import required_category
from wirecheck.rules.record import Rule

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"function", "device", "motor", "fault", "also", "others"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each function that must have category 4 and is lost by two faults."""
    found: list[Finding | Proof] = []
    tried = 0
    for trial, (functions, effects) in zip(facts.fault_trials, facts.fault_effects, strict=True):
        for i, held in enumerate(functions):
            if required_category(held) == "4":
                tried += sum(len(e.faults) for e in effects)
                bad = [Bad((fault,), shown) for fault, shown in trial.second_losses(i, effects)]
                if bad:
                    found.append(finding(rule, facts, bad, held.must[0], held))
    states = sum(b.reached.bit_count() for b in facts.views)
    yield from found or [rule.proof(states, faults=tried, condition_reached=bool(tried))]
