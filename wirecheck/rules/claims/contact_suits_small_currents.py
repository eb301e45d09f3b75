"""No contact that is made for mains and motors stands in the circuit of a drive input, which takes a few milliamperes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.circuit.elements import marks_of, section
from wirecheck.electrics.calculations.contact_current import MOTOR_DUTIES, RATING
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Contact, Device, Terminal
from wirecheck.rules.record import Rule, join_words

CONDITIONS = {
    "required": ["below"],
    "properties": {
        "below": {
            "description": "A contact that is rated for so many amperes or more is taken as made for mains and motors.",
            "type": "integer",
            "minimum": 1,
        }
    },
}
WORDS = frozenset({"device", "terminal", "input", "how"})

HEAVY_POLES = frozenset({"contactor", "isolator", "no-volt-release"})
"""What has main poles for motors; a breaker or plug feeds a circuit and stays closed."""

HEAVY_DUTIES = MOTOR_DUTIES | {"AC-1", "AC-20", "AC-21", "AC-22", "AC-23"}
"""IEC 60947-3 and 60947-4-1: the duties of switches and contactors in main circuits (value from memory)."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each contact, with the inputs that hang on it."""
    below = rule.claim["below"]
    if not isinstance(below, int):
        raise TypeError("below is a number")
    inputs = [terminal for drive in facts.of_kind("drive") for terminal in _inputs(facts, drive)]
    found: list[Finding | Proof] = []
    for device in facts.plan.devices.values():
        for contact in device.contacts:
            how = _heavy(device, contact, below)
            behind = [terminal for terminal in inputs if _on_the_way(facts, contact, terminal)] if how else []
            if behind:
                found.append(_finding(rule, device, contact, behind, how))
    yield from found or [rule.proof(1, condition_reached=bool(inputs))]


def _inputs(facts: Facts, drive: Device) -> Iterator[Terminal]:
    """The inputs and torque-off channels of a drive that have a wire."""
    control = section(drive.values, "control")
    wired = {t for w in facts.plan.wires for t in (w.a, w.b)}
    marks = [*map(str, section(control, "inputs")), *marks_of(section(control, "safe_torque_off"), "channels", ())]
    yield from (terminal for mark in marks if (terminal := drive.terminal(mark)) in wired)


def _heavy(device: Device, contact: Contact, below: int) -> str:
    """Why a contact is one for mains and motors, in words; empty where it is not, or where the plan does not say what it is."""
    if contact.pole:
        return "it is a main pole" if device.kind in HEAVY_POLES else ""
    rated = RATING.search(contact.rating or "")
    if rated is None:
        return ""
    amps = float(rated[1]) * (0.001 if rated[2] else 1.0)
    return f"it is rated {contact.rating}" if amps >= below or (rated[3] or "").upper() in HEAVY_DUTIES else ""


def _on_the_way(facts: Facts, contact: Contact, terminal: Terminal) -> bool:
    """Whether a contact lies between a pole of a d.c. source and an input."""
    ends = Terminal(contact.device, contact.a), Terminal(contact.device, contact.b)
    poles = (pole for source in facts.sources if source.kind == "DC" and source.role == "supply" for pole in source.poles)
    return any(facts.paths.on_path(pole, ends, terminal) for pole in poles if pole != terminal)


def _finding(rule: Rule, device: Device, contact: Contact, behind: list[Terminal], how: str) -> Finding:
    return rule.finding(
        contact.spot,
        devices=(device.name, *dict.fromkeys(t.device for t in behind)),
        device=device.label(),
        terminal=str(contact),
        input=join_words(map(str, behind)),
        how=how,
    )
