"""There are at least, or at most, so many devices, wires or cables of a choice.

`of` chooses the devices. `at_least`, `at_most` are the limits. With `when`, the claim is only for plans that have such devices.
"""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.rules.record import Rule
from wirecheck.rules.select import DEVICES, described, devices_of, named

NUMBER = {"type": "integer", "minimum": 0}
CONDITIONS = {
    "required": ["of"],
    "anyOf": [{"required": ["at_least"]}, {"required": ["at_most"]}],
    "properties": {
        "of": described(DEVICES, "The devices, wires or cables that are counted."),
        "when": described(DEVICES, "The claim is only for plans that have such devices."),
        "at_least": described(NUMBER, "So many there must be."),
        "at_most": described(NUMBER, "No more than so many."),
    },
}
WORDS = frozenset({"number"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding at most: at the machine where there are too few, at the first that is too many."""
    found = devices_of(facts.plan, rule.claim["of"])
    cases = devices_of(facts.plan, rule.claim["when"]) if "when" in rule.claim else ()
    if "when" in rule.claim and not cases:
        yield rule.proof(1, condition_reached=False)
        return
    least, most = rule.claim.get("at_least", 0), rule.claim.get("at_most", len(found))
    if not isinstance(least, int) or not isinstance(most, int):
        raise TypeError("at_least and at_most are numbers")
    number = str(len(found))
    devices, wires = named(found or cases)
    if len(found) < least:
        yield rule.finding(facts.plan.machine.spot, devices=devices, wires=wires, number=number)
    elif len(found) > most:
        yield rule.finding(found[most].spot, devices=devices, wires=wires, number=number)
    else:
        yield rule.proof(1)
