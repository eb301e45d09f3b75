"""A parameter of the chosen devices, wires or cables, such as a colour, has one of the values that a table allows.

`of` chooses the devices, `key` is the parameter's dotted path. It must be `one_of` these values, `none_of` them, or what `table`
allows for the value of `by`, another parameter. Not stated is no finding, unless `stated` is true.
"""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.select import DEVICES, described, devices_of, listed, named, section, value_at
from wirecheck.rules.select import WORDS as WORD

LIST = {"type": "array", "minItems": 1, "items": WORD}
CONDITIONS = {
    "required": ["of", "key"],
    "anyOf": [{"required": ["one_of"]}, {"required": ["none_of"]}, {"required": ["by", "table"]}, {"required": ["stated"]}],
    "properties": {
        "of": described(DEVICES, "The devices, wires or cables."),
        "key": {
            "description": "The parameter by its dotted path, such as `colour` or `settings.max_frequency`.",
            "type": "string",
        },
        "one_of": described(LIST, "The values that it may have."),
        "none_of": described(LIST, "The values that it must not have."),
        "by": {"description": "Another parameter, by whose value `table` tells what this one may be.", "type": "string"},
        "table": {
            "description": "For each value of `by` the values allowed; for a value that has no row any is.",
            "type": "object",
            "additionalProperties": LIST,
        },
        "stated": {"description": "true: it must be stated. Not given: where it is not stated nothing is found.", "const": True},
    },
}
WORDS = frozenset({"device", "value", "allowed"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device with another value."""
    key = str(rule.claim["key"])
    chosen = devices_of(facts.plan, rule.claim["of"])
    wrong = [device for device in chosen if not _is_right(rule, device, value_at(device, key))]
    for device in wrong:
        devices, wires = named([device])
        yield rule.finding(
            device.lines.get(key, device.spot),
            devices=devices,
            wires=wires,
            device=device.label(),
            value=_shown(device, key),
            allowed=join_words(map(str, _allowed(rule, device) or ()), "or"),
        )
    if not wrong:
        yield rule.proof(1, condition_reached=bool(chosen))


def _is_right(rule: Rule, device: Device, value: object) -> bool:
    if value is None:
        return "stated" not in rule.claim
    allowed = _allowed(rule, device)
    return (allowed is None or value in allowed) and value not in listed(rule.claim.get("none_of"))


def _allowed(rule: Rule, device: Device) -> list[object] | None:
    """The values that the parameter may have, None for any."""
    if "table" in rule.claim:
        by = value_at(device, str(rule.claim["by"]))
        found = section(rule.claim["table"]).get(str(by).lower() if isinstance(by, bool) else str(by))
    else:
        found = rule.claim.get("one_of")
    return None if found is None else listed(found)


def _shown(device: Device, key: str) -> str:
    value = value_at(device, key)
    return "not stated" if value is None else str(value)
