"""Whatever opens the mains neutral opens the phases too; nothing opens the neutral alone.

A device that has contacts in the neutral and others in a phase is taken as opening both. The contact of an overload relay between
a coil and the neutral is an old and common place for it, and let pass.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Contact, Device, Terminal
from wirecheck.rules.record import Rule, join_words

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "contacts"})

LET_PASS = frozenset({"plug-connector", "line-filter", "line-reactor", "overload-relay"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device in the neutral alone."""
    neutrals = [d for d in facts.of_kind("mains") if "N" in d.marks]
    devices = [d for d in facts.plan.devices.values() if d.contacts and d.kind not in LET_PASS] if neutrals else []
    found: list[Finding | Proof] = [finding for device in devices for finding in _of_device(rule, facts, device)]
    yield from found or [rule.proof(1, condition_reached=bool(neutrals))]


def _of_device(rule: Rule, facts: Facts, device: Device) -> Iterator[Finding]:
    in_neutral = [c for c in device.contacts if _lies_in(facts, c, {"N"})]
    in_phase = any(_lies_in(facts, c, {"L", "L1", "L2", "L3"}) for c in device.contacts)
    if in_neutral and not in_phase:
        yield rule.finding(
            in_neutral[0].spot,
            devices=(device.name,),
            device=device.label(),
            contacts=join_words(c.name for c in in_neutral),
        )


def _lies_in(facts: Facts, contact: Contact, marks: set[str]) -> bool:
    """Whether both ends of a contact are ever joined to such poles of the mains, and to no other pole than these."""
    ends = (Terminal(contact.device, contact.a), Terminal(contact.device, contact.b))
    return all(bool(met) and met <= marks for met in (_marks(facts, end) for end in ends))


def _marks(facts: Facts, terminal: Terminal) -> set[str]:
    """The marks of the mains poles at a terminal; where another source is there too, its poles in full: no part of the mains."""
    devices = facts.plan.devices
    met = facts.touched.poles(terminal)
    return {pole.mark if devices[source.device].kind == "mains" else str(pole) for source, pole in met}
