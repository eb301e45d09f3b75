"""Hand-made plans and rules for the tests of the rule machinery."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from wirecheck.findings import Finding, Spot
from wirecheck.plan.model import Accepted, Device, Machine, Plan
from wirecheck.rules.record import Rule

FILE = "pillar-drill.yaml"


def spot(line: int, column: int = 1) -> Spot:
    """A place in the hand-made plan."""
    return Spot(FILE, line, column)


def device(name: str, kind: str, line: int = 1, **values: object) -> Device:
    """A device with its parameters."""
    return Device(name, kind, spot(line, 3), values=values)


def plan(*devices: Device, accepted: Sequence[Accepted] = (), assumed: Sequence[str] = ()) -> Plan:
    """A plan of these devices, without wires."""
    machine = Machine("Pillar drill", "IEC", spot(2))
    return Plan(FILE, machine, {d.name: d for d in devices}, (), accepted=tuple(accepted), assumed=tuple(assumed))


def rule(name: str = "lamps-are-marked", kind: str = "count", **changes: object) -> Rule:
    """A rule with texts of its own."""
    values: dict[str, object] = {
        "name": name,
        "title": "Every lamp is marked",
        "severity": "malfunction",
        "kind": kind,
        "claim": {},
        "why": "Nobody knows what {devices} means.",
        "remedy": "Mark {devices}.",
        "sources": ("common practice",),
        "since": "0.1",
    }
    return Rule(**(values | changes))  # type: ignore[arg-type]  # the changes are the tests' own


def finding(message: str = "H1 is not marked.", line: int = 7, **changes: object) -> Finding:
    """A finding of that rule."""
    values: dict[str, object] = {
        "rule": "lamps-are-marked",
        "severity": "malfunction",
        "message": message,
        "why": "w",
        "remedy": "r",
        "at": spot(line),
        "devices": ("H1",),
    }
    return Finding(**(values | changes))  # type: ignore[arg-type]  # the changes are the tests' own


def acceptance(**changes: object) -> Accepted:
    """An acceptance of that finding."""
    values: dict[str, object] = {
        "rule": "lamps-are-marked",
        "devices": ("H1",),
        "spot": spot(30),
        "because": "it is the only lamp",
    }
    return Accepted(**(values | changes))  # type: ignore[arg-type]  # the changes are the tests' own


def signed(**changes: object) -> Mapping[str, object]:
    """What an acceptance of a danger must say."""
    return {"because": "it is the only lamp", "by": "A. Member", "date": "2024-05-01", **changes}
