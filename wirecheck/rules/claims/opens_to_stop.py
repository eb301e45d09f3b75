"""A device that stops something does it by opening: a break contact in the run circuit, into an input that stops when open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour.causes import causes
from wirecheck.behaviour.drives import inputs_of
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Contact, Device, Terminal
from wirecheck.rules.record import Rule, join_words

CONDITIONS = {
    "required": ["causes"],
    "properties": {"causes": {"enum": ["guards", "emergency-stops", "stops"]}},
}
WORDS = frozenset({"device", "how"})

STOPPING = ("run-permit", "external-trip", "coast-stop", "enable")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device that stops by closing."""
    found: list[Finding | Proof] = []
    looked = 0
    for cause in {c.event: c for c in causes(facts, str(rule.claim["causes"]))}.values():
        if cause.device.kind == "no-volt-release":
            continue
        looked += 1
        how = list(_wrong(facts, cause.device, cause.event.position))
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


def _wrong(facts: Facts, device: Device, actuated: str) -> Iterator[str]:
    wired = [c for c in device.contacts if _in_use(facts, c)]
    controlling = [c for c in wired if not _only_shows(facts, c)]
    opening = [c for c in controlling if actuated not in c.closed_in]
    closing = [c for c in controlling if actuated in c.closed_in]
    if closing and not opening:
        yield f"its contact {join_words(c.name for c in closing)} closes to stop"
    for contact in opening or closing:
        yield from (f"{mark} is set to stop when it is closed" for mark in _inverted_inputs(facts, contact))


def _in_use(facts: Facts, contact: Contact) -> bool:
    ends = {Terminal(contact.device, contact.a), Terminal(contact.device, contact.b)}
    return ends <= {t for wire in facts.plan.wires for t in (wire.a, wire.b)} | _linked(facts, contact)


def _linked(facts: Facts, contact: Contact) -> set[Terminal]:
    return {Terminal(contact.device, mark) for link in facts.plan.devices[contact.device].links for mark in link}


def _only_shows(facts: Facts, contact: Contact) -> bool:
    """Whether a contact changes lamps and buzzers at most: nothing that moves depends on it."""
    others = (d for d in facts.plan.devices.values() if d.kind not in ("lamp", "buzzer", "emergency-stop", "push-button"))
    return not any(contact.device in facts.direct_influences[d.name] and facts.decides(contact, d) for d in others)


def _inverted_inputs(facts: Facts, contact: Contact) -> Iterator[str]:
    ends = Terminal(contact.device, contact.a), Terminal(contact.device, contact.b)
    for drive in facts.of_kind("drive"):
        for i in inputs_of(drive):
            if (
                i.does in STOPPING
                and not i.stops_when_open
                and any(facts.paths.on_path(pole, ends, Terminal(drive.name, i.mark)) for pole in facts.poles)
            ):
                yield f"{drive.name}:{i.mark}"
