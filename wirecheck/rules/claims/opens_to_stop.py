"""A device that stops something does it by opening: a break contact in the run circuit, into an input that stops when open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour.causes import causes
from wirecheck.behaviour.drives import inputs_of
from wirecheck.circuit.elements import COIL_KINDS, marks_of, section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Contact, Device, Terminal
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.ways import Ways, way_to, ways_of

CONDITIONS = {
    "required": ["causes"],
    "properties": {"causes": {"description": "What must stop by opening.", "enum": ["guards", "emergency-stops", "stops"]}},
}
WORDS = frozenset({"device", "how"})

STOPPING = ("run-permit", "external-trip", "coast-stop", "enable")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device that stops by closing."""
    found: list[Finding | Proof] = []
    looked, ways = 0, ways_of(rule, facts.plan)
    for cause in {c.event: c for c in causes(facts, str(rule.claim["causes"]))}.values():
        if cause.device.kind == "no-volt-release":
            continue
        looked += 1
        how = list(_wrong(facts, ways, cause.device, cause.event.position))
        if how:
            found.append(
                rule.finding(
                    cause.device.spot,
                    devices=(cause.device.name,),
                    device=cause.device.label(),
                    how="; ".join(dict.fromkeys(how)),
                )
            )
    yield from found or [rule.proof(looked, condition_reached=bool(looked))]


def _wrong(facts: Facts, ways: Ways, device: Device, actuated: str) -> Iterator[str]:
    wired = [c for c in device.contacts if _in_use(facts, c)]
    controlling = [c for c in wired if not _only_shows(facts, c)]
    opening = [c for c in controlling if actuated not in c.closed_in]
    closing = [c for c in controlling if actuated in c.closed_in]
    if closing and not opening:
        yield f"its contact {join_words(c.name for c in closing)} closes to stop"
    for contact in opening or closing:
        for mark in _inverted_inputs(facts, contact):
            # Where the contact stops by opening, an inverted input beyond another contact serves that other contact.
            if contact in closing or not _opens_what_stops(facts, contact) or way_to(ways, mark, _ends(contact)):
                yield f"{mark} is set to stop when it is closed"


def _in_use(facts: Facts, contact: Contact) -> bool:
    return set(_ends(contact)) <= {t for wire in facts.plan.wires for t in (wire.a, wire.b)} | _linked(facts, contact)


def _ends(contact: Contact) -> tuple[Terminal, Terminal]:
    return Terminal(contact.device, contact.a), Terminal(contact.device, contact.b)


def _linked(facts: Facts, contact: Contact) -> set[Terminal]:
    return {Terminal(contact.device, mark) for link in facts.plan.devices[contact.device].links for mark in link}


def _only_shows(facts: Facts, contact: Contact) -> bool:
    """Whether a contact changes lamps and buzzers at most: nothing that moves depends on it."""
    others = (d for d in facts.plan.devices.values() if d.kind not in ("lamp", "buzzer", "emergency-stop", "push-button"))
    return not any(contact.device in facts.direct_influences[d.name] and facts.decides(contact, d) for d in others)


def _opens_what_stops(facts: Facts, contact: Contact) -> bool:
    """Whether a contact opens the way to a coil, to torque-off, or to an input that stops when it is open."""
    if any(facts.decides(contact, d) for d in facts.of_kind(*COIL_KINDS)):
        return True
    for drive in facts.of_kind("drive"):
        marks = [i.mark for i in inputs_of(drive) if i.does in STOPPING and i.stops_when_open]
        marks += marks_of(section(drive.values, "control", "safe_torque_off"), "channels", ())
        if any(_leads_to(facts, contact, drive.terminal(mark)) for mark in marks):
            return True
    return False


def _leads_to(facts: Facts, contact: Contact, goal: Terminal) -> bool:
    return any(facts.paths.on_path(pole, _ends(contact), goal) for pole in facts.poles)


def _inverted_inputs(facts: Facts, contact: Contact) -> Iterator[Terminal]:
    for drive in facts.of_kind("drive"):
        for i in inputs_of(drive):
            inverted = i.does in STOPPING and not i.stops_when_open
            if inverted and _leads_to(facts, contact, drive.terminal(i.mark)):
                yield drive.terminal(i.mark)
