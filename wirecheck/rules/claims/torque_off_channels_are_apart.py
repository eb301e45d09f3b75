"""Where a function asks for two channels, the torque-off inputs of a drive do not hang on one contact or one wire.

The faults that are tried find this themselves, unless it is a part that is taken as certified: no fault inside it is assumed, and
the one contact of a safety relay looks as good as two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

from wirecheck.behaviour.verdicts import Held
from wirecheck.circuit import CONDUCTS, Element, elements_of
from wirecheck.circuit.elements import marks_of, section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.claims.survives_as_required import required_category
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import shortest_walk

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"drive", "terminals", "how", "function", "category"})

STOPPING = frozenset({"relay", "contactor", "timer-relay", "safety-relay", "emergency-stop", "guard-switch"})


class Shared(NamedTuple):
    """Two torque-off inputs of a drive, and what they have in common, in words and by its devices."""

    ends: tuple[Terminal, Terminal]
    how: str
    devices: tuple[str, ...]


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each drive."""
    found: list[Finding | Proof] = []
    reached = False
    for drive in facts.of_kind("drive"):
        ends = [drive.terminal(m) for m in marks_of(section(drive.values, "control", "safe_torque_off"), "channels", ())]
        wanting = _wanting(facts, drive) if len(ends) > 1 else []
        reached = reached or bool(wanting)
        for held in wanting:
            shared = next(_shared(facts, held, ends), None)
            if shared is not None:
                found.append(_finding(rule, drive, held, shared))
                break
    yield from found or [rule.proof(1, condition_reached=reached)]


def _wanting(facts: Facts, drive: Device) -> list[Held]:
    """The functions that ask for category 3 or 4 and stop a motor of this drive, the one that asks for most first."""
    each = [h for h in facts.held_functions if _category(h) in ("3", "4") and drive.name in facts.influences[h.must[0]]]
    return sorted(each, key=_category, reverse=True)


def _category(held: Held) -> str:
    return required_category(held) or ""


def _shared(facts: Facts, held: Held, ends: Sequence[Terminal]) -> Iterator[Shared]:
    cause = held.cause.device.name
    every = [e for e in elements_of(facts.plan) if e.kind in CONDUCTS]
    able = [e for e in every if e.contact is not None and _acts_by(facts, e, cause)]
    poles = [p for s in facts.sources for p in s.poles if p not in s.returns]
    for one, other in combinations(ends, 2):
        same = facts.metal.same(one, other)
        both = (one, other)
        for e in able:
            if _cut(every, [e], poles, both):
                wire = "by one wire " if same else ""
                yield Shared(both, f"hang {wire}on one contact, {e.contact}", (str(e.device),))
        if same and _cut(every, able, poles, both):
            yield Shared(
                both, "are joined to each other, so that either contact ahead of them feeds both", _near(able, every, both)
            )


def _acts_by(facts: Facts, element: Element, cause: str) -> bool:
    device = str(element.device)
    return facts.plan.devices[device].kind in STOPPING and (device == cause or cause in facts.influences[device])


def _cut(every: Sequence[Element], opened: Sequence[Element], poles: Sequence[Terminal], ends: Iterable[Terminal]) -> bool:
    """Whether no pole reaches either of two inputs while these contacts are open, all others closed."""
    rest = [e for e in every if e not in opened]
    return not any(shortest_walk(rest, [p for p in poles if p != end], end) for end in ends)


def _near(able: Sequence[Element], every: Sequence[Element], ends: Iterable[Terminal]) -> tuple[str, ...]:
    """The devices whose contacts stand next to the inputs."""
    solid = [e for e in every if e.contact is None]
    near = (e for e in able for end in ends if any(shortest_walk(solid, [side], end) for side in (e.a, e.b)))
    return tuple(dict.fromkeys(str(e.device) for e in near))


def _finding(rule: Rule, drive: Device, held: Held, shared: Shared) -> Finding:
    return rule.finding(
        drive.spot,
        devices=(drive.name, *shared.devices),
        drive=drive.label(),
        terminals=join_words(map(str, shared.ends)),
        how=shared.how,
        function=held.name,
        category=_category(held),
    )
