"""An emergency stop stays pressed until somebody releases it, and hand force opens its contacts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.record import Rule, join_words

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "denied: the plan says that it does not. not-stated: the plan does not say.",
            "enum": ["denied", "not-stated"],
        }
    },
}
WORDS = frozenset({"device", "effect", "what", "advice"})

EFFECTS = {
    "latching": "{device} comes back as soon as the hand leaves it, and a start works again",
    "direct_opening": "A welded contact can hold {device}, however hard it is pressed",
}
ADVICE = {
    "latching": "one that stays in until it is turned or pulled out",
    "direct_opening": "one whose break contacts (NC) are opened by force (the sign on it is an arrow in a circle)",
}


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each emergency stop, with all that it lacks or that is not said of it."""
    stops = facts.of_kind("emergency-stop")
    denied = rule.claim["which"] == "denied"
    found: list[Finding | Proof] = [_finding(rule, stop, keys) for stop in stops if (keys := list(_lacking(stop, denied)))]
    yield from found or [rule.proof(1, condition_reached=bool(stops))]


def _finding(rule: Rule, stop: Device, keys: list[str]) -> Finding:
    return rule.finding(
        stop.lines.get(keys[0], stop.spot),
        devices=(stop.name,),
        device=stop.label(),
        effect=". ".join(EFFECTS[key].replace("{device}", stop.label()) for key in keys),
        what=join_words((f"`{key}`" for key in keys), "and"),
        advice=join_words(ADVICE[key] for key in keys),
    )


def _lacking(stop: Device, denied: bool) -> Iterator[str]:
    """The keys that the plan sets to false, or that it leaves out. Direct opening may be stated contact by contact."""
    for key in EFFECTS:
        stated = stop.values.get(key)
        if key == "direct_opening" and any(contact.direct_opening for contact in stop.contacts):
            stated = True
        if stated is (False if denied else None):
            yield key
