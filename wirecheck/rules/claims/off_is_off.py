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
            "circuit leaves ahead of the isolators, and its wires are not orange; only advice where the plan does not state "
            "their colour, and where a plug feeds the machine.",
            "enum": ["one-pole", "ahead"],
        }
    },
}
WORDS = frozenset({"device", "terminals", "isolators"})

ORANGE = "OG"
NOT_A_PHASE = ("N", "PE")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device that stays live."""
    isolators = facts.of_kind("isolator")
    found: list[Finding | Proof] = list(_live(rule, facts, isolators)) if isolators else []
    yield from found or [rule.proof(1, condition_reached=bool(isolators))]


def _live(rule: Rule, facts: Facts, isolators: Iterable[Device]) -> Iterator[Finding]:
    ends = taking_ends(facts)
    told: set[str] = set()
    for b in facts.views:
        off, on = b.reached, b.reached
        for isolator in isolators:
            if not b.is_inert(isolator.name):
                off &= b.at(isolator.name, "off")
        for name, terminals in ends.items():
            left = [t for t in terminals if met(b, t, off)]
            cut = [t for t in terminals if t not in left and met(b, t, on)]
            colours = _colours(facts, left)
            if left and name not in told and bool(cut) == (rule.claim["which"] == "one-pole") and colours != {ORANGE}:
                told.add(name)
                device = facts.plan.devices[name]
                yield rule.finding(
                    device.spot,
                    devices=(name, *(i.name for i in isolators)),
                    severity=_milder(rule, facts, colours),
                    device=device.label(),
                    terminals=join_words(map(str, left)),
                    isolators=join_words(i.label() for i in isolators),
                )


def taking_ends(facts: Facts) -> Mapping[str, list[Terminal]]:
    """The terminals by which devices take their current from the mains."""
    found: dict[str, list[Terminal]] = {}
    for e in elements_of(facts.plan):
        if e.kind in ("coil", "load", "winding") and e.device:
            found.setdefault(e.device, []).extend((e.a, e.b))
    for device in facts.of_kind("drive", "dc-supply"):
        marks = marks_of(section(device.values, "input"), "terminals", ("L", "N")) if device.kind == "drive" else ("L", "N")
        found.setdefault(device.name, []).extend(map(device.terminal, marks))
    return found


def met(b: Behaviour, terminal: Terminal, states: int, supply: str = "", marks: Iterable[str] = ()) -> bool:
    """Whether a phase of the mains is on a terminal in some of these states; of one `supply`, or its `marks`, where given."""
    wanted = tuple(marks)
    mains = (s for s in b.model.sources if s.feed is None and s.role == "supply" and supply in ("", s.device))
    poles = ((s, p) for s in mains for p in s.poles if (p.mark in wanted if wanted else p.mark not in NOT_A_PHASE))
    return any(b.model.supplies.at(s, p, terminal) & states & b.model.supplies.live[s.name] for s, p in poles)


def _colours(facts: Facts, terminals: Iterable[Terminal]) -> set[str]:
    """The colours of the wires on these terminals; where orange is the only one they are marked as staying live."""
    ends = set(terminals)
    return {w.colour for w in facts.plan.wires if w.a in ends or w.b in ends}


def _milder(rule: Rule, facts: Facts, colours: set[str]) -> str | None:
    """Advice, where a circuit ahead of the isolators may be marked, or a plug is what cuts the machine off."""
    supplies = facts.of_kind("mains")
    pulled = len(supplies) == 1 and "plug" in supplies[0].values
    return "advice" if rule.claim["which"] == "ahead" and ("" in colours or pulled) else None
