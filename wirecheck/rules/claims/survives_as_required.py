"""Stuck and welded parts and shorted cores: what a function loses by them must fit the category that the plan requires of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour.verdicts import SEEN, UNSEEN, Effect, Held
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.rules.claims.survives import KINDS, Bad, finding
from wirecheck.rules.record import Rule

CONDITIONS = {
    "required": ["faults", "met"],
    "properties": {
        "faults": {"description": "The classes of single fault.", "type": "array", "minItems": 1, "items": {"enum": KINDS}},
        "met": {
            "description": "false: losses that the category required does not allow. true: those that it allows, to be known of.",
            "type": "boolean",
        },
    },
}
WORDS = frozenset({"function", "device", "motor", "stopper", "stopped", "fault", "also", "others"})

CATEGORY_OF_LEVEL = {"d": "2", "e": "4"}
"""The least category by which a level can be reached (ISO 13849-1, simplified table, value from memory)."""


def required_category(held: Held) -> str | None:
    """The category that a function requires: stated, or the least that its level needs; None where nothing is required."""
    function = held.cause.function
    if function is None:
        return None
    return function.category or CATEGORY_OF_LEVEL.get(function.level or "")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """`met: false` has the functions whose category is not met, `met: true` what the owner of the others accepts, once each."""
    kinds = {str(kind) for kind in rule.claim["faults"]}  # type: ignore[attr-defined]
    found: list[Finding | Proof] = []
    tried = 0
    for functions, effects in facts.fault_effects:
        tried += sum(f.kind in kinds for e in effects for f in e.faults)
        for i, held in enumerate(functions):
            bad, broken = list(_losses(i, effects, kinds)), _breaks(held, i, effects, kinds)
            if bad and broken != rule.claim["met"]:
                found.append(finding(rule, facts, bad, held.must[0], held))
    states = sum(b.reached.bit_count() for b in facts.views)
    yield from found or [rule.proof(states, faults=tried, condition_reached=bool(tried))]


def _losses(i: int, effects: Iterable[Effect], kinds: set[str]) -> Iterator[Bad]:
    for e in effects:
        faults = tuple(f for f in e.faults if f.kind in kinds)
        if faults and i in e.lost:
            yield Bad(faults, e.lost[i])


def _breaks(held: Held, i: int, effects: Iterable[Effect], kinds: set[str]) -> bool:
    """Whether a loss goes against the category: none at all from 3 on, none unseen in 2."""
    category = required_category(held)
    verdicts = {e.verdicts[i] for e in effects if any(f.kind in kinds for f in e.faults)}
    if category in ("3", "4"):
        return bool(verdicts & {SEEN, UNSEEN})
    return category == "2" and UNSEEN in verdicts
