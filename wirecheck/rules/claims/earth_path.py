"""The way from each exposed metal part to the supply's protective conductor."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.circuit import CONDUCTS, elements_of
from wirecheck.circuit.metal import exposed_parts
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device, Quantity, Terminal
from wirecheck.plan.potentials import always_joined
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import shortest_walk

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "missing: nothing leads there. switched: only contacts, fuses or the like do. borrowed: it leads over "
            "another part, which somebody may take away. by-screen: only the screen of a cable does. not-asked: a pump or "
            "heater at a dangerous voltage has no PE terminal in the plan.",
            "enum": ["missing", "switched", "borrowed", "by-screen", "not-asked"],
        }
    },
}
WORDS = frozenset({"device", "terminal", "through", "wired"})

LEADS_ON = frozenset({"drive", "mains", "earth-bar", "terminal-block", "plug-connector", "line-filter"})
"""Kinds that have several PE terminals, so that taking one wire away leaves the others."""

MAYBE_METAL = frozenset({"pump", "fan", "heater", "solenoid", "load", "lamp"})
"""Kinds that have a PE terminal where their case is metal."""

LAMP_W = 5.0
"""A lamp of less is a signal lamp, of plastic. Common practice, no source."""

TOUCH_V = 50.0
"""Above this an a.c. voltage is dangerous to touch: the limit of extra-low voltage, IEC 61140:2016 (value from memory)."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each exposed part with such a way; one for all whose case is not known to be of metal."""
    which = str(rule.claim["which"])
    parts = _maybe_metal(facts) if which == "not-asked" else exposed_parts(facts.plan) if facts.metal.earth else ()
    kind = {"missing": _missing, "switched": _switched, "borrowed": _borrowed, "by-screen": _by_screen}.get(which)
    found: list[Finding | Proof] = [finding for part in parts for finding in (kind(rule, facts, part) if kind else ())]
    if which == "not-asked" and parts:
        found.append(_not_asked(rule, parts))
    yield from found or [rule.proof(1, condition_reached=bool(parts))]


def _maybe_metal(facts: Facts) -> tuple[Device, ...]:
    fed = {way.element.device for way in facts.ways_fed if way.source.kind == "AC" and way.volts > TOUCH_V}
    return tuple(d for d in facts.of_kind(*sorted(MAYBE_METAL)) if d.name in fed and "PE" not in d.marks and not _signals(d))


def _signals(device: Device) -> bool:
    power = device.values.get("power")
    return device.kind == "lamp" and not (isinstance(power, Quantity) and power.value >= LAMP_W)


def _not_asked(rule: Rule, parts: tuple[Device, ...]) -> Finding:
    return rule.finding(
        parts[0].spot,
        devices=tuple(part.name for part in parts),
        rests_on=tuple(f"{part.name} PE is not stated" for part in parts),
        device=join_words(part.label() for part in parts),
        terminal="",
        through="",
        wired="",
    )


def _pe(device: Device) -> Terminal:
    return device.terminal("PE")


def _way(facts: Facts, part: Device) -> list[Terminal]:
    """A way to the supply's earth through whatever conducts; empty where there is none."""
    elements = [e for e in elements_of(facts.plan) if e.kind in CONDUCTS and e.kind != "diode"]
    supplies = [_pe(d) for d in facts.of_kind("mains")]
    return min((w for s in supplies if (w := shortest_walk(elements, [_pe(part)], s))), key=len, default=[])


def _missing(rule: Rule, facts: Facts, part: Device) -> Iterator[Finding]:
    if facts.metal.is_earthed(_pe(part)) or _way(facts, part):
        return
    wires = [w for w in facts.plan.wires if _pe(part) in (w.a, w.b)]
    ends = join_words(str(w.b if w.a == _pe(part) else w.a) for w in wires)
    yield rule.finding(
        part.spot,
        devices=(part.name,),
        wires=tuple(dict.fromkeys(w.number for w in wires)),
        device=part.label(),
        terminal=str(_pe(part)),
        through="",
        wired=f"its wire ends at {ends}, and nothing leads on from there" if wires else "no wire is on it",
    )


def _switched(rule: Rule, facts: Facts, part: Device) -> Iterator[Finding]:
    if facts.metal.is_earthed(_pe(part)):
        return
    way = _way(facts, part)
    if way:
        steps = zip(way, way[1:], strict=False)
        through = dict.fromkeys(a.device for a, z in steps if a.device == z.device and not facts.metal.same(a, z))
        yield rule.finding(
            facts.plan.devices[next(iter(through))].spot,
            devices=(*through, part.name),
            evidence=Evidence(walk=tuple(map(str, way))),
            device=part.label(),
            terminal=str(_pe(part)),
            through=join_words(through),
            wired="",
        )


def _borrowed(rule: Rule, facts: Facts, part: Device) -> Iterator[Finding]:
    """Findings at the part that lends its terminal, one for each that borrows."""
    wires = [w for w in facts.plan.wires if _pe(part) in (w.a, w.b)]
    if part.kind in LEADS_ON or len(wires) < 2 or not facts.metal.is_earthed(_pe(part)):
        return
    kept = [w for w in facts.plan.wires if w not in wires]
    joined = always_joined(facts.plan.devices.values(), kept)
    supplies = {joined.root(_pe(d)) for d in facts.of_kind("mains")}
    others = [d for d in exposed_parts(facts.plan) if d.name != part.name and facts.metal.is_earthed(_pe(d))]
    losing = [d for d in others if joined.root(_pe(d)) not in supplies]
    if losing:
        yield rule.finding(
            wires[-1].spot,
            devices=(part.name, *(d.name for d in losing)),
            wires=tuple(dict.fromkeys(w.number for w in wires)),
            device=part.label(),
            terminal=str(_pe(part)),
            through=join_words(d.label() for d in losing),
            wired="",
        )


def _by_screen(rule: Rule, facts: Facts, part: Device) -> Iterator[Finding]:
    screens = [w for w in facts.plan.wires if w.is_screen]
    if not screens or not facts.metal.is_earthed(_pe(part)):
        return
    joined = always_joined(facts.plan.devices.values(), [w for w in facts.plan.wires if w not in screens])
    if joined.root(_pe(part)) not in {joined.root(_pe(d)) for d in facts.of_kind("mains")}:
        yield rule.finding(
            screens[0].spot,
            devices=(part.name,),
            wires=tuple(dict.fromkeys(w.number for w in screens)),
            device=part.label(),
            terminal=str(_pe(part)),
            through=join_words(dict.fromkeys(str(w.cable) for w in screens)),
            wired="",
        )
