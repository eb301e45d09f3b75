"""What stands where swarf flies or coolant splashes is in an enclosure that keeps them out.

The digits are those of IEC 60529: 4 before the dust nothing of 1 mm, 5 hardly any dust; 4 after it water splashed from any side.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Place
from wirecheck.rules.record import Rule, join_words

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"what", "device", "where", "how", "right"})

CODE = re.compile(r"IP\s*([0-6X])\s*([0-9X])[A-Z]*", re.IGNORECASE)

SWARF, FINE_SWARF, COOLANT = 4, 5, 4
"""The least digits: against swarf, against swarf in electronics that air is drawn through, against coolant. IEC 60529, 5.1 and 6
(value from memory) says what a digit keeps out; that these are enough in a workshop is common practice, no source."""

BREATHING = frozenset({"drive", "dc-supply"})
"""Electronics with slots for air: what is as fine as dust gets in and conducts."""

HARDY = frozenset({"frame", "earth-bar"})
"""What is no worse for swarf and coolant."""

MOST_NAMED = 3


class Needs(NamedTuple):
    """The least digits for what stands in a place; 0 where nothing is asked."""

    solids: int
    water: int

    def __str__(self) -> str:
        return f"IP{self.solids or 'X'}{self.water or 'X'}"


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each place that lets something in."""
    exposed = [(place, there) for place in facts.plan.places.values() if (there := _exposed(facts, place))]
    found: list[Finding | Proof] = [finding for place, there in exposed for finding in _findings(rule, place, there)]
    yield from found or [rule.proof(1, condition_reached=bool(exposed))]


def _exposed(facts: Facts, place: Place) -> list[Device]:
    """What stands in a place where there is swarf or coolant; what breathes comes first."""
    there = [d for d in facts.plan.devices.values() if d.place == place.name and d.kind not in HARDY]
    return sorted(there, key=lambda d: d.kind not in BREATHING) if place.swarf or place.coolant else []


def _findings(rule: Rule, place: Place, there: list[Device]) -> Iterator[Finding]:
    code = CODE.fullmatch(place.ip.strip())
    needs = Needs(_solids(there) if place.swarf else 0, COOLANT if place.coolant else 0)
    has = Needs(*(0 if digit in "Xx" else int(digit) for digit in code.groups())) if code else Needs(0, 0)
    gets_in = [
        what for what, is_, least in (("swarf", has.solids, needs.solids), ("coolant", has.water, needs.water)) if is_ < least
    ]
    if gets_in:
        yield rule.finding(
            place.spot or there[0].spot,
            devices=[d.name for d in there],
            severity=None if code else "advice",
            rests_on=() if code else (f"place {place.name} ip is not stated",),
            what=join_words(gets_in).capitalize(),
            device=_named(there),
            where=place.title or place.name,
            how=f"is {place.ip}" if code else "has no IP code in the plan",
            right=str(needs),
        )


def _solids(there: list[Device]) -> int:
    return FINE_SWARF if any(d.kind in BREATHING for d in there) else SWARF


def _named(there: list[Device]) -> str:
    first = [d.label() for d in there[:MOST_NAMED]]
    more = len(there) - len(first)
    return join_words([*first, *([f"{more} more"] if more else [])])
