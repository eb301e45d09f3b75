"""With every isolator off, no phase of the mains reaches anything that takes current."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wirecheck.behaviour import Behaviour
from wirecheck.circuit import elements_of
from wirecheck.circuit.elements import marks_of, section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.record import Rule, join_words

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "one-pole: a device is live on one phase while another of its phases is cut. ahead: a whole "
            "circuit leaves ahead of the isolators, and its wires are not orange.",
            "enum": ["one-pole", "ahead"],
        }
    },
}
WORDS = frozenset({"device", "terminals", "isolators"})

ORANGE = "OG"


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device that stays live."""
    isolators = facts.of_kind("isolator")
    found: list[Finding | Proof] = list(_live(rule, facts, isolators)) if isolators else []
    yield from found or [rule.proof(1, condition_reached=bool(isolators))]


def _live(rule: Rule, facts: Facts, isolators: Iterable[Device]) -> Iterator[Finding]:
    ends = _ends(facts)
    told: set[str] = set()
    for b in facts.views:
        off, on = b.reached, b.reached
        for isolator in isolators:
            if not b.is_inert(isolator.name):
                off &= b.at(isolator.name, "off")
        for name, terminals in ends.items():
            left = [t for t in terminals if _met(b, t, off)]
            cut = [t for t in terminals if t not in left and _met(b, t, on)]
            if left and name not in told and bool(cut) == (rule.claim["which"] == "one-pole") and not _orange(facts, left):
                told.add(name)
                device = facts.plan.devices[name]
                yield rule.finding(
                    device.spot,
                    devices=(name, *(i.name for i in isolators)),
                    device=device.label(),
                    terminals=join_words(map(str, left)),
                    isolators=join_words(i.label() for i in isolators),
                )


def _ends(facts: Facts) -> Mapping[str, list[Terminal]]:
    """The terminals by which devices take their current from the mains."""
    found: dict[str, list[Terminal]] = {}
    for e in elements_of(facts.plan):
        if e.kind in ("coil", "load", "winding") and e.device:
            found.setdefault(e.device, []).extend((e.a, e.b))
    for device in facts.of_kind("drive", "dc-supply"):
        marks = marks_of(section(device.values, "input"), "terminals", ("L", "N")) if device.kind == "drive" else ("L", "N")
        found.setdefault(device.name, []).extend(map(device.terminal, marks))
    return found


def _met(b: Behaviour, terminal: Terminal, states: int) -> bool:
    """Whether a phase of the mains is on a terminal in some of these states."""
    phases = (
        (s, p) for s in b.model.sources if s.feed is None and s.role == "supply" for p in s.poles if p.mark not in ("N", "PE")
    )
    return any(b.model.supplies.at(s, p, terminal) & states & b.model.supplies.live[s.name] for s, p in phases)


def _orange(facts: Facts, terminals: Iterable[Terminal]) -> bool:
    """Whether the wires on these terminals are orange: marked as staying live."""
    ends = set(terminals)
    wires = [w for w in facts.plan.wires if w.a in ends or w.b in ends]
    return bool(wires) and all(w.colour == ORANGE for w in wires)
