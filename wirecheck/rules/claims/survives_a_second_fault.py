"""A function survives a second fault after a first one that nothing shows (ISO 13849-1: accumulation of faults)."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from wirecheck.behaviour.faults import Fault
from wirecheck.behaviour.verdicts import Effect
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
        "relays": {
            "description": "The classes of fault, both in relays and contactors; any two of anything where it is not given.",
            "type": "array",
            "minItems": 1,
            "items": {"enum": KINDS},
        },
    },
}
WORDS = frozenset({"function", "device", "motor", "stopper", "stopped", "fault", "also", "others"})

WITH_A_COIL = frozenset({"relay", "contactor", "timer-relay"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each function of the category that is lost by two faults; not where one of them is enough."""
    found: list[Finding | Proof] = []
    tried = 0
    counts = partial(_counts, rule, facts)
    for trial, (functions, effects) in zip(facts.fault_trials, facts.fault_effects, strict=True):
        for i, held in enumerate(functions):
            if required_category(held) == str(rule.claim["category"]) and not _lost_by_one(rule, facts, i, effects):
                tried += sum(len(e.faults) for e in effects)
                bad = [Bad((fault,), shown) for fault, shown in trial.second_losses(i, effects, counts)]
                if bad:
                    found.append(finding(rule, facts, bad, held.must[0], held))
    states = sum(b.reached.bit_count() for b in facts.views)
    yield from found or [rule.proof(states, faults=tried, condition_reached=bool(tried))]


def _counts(rule: Rule, facts: Facts, fault: Fault) -> bool:
    if "relays" not in rule.claim:
        return True
    kinds = {facts.plan.devices[name].kind for name in fault.devices}
    return fault.kind in listed(rule.claim["relays"]) and kinds <= WITH_A_COIL


def _lost_by_one(rule: Rule, facts: Facts, i: int, effects: Iterable[Effect]) -> bool:
    """Whether one stuck relay takes the function away: then there are no two of which to watch one."""
    return "relays" in rule.claim and any(i in e.lost and any(_counts(rule, facts, f) for f in e.faults) for e in effects)
