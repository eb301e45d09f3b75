"""A function survives a second fault after a first one that nothing shows (ISO 13849-1: accumulation of faults)."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.behaviour.faults import Fault
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.rules.claims.survives import KINDS, Bad, finding
from wirecheck.rules.claims.survives_as_required import required_category
from wirecheck.rules.record import Rule
from wirecheck.rules.select import listed

CONDITIONS: dict[str, object] = {
    "required": ["category"],
    "properties": {
        "category": {"description": "The functions of which this category is required.", "enum": [3, 4]},
        "first": {
            "description": "The classes of first fault, of relays and contactors alone; any of anything where it is not given.",
            "type": "array",
            "minItems": 1,
            "items": {"enum": KINDS},
        },
    },
}
WORDS = frozenset({"function", "device", "motor", "fault", "also", "others"})

WITH_A_COIL = frozenset({"relay", "contactor", "timer-relay"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each function of the category that is lost by two faults."""
    found: list[Finding | Proof] = []
    tried = 0
    for trial, (functions, effects) in zip(facts.fault_trials, facts.fault_effects, strict=True):
        for i, held in enumerate(functions):
            if required_category(held) == str(rule.claim["category"]):
                tried += sum(len(e.faults) for e in effects)
                bad = [
                    Bad((fault,), shown) for fault, shown in trial.second_losses(i, effects, lambda f: _is_first(rule, facts, f))
                ]
                if bad:
                    found.append(finding(rule, facts, bad, held.must[0], held))
    states = sum(b.reached.bit_count() for b in facts.views)
    yield from found or [rule.proof(states, faults=tried, condition_reached=bool(tried))]


def _is_first(rule: Rule, facts: Facts, fault: Fault) -> bool:
    if "first" not in rule.claim:
        return True
    kinds = {facts.plan.devices[name].kind for name in fault.devices}
    return fault.kind in listed(rule.claim["first"]) and kinds <= WITH_A_COIL
