"""The colours of protective and neutral conductors, where the plan states them. Regions differ: see COLOURS."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from wirecheck.circuit.metal import is_earth_terminal
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Terminal, Wire
from wirecheck.rules.record import Rule

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "earth: a protective conductor in another colour. earth-colour: the earth's colour on anything else. "
            "neutral: a neutral in another colour. neutral-colour: the neutral's colour on a phase.",
            "enum": ["earth", "earth-colour", "neutral", "neutral-colour"],
        }
    },
}
WORDS = frozenset({"wire", "colour", "right"})

COLOURS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "IEC": {"earth": ("GNYE",), "neutral": ("BU",)},
    "NA": {"earth": ("GNYE", "GN"), "neutral": ("WH", "GY")},
}
"""IEC 60204-1:2016, 13.2; NFPA 79, 13.2 (value from memory)."""

STAYS_LIVE = "OG"
"""The colour of circuits that stay live when the isolator is off, neutral included."""

IN_WORDS = {"GNYE": "green-yellow", "GN": "green", "BU": "light blue", "WH": "white", "GY": "grey"}


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each wrong colour, with all wires that have it."""
    which = str(rule.claim["which"])
    part, _, not_there = which.partition("-")
    right = COLOURS["NA" if facts.plan.machine.region == "NA" else "IEC"][part]
    kinds: Mapping[str, Callable[[Facts, Wire], bool]]
    kinds = {"earth": _is_protective, "earth-colour": _is_no_earth, "neutral": _is_neutral, "neutral-colour": _is_live}
    is_such = kinds[which]
    stated = [w for w in facts.plan.wires if w.colour]
    suspects = [w for w in stated if _matches(w, right) == bool(not_there) and is_such(facts, w)]
    by_colour: dict[str, list[Wire]] = {}
    for wire in suspects:
        by_colour.setdefault(wire.colour, []).append(wire)
    for colour, wires in by_colour.items():
        yield rule.finding(
            wires[0].spot,
            devices=tuple(dict.fromkeys(t.device for w in wires for t in (w.a, w.b))),
            wires=tuple(dict.fromkeys(w.number for w in wires)),
            wire=str(wires[0]) + (f" and {len(wires) - 1} more" if len(wires) > 1 else ""),
            colour=colour,
            right=" or ".join(f"{IN_WORDS[code]} ({code})" for code in right),
        )
    if not suspects:
        yield rule.proof(1, condition_reached=any(is_such(facts, w) for w in stated))


def _matches(wire: Wire, right: tuple[str, ...]) -> bool:
    """Whether a wire has one of these colours; of the neutral's, a stripe on it is allowed."""
    return wire.colour in right or ("GNYE" not in right and wire.colour.partition("/")[0] in right)


def _is_protective(facts: Facts, wire: Wire) -> bool:
    """A wire on the PE terminal of a part or supply. One that bonds a supply's pole is no protective conductor."""
    ends = (wire.a, wire.b)
    poles = {pole for source in facts.sources for pole in source.poles if pole.mark != "PE"}
    return any(_is_pe(facts, t) for t in ends) and not any(t in poles for t in ends)


def _is_pe(facts: Facts, terminal: Terminal) -> bool:
    return is_earth_terminal(facts.plan, terminal) and facts.plan.devices[terminal.device].kind != "earth-bar"


def _is_no_earth(facts: Facts, wire: Wire) -> bool:
    return facts.metal.net(wire.a) not in facts.metal.any_earth


def _mains_poles(facts: Facts, wire: Wire) -> set[str]:
    """The marks of the mains poles that ever reach a wire, PE left out; none where the wire is part of the earth."""
    if facts.metal.net(wire.a) in facts.metal.any_earth:
        return set()
    kinds = facts.plan.devices
    return {pole.mark for s, pole in facts.touched.poles(wire.a) if kinds[s.device].kind == "mains" and pole.mark != "PE"}


def _is_neutral(facts: Facts, wire: Wire) -> bool:
    return _mains_poles(facts, wire) == {"N"} and wire.colour != STAYS_LIVE


def _is_live(facts: Facts, wire: Wire) -> bool:
    marks = _mains_poles(facts, wire)
    return bool(marks) and "N" not in marks
