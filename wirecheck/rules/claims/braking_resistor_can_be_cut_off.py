"""Something that gets hot with a drive's braking resistor takes the mains off the drive.

Only that helps when the braking transistor has burnt through: the resistor then stands on the full voltage, whatever the drive is
told. Where the heat stops the drive by way of a relay and leaves it its mains, that is half of it, and told as advice.
"""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.circuit.elements import marks_of, section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.record import Rule, join_words

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "drive", "how"})

OPENS = {"thermal-switch": "hot", "custom": "hot", "overload-relay": "tripped"}
"""What may watch a resistor, and the position in which it has seen that it is too hot."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each drive with a braking resistor."""
    found: list[Finding | Proof] = []
    reached = False
    for drive in facts.of_kind("drive"):
        resistors = _resistors(facts, drive)
        watching = [d for d in facts.of_kind(*OPENS) if OPENS[d.kind] in d.positions]
        reached |= bool(resistors)
        if resistors and not any(_cuts(facts, device, drive) for device in watching):
            telling = [d for d in watching if d.name in facts.influences[drive.name]]
            by_relay = bool(telling) and not any(d.name in facts.direct_influences[drive.name] for d in telling)
            what = f"{join_words(d.label() for d in telling)} only tells the drive" if telling else "nothing watches it"
            found.append(
                rule.finding(
                    resistors[0].spot,
                    devices=(*(r.name for r in resistors), drive.name, *(d.name for d in telling)),
                    severity="advice" if by_relay else None,
                    device=join_words(r.label() for r in resistors),
                    drive=drive.label(),
                    how=what,
                )
            )
    yield from found or [rule.proof(1, condition_reached=reached)]


def _resistors(facts: Facts, drive: Device) -> list[Device]:
    """The resistors on the drive's braking terminals, by metal alone."""
    marks = marks_of(section(drive.values, "control", "brake_resistor"), "terminals", ())
    ends = [drive.terminal(mark) for mark in marks]
    return [
        device
        for device in facts.of_kind("braking-resistor", "resistor")
        if any(facts.metal.same(device.terminal(mark), end) for mark in ("1", "2") for end in ends)
    ]


def _cuts(facts: Facts, device: Device, drive: Device) -> bool:
    """Whether the drive is never fed while the device is hot, though it is at other times."""
    if device.name not in facts.influences[drive.name]:
        return False
    b = facts.view_of(drive.name, device.name)
    fed = b.drive(drive.name).bit(b.space, "power") & b.reached
    return bool(fed) and not fed & b.at(device.name, OPENS[device.kind])
