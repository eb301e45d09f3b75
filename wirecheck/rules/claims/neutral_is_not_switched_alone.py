"""Whatever opens the mains neutral opens the phases too; nothing opens the neutral alone.

A device that has contacts in the neutral and none in a phase is told of as such. One that has both is looked at for each load:
with all else closed, a load may get its neutral by way of it alone and its phase from elsewhere. The contact of an overload relay
between a coil and the neutral is an old and common place for it, and let pass.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from wirecheck.behaviour.feeding import consumers_of
from wirecheck.circuit import CONDUCTS, Element, elements_of
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Contact, Device, Terminal
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import shortest_walk

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "how", "advice"})

LET_PASS = frozenset({"plug-connector", "line-filter", "line-reactor", "overload-relay"})


PHASES = {"L", "L1", "L2", "L3"}


class Ends(NamedTuple):
    """What takes current between a phase and the neutral, by the terminals that are joined to them."""

    device: str
    phase: Terminal
    neutral: Terminal


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device in the neutral alone, or that leaves some loads the phase alone."""
    neutrals = [d for d in facts.of_kind("mains") if "N" in d.marks]
    devices = [d for d in facts.plan.devices.values() if d.contacts and d.kind not in LET_PASS] if neutrals else []
    found: list[Finding | Proof] = [finding for device in devices for finding in _of_device(rule, facts, device)]
    yield from found or [rule.proof(1, condition_reached=bool(neutrals))]


def _of_device(rule: Rule, facts: Facts, device: Device) -> Iterator[Finding]:
    in_neutral = [c for c in device.contacts if _lies_in(facts, c, {"N"})]
    if not in_neutral:
        return
    contacts = join_words(c.name for c in in_neutral)
    if not any(_lies_in(facts, c, PHASES) for c in device.contacts):
        how = f"its contact {contacts} stands in the neutral and none of its contacts in a phase"
        advice = f"Move {device.label()} into the phase, or use one that opens phase and neutral together."
        yield rule.finding(in_neutral[0].spot, devices=(device.name,), device=device.label(), how=how, advice=advice)
        return
    bare = list(_left_live(facts, device))
    if bare:
        loads = join_words(dict.fromkeys(facts.plan.devices[ends.device].label() for ends in bare))
        phases = join_words(dict.fromkeys(str(ends.phase) for ends in bare))
        yield rule.finding(
            in_neutral[0].spot,
            devices=(device.name, *dict.fromkeys(ends.device for ends in bare)),
            device=device.label(),
            how=f"it opens the neutral of {loads}, and the phase at {phases} comes past it",
            advice=f"Feed {phases} from behind {device.label()}, as its neutral is, or take both from ahead of it.",
        )


def _left_live(facts: Facts, device: Device) -> Iterator[Ends]:
    """The loads to which, with this device open and all else closed, a phase still comes and the neutral does not."""
    mains = [d for d in facts.of_kind("mains") if "N" in d.marks]
    phases = [d.terminal(mark) for d in mains for mark in d.marks if mark in PHASES]
    neutrals = [d.terminal("N") for d in mains]
    rest = [e for e in elements_of(facts.plan) if e.kind in CONDUCTS and not _opens(e, device)]
    for ends in _between_phase_and_neutral(facts):
        if (
            ends.device != device.name
            and shortest_walk(rest, phases, ends.phase)
            and not shortest_walk(rest, neutrals, ends.neutral)
        ):
            yield ends


def _opens(element: Element, device: Device) -> bool:
    return element.device == device.name and element.closed_in is not None


def _between_phase_and_neutral(facts: Facts) -> Iterator[Ends]:
    pairs = [(str(e.device), e.a, e.b) for e in consumers_of(facts.plan, elements_of(facts.plan))]
    pairs += [(s.device, a, z) for s in facts.sources if s.feed for a in s.feed.terminals[:1] for z in s.feed.terminals[1:]]
    for name, a, z in dict.fromkeys(pairs):
        for phase, neutral in ((a, z), (z, a)):
            at_phase, at_neutral = _marks(facts, phase), _marks(facts, neutral)
            if at_neutral == {"N"} and at_phase and at_phase <= PHASES:
                yield Ends(name, phase, neutral)


def _lies_in(facts: Facts, contact: Contact, marks: set[str]) -> bool:
    """Whether both ends of a contact are ever joined to such poles of the mains, and to no other pole than these."""
    ends = (Terminal(contact.device, contact.a), Terminal(contact.device, contact.b))
    return all(bool(met) and met <= marks for met in (_marks(facts, end) for end in ends))


def _marks(facts: Facts, terminal: Terminal) -> set[str]:
    """The marks of the mains poles at a terminal; where another source is there too, its poles in full: no part of the mains."""
    devices = facts.plan.devices
    met = facts.touched.poles(terminal)
    return {pole.mark if devices[source.device].kind == "mains" else str(pole) for source, pole in met}
