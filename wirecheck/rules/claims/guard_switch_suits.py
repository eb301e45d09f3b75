"""A guard switch that alone tells of its guard is hard to get round, and the guard itself forces it open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.record import Rule

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "got-round: a switch that whatever is at hand keeps closed, magnet, tape or a piece of wood. "
            "spring: a switch that only its own spring opens.",
            "enum": ["got-round", "spring"],
        }
    },
}
WORDS = frozenset({"device", "how"})

LEVER, UNCODED_MAGNET = 1, 3
CONTACTLESS = (3, 4)
"""The types of ISO 14119:2013, 5.2 and 5.3 (value from memory): 1 a lever, plunger or hinge, 2 a coded tongue, 3 contactless, 4
contactless and coded."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each guard switch that is alone on its guard."""
    switches = facts.of_kind("guard-switch")
    judge_one = {"got-round": _got_round, "spring": _spring}[str(rule.claim["which"])]
    found: list[Finding | Proof] = [
        finding for switch in switches if not _has_another(switch, switches) for finding in judge_one(rule, switch)
    ]
    yield from found or [rule.proof(1, condition_reached=bool(switches))]


def _has_another(switch: Device, switches: Iterable[Device]) -> bool:
    """Whether a second switch tells of the same guard: two are not got round, and do not stick, in one movement."""
    guards = switch.values.get("guards")
    return guards is not None and any(other.name != switch.name and other.values.get("guards") == guards for other in switches)


def _is_forced(switch: Device) -> bool:
    return switch.values.get("direct_opening") is True or any(c.direct_opening for c in switch.contacts)


def _got_round(rule: Rule, switch: Device) -> Iterator[Finding]:
    """Any magnet holds type 3 closed. A lever takes tape; where the guard forces it open that is common practice: advice."""
    kind = switch.values.get("type")
    if kind == UNCODED_MAGNET:
        yield _finding(rule, switch, "any magnet keeps it closed", "type")
    elif kind == LEVER:
        mild = _is_forced(switch) or "direct_opening" not in switch.values
        yield _finding(rule, switch, "tape on its lever keeps it closed", "type", "advice" if mild else None)
    elif kind is None:
        yield _finding(rule, switch, "a magnet or tape may keep it closed, for its type is not known", "type", "advice")


def _spring(rule: Rule, switch: Device) -> Iterator[Finding]:
    if switch.values.get("type") not in CONTACTLESS and not _is_forced(switch):
        yield _finding(rule, switch, "", "direct_opening")


def _finding(rule: Rule, switch: Device, how: str, key: str, severity: str | None = None) -> Finding:
    stated = key in switch.values
    return rule.finding(
        switch.lines.get(key, switch.spot),
        devices=[switch.name],
        severity=severity,
        rests_on=() if stated else (f"{switch.name} {key} is not stated",),
        device=switch.label(),
        how=how,
    )
