"""What coils and loads are made for, beyond the size of their voltage."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour.supplies import kind_fits
from wirecheck.circuit import elements_of
from wirecheck.circuit.elements import Element
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Terminal
from wirecheck.rules.record import Rule, join_words

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "current: a.c. where d.c. is needed, or the reverse. unsuppressed: d.c. coils without anything "
            "across them in a plan that has a drive.",
            "enum": ["current", "unsuppressed"],
        }
    },
}
WORDS = frozenset({"device", "rated", "kind", "source", "coils"})

INDUCTIVE = ("relay", "contactor", "timer-relay", "solenoid")
DAMPS = frozenset({"diode", "resistor", "capacitor"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each coil or load of the wrong kind of current; one for all coils without suppression."""
    found: list[Finding | Proof] = list((_current if rule.claim["which"] == "current" else _unsuppressed)(rule, facts))
    yield from found or [rule.proof(1, condition_reached=bool(facts.ways_fed))]


def _current(rule: Rule, facts: Facts) -> Iterator[Finding]:
    told: set[str] = set()
    for way in facts.ways_fed:
        rated, name = way.element.rated, str(way.element.device)
        if rated is None or kind_fits(way.source, rated) or name in told:
            continue
        told.add(name)
        device = facts.plan.devices[name]
        yield rule.finding(
            device.lines.get("coil", device.lines.get("voltage", device.spot)),
            devices=(name, way.source.device),
            device=device.label(),
            rated=rated.text,
            kind="alternating" if way.source.kind == "AC" else "direct",
            source=way.source.name,
            coils="",
        )


def _unsuppressed(rule: Rule, facts: Facts) -> Iterator[Finding]:
    if not facts.of_kind("drive"):
        return
    damped = [{facts.metal.net(t) for t in (e.a, e.b)} for e in elements_of(facts.plan) if e.kind in DAMPS]
    bare = [n for n, e in _direct_coils(facts).items() if {facts.metal.net(t) for t in _ends(e)} not in damped]
    if bare:
        yield rule.finding(
            facts.plan.devices[bare[0]].spot, devices=bare, device="", rated="", kind="", source="", coils=join_words(bare)
        )


def _direct_coils(facts: Facts) -> dict[str, Element]:
    """The coils that a d.c. supply feeds, by device."""
    ways = (way for way in facts.ways_fed if way.source.kind == "DC" and kind_fits(way.source, way.element.rated))
    return {name: w.element for w in ways if facts.plan.devices[name := str(w.element.device)].kind in INDUCTIVE}


def _ends(element: Element) -> tuple[Terminal, Terminal]:
    return element.a, element.b
