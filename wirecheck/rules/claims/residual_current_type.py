"""A residual-current device ahead of a drive is of a type that sees the drive's leakage."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.circuit.elements import section
from wirecheck.circuit.upstream import drives_behind
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.record import Rule, join_words

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "blind: type AC, or A or F ahead of a drive fed with three phases. doubtful: type A ahead of a "
            "drive fed with one phase, where its manual decides.",
            "enum": ["blind", "doubtful"],
        }
    },
}
WORDS = frozenset({"device", "type", "drive", "right"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device with a drive behind it."""
    guards = facts.of_kind("residual-current-device")
    found: list[Finding | Proof] = []
    for guard in guards:
        kind = guard.values.get("type")
        drives = [d for d in drives_behind(facts.plan, guard.name) if kind and _verdict(str(kind), d) == rule.claim["which"]]
        if drives:
            found.append(
                rule.finding(
                    guard.lines.get("type", guard.spot),
                    devices=(guard.name, *(d.name for d in drives)),
                    device=guard.label(),
                    type=str(kind),
                    drive=join_words(d.label() for d in drives),
                    right="B" if any(map(_three_phases, drives)) else "F or B",
                )
            )
    yield from found or [rule.proof(1, condition_reached=bool(guards))]


def _three_phases(drive: Device) -> bool:
    given = section(drive.values, "input")
    marks = given.get("terminals")
    return given.get("phases") == 3 or (isinstance(marks, list | tuple) and len(marks) == 3)


def _verdict(kind: str, drive: Device) -> str:
    if kind == "AC" or (kind in ("A", "F") and _three_phases(drive)):
        return "blind"
    return "doubtful" if kind == "A" else ""
