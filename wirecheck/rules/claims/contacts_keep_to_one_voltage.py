"""The contacts of one relay switch either the mains or extra-low voltage, and not both."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.circuit import Source
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Contact, Device
from wirecheck.rules.record import Rule

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "contacts"})

SMALL = ("relay", "timer-relay", "safety-relay", "thermistor-relay")
"""A contactor keeps its poles and auxiliary contacts apart by its build. Common practice, no source."""

EXTRA_LOW_V = {"AC": 50.0, "DC": 120.0}
"""The limits of extra-low voltage: IEC 61140:2016 (value from memory)."""

REINFORCED = "reinforced"


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each relay that has both; advice where nothing is said of the insulation, which is reinforced in many."""
    relays = facts.of_kind(*SMALL)
    found: list[Finding | Proof] = [finding for relay in relays for finding in _mixed(rule, facts, relay)]
    yield from found or [rule.proof(1, condition_reached=bool(relays))]


def _mixed(rule: Rule, facts: Facts, relay: Device) -> Iterator[Finding]:
    high = {contact: volts for contact in relay.contacts if (volts := _volts(facts, contact, high=True))}
    others = (contact for contact in relay.contacts if contact not in high)
    low = {contact: volts for contact in others if (volts := _volts(facts, contact, high=False))}
    if high and low and relay.values.get("contact_insulation") != REINFORCED:
        stated = "contact_insulation" in relay.values
        (one, more), (other, less) = next(iter(high.items())), next(iter(low.items()))
        yield rule.finding(
            relay.spot,
            devices=(relay.name,),
            severity=None if stated else "advice",
            rests_on=() if stated else (f"{relay.name} contact_insulation is not stated",),
            device=relay.label(),
            contacts=f"{one.name} switches {more}, and {other.name} {less}",
        )


def _volts(facts: Facts, contact: Contact, *, high: bool) -> str:
    """The highest voltage of the sources at a contact that are, or are not, above extra-low; empty where there is none."""
    ends = (facts.plan.devices[contact.device].terminal(mark) for mark in (contact.a, contact.b))
    poles = (met for end in ends for met in facts.touched.poles(end))
    found = [(volts, s.kind) for s, pole in poles if facts.metal.net(pole) not in facts.metal.any_earth and (volts := _most(s))]
    volts, kind = max((f for f in found if (f[0] > EXTRA_LOW_V[f[1]]) == high), default=(0.0, ""))
    return f"{volts:.0f} V {'a.c.' if kind == 'AC' else 'd.c.'}" if volts else ""


def _most(source: Source) -> float:
    return max((volts for _, _, volts in source.pairs()), default=0.0)
