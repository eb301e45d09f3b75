"""A parameter of the chosen devices, such as a colour, has one of the values that a table allows.

`of` chooses the devices, `key` is the parameter's dotted path. It must be `one_of` these values, or `none_of` them. Not stated is
no finding, unless `stated` is true.
"""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.record import Rule
from wirecheck.rules.select import DEVICES, devices_of, listed, value_at
from wirecheck.rules.select import WORDS as WORD

LIST = {"type": "array", "minItems": 1, "items": WORD}
CONDITIONS = {
    "required": ["of", "key"],
    "anyOf": [{"required": ["one_of"]}, {"required": ["none_of"]}, {"required": ["stated"]}],
    "properties": {"of": DEVICES, "key": {"type": "string"}, "one_of": LIST, "none_of": LIST, "stated": {"const": True}},
}
WORDS = frozenset({"device", "value", "allowed"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device with another value."""
    key = str(rule.claim["key"])
    chosen = devices_of(facts.plan, rule.claim["of"])
    wrong = [device for device in chosen if not _is_right(rule, value_at(device, key))]
    for device in wrong:
        yield rule.finding(
            device.lines.get(key, device.spot),
            devices=[device.name],
            device=device.label(),
            value=_shown(device, key),
            allowed=", ".join(str(value) for value in listed(rule.claim.get("one_of"))),
        )
    if not wrong:
        yield rule.proof(1, condition_reached=bool(chosen))


def _is_right(rule: Rule, value: object) -> bool:
    if value is None:
        return "stated" not in rule.claim
    allowed, forbidden = rule.claim.get("one_of"), listed(rule.claim.get("none_of"))
    return (allowed is None or value in listed(allowed)) and value not in forbidden


def _shown(device: Device, key: str) -> str:
    value = value_at(device, key)
    return "not stated" if value is None else str(value)
