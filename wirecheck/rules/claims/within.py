"""A computed quantity is within its limits, for every device that has it and in every state in which it arises.

`number` names the quantity, or a list of them. `side` says which limit counts: `high`, `low`, or both where it is not given.
A quantity that cannot be worked out for lack of a figure proves nothing: it becomes a question in the report.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from wirecheck.electrics import known_names
from wirecheck.electrics.number import Number
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.rules.record import Rule

NAME = {"type": "string"}
CONDITIONS = {
    "required": ["number"],
    "properties": {
        "number": {
            "description": "The computed quantity by its name, as `check --numbers` prints it, or a list of them.",
            "anyOf": [NAME, {"type": "array", "items": NAME, "minItems": 1}],
        },
        "side": {"description": "The limit that counts; both where it is not given.", "enum": ["high", "low"]},
    },
}
WORDS = frozenset({"device", "name", "value", "limit", "case", "working", "where", "share", "advice", "effect"})


def known(condition: str) -> Collection[str]:
    """The quantities that a rule may name."""
    return known_names() if condition == "number" else ()


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each quantity that is outside its limits."""
    numbers = asked_for(rule, facts)
    wrong = [number for number in numbers if outside(rule, number)]
    for number in wrong:
        yield _finding(rule, facts, number)
    if not wrong and not any(number.unknown for number in numbers):
        yield rule.proof(len(numbers), condition_reached=bool(numbers))


def asked_for(rule: Rule, facts: Facts) -> list[Number]:
    """The numbers that a rule of this kind is about."""
    names = rule.claim["number"]
    wanted = frozenset(names if isinstance(names, list) else [names])
    return [number for number in facts.numbers if number.name in wanted]


def outside(rule: Rule, number: Number) -> bool:
    """Whether a number is outside the limit that counts for the rule."""
    side = rule.claim.get("side")
    return (number.too_high and side != "low") or (number.too_low and side != "high")


def _finding(rule: Rule, facts: Facts, number: Number) -> Finding:
    device = facts.plan.devices.get(number.device)
    side = rule.claim.get("side")
    number = number._replace(low=None if side == "high" else number.low, high=None if side == "low" else number.high)
    value = number.value or 0.0
    limit = (number.high if number.too_high else number.low) or 0.0
    return rule.citing(number.source).finding(
        number.at,
        devices=number.devices or ((number.device,) if device else ()),
        wires=number.wires,
        evidence=Evidence(events=number.events(), numbers={"measured": number.value_text(), "limit": number.limit_text()}),
        rests_on=number.uncertain,
        device=device.label() if device else number.device,
        name=number.name,
        value=number.value_text(),
        limit=number.limit_text(),
        case=number.case,
        where=f"{number.case}: " if number.case else "",
        working=number.working,
        share=f"{value / limit * 100:.0f} %" if limit else "",
        advice=number.advice,
        effect=number.effect,
    )
