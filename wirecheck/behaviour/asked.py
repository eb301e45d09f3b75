"""Events and faults as a person writes them: found in the plan, or told what comes nearest."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from wirecheck.behaviour.faults import Fault, single_faults
from wirecheck.behaviour.single import Single
from wirecheck.circuit.elements import has_coil
from wirecheck.errors import NotInPlan, nearest_word
from wirecheck.plan.model import Event, Plan

THEN = re.compile(r",\s*then\s+")
"""Between two faults that come one after the other."""

MOST_NAMED = 6


def asked(plan: Plan, events: Sequence[str], fault: str | None) -> tuple[tuple[Event, ...], tuple[Fault, ...]]:
    """The events and the faults that a call names; NotInPlan with all that the plan does not have."""
    wrong: list[str] = []
    found: tuple[Event, ...]
    faults: tuple[Fault, ...]
    try:
        found = events_asked(Single(plan), events)
    except NotInPlan as bad:
        wrong.append(str(bad))
    try:
        faults = fault_asked(plan, fault) if fault is not None else ()
    except NotInPlan as bad:
        wrong.append(str(bad))
    if wrong:
        raise NotInPlan("\n".join(wrong))
    return found, faults


def events_asked(single: Single, texts: Sequence[str]) -> tuple[Event, ...]:
    """The events that are written `DEVICE=POSITION`; NotInPlan with all that the plan does not have."""
    known: dict[str, list[str]] = {}
    for event in single.events():
        known.setdefault(event.device, []).append(event.position)
    wrong = [problem for text in texts if (problem := _problem(single.plan, known, text))]
    if wrong:
        raise NotInPlan("\n".join(wrong))
    return tuple(Event(*text.split("=", 1)) for text in texts)


def _problem(plan: Plan, known: Mapping[str, Sequence[str]], text: str) -> str:
    """What is wrong with an event, empty where nothing is."""
    name, equals, position = text.partition("=")
    if not equals:
        return f"{text}: an event is written DEVICE=POSITION, as {_example(known)}"
    if name not in plan.devices:
        return f"{text}: there is no device {name}{_meant(nearest_word(name, plan.devices))}"
    if name not in known:
        by_itself = (
            "it moves by itself, when its coil has voltage" if has_coil(plan.devices[name]) else "nothing can be done to it"
        )
        return f"{text}: {name} is a {plan.devices[name].kind}, {by_itself}"
    if position not in known[name]:
        near, only = nearest_word(position, known[name]), " and ".join([", ".join(known[name][:-1]), known[name][-1]])
        return f"{text}: {name} has no position {position}, only {only}{_meant(near and f'{name}={near}')}"
    return ""


def _example(known: Mapping[str, Sequence[str]]) -> str:
    return next((f"{name}={positions[-1]}" for name, positions in known.items()), "S1=pressed")


def _meant(nearest: str) -> str:
    return f", did you mean {nearest}?" if nearest else ""


def fault_asked(plan: Plan, text: str) -> tuple[Fault, ...]:
    """The fault of this name, or the two of `A, then B`: the first is there from the start.

    The dash between two terminals may be any dash, they may stand in either order, and may be left out where the rest is enough.

    Raises
    ------
    NotInPlan
        The plan has no such fault, or several.
    """
    every = single_faults(plan)
    exact = next((fault for fault in every if fault.text == text), None)
    return (exact,) if exact else tuple(_one(every, part) for part in THEN.split(text))


def _one(every: Sequence[Fault], text: str) -> Fault:
    written = _plain(text)
    same = [fault for fault in every if written in map(_plain, _ways_to_say(fault))]
    if len(same) == 1:
        return same[0]
    texts = [fault.text for fault in same]
    if same:
        raise NotInPlan(f"{text}: there are {len(same)} such faults, say which: {_some(texts)}")
    said = {_plain(way): fault for fault in reversed(every) for way in _ways_to_say(fault)}
    meant = said.get(nearest_word(written, reversed(said)))
    others = [f.text for f in every if meant and f is not meant and (f.wires, f.devices) == (meant.wires, meant.devices)]
    more = f"; also known: {_some(others)}" if others else ""
    raise NotInPlan(
        f"{text}: the plan has no such fault{_meant(meant.text if meant else '')}{more}; `wirecheck faults` lists them all"
    )


def _ways_to_say(fault: Fault) -> Iterable[str]:
    yield fault.text
    ends = re.search(r" \[(.+)\u2013(.+)\]", fault.text)
    if ends:
        yield fault.text.replace(ends[0], f" [{ends[2]}\u2013{ends[1]}]")
        yield fault.text.replace(ends[0], "")
    cores = re.fullmatch(r"(.+: )(.+) shorted to (.+)", fault.text)
    if cores:
        yield f"{cores[1]}{cores[3]} shorted to {cores[2]}"


def _plain(text: str) -> str:
    """A fault without what hands write differently: dashes, spaces, capitals."""
    return re.sub(r"\s+", " ", re.sub(r"\s*[-\u2010-\u2015\u2212]\s*", "-", text)).strip().casefold()


def _some(texts: Sequence[str]) -> str:
    shown = [*texts[:MOST_NAMED], *([f"{len(texts) - MOST_NAMED} more"] if len(texts) > MOST_NAMED else [])]
    return "; ".join(shown)
