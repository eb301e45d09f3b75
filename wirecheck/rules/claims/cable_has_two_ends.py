"""The cores of one cable run between the same two places: a cable has two ends."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Cable, Plan, Wire
from wirecheck.rules.record import Rule, join_words

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"cable", "where", "wire"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each cable, with the wires that leave its two places. A device without a place may be at either of them."""
    plan = facts.plan
    cores: dict[str, list[Wire]] = {}
    for wire in plan.wires:
        if wire.cable in plan.cables:
            cores.setdefault(str(wire.cable), []).append(wire)
    found: list[Finding | Proof] = []
    for name, wires in cores.items():
        places = list(dict.fromkeys(place for wire in wires for place in _places(plan, wire)))
        if len(places) > 2:
            found.append(_finding(rule, plan, plan.cables[name], wires, places))
    yield from found or [rule.proof(1, condition_reached=any(_places(plan, w) for wires in cores.values() for w in wires))]


def _places(plan: Plan, wire: Wire) -> list[str]:
    """The places at the ends of a wire, as far as the plan says."""
    return [place for end in (wire.a, wire.b) if (place := plan.devices[end.device].place)]


def _finding(rule: Rule, plan: Plan, cable: Cable, wires: list[Wire], places: list[str]) -> Finding:
    """The two places between which most of its cores run are its ends; of equals those that the plan names first."""
    pairs = Counter(frozenset(both) for wire in wires if len(both := set(_places(plan, wire))) == 2)
    ends = pairs.most_common(1)[0][0] if pairs else frozenset(places[:2])
    astray = [wire for wire in wires if not set(_places(plan, wire)) <= ends]
    return rule.finding(
        astray[0].spot,
        devices=tuple(dict.fromkeys(t.device for w in astray for t in (w.a, w.b))),
        wires=tuple(dict.fromkeys(w.number for w in astray)),
        cable=cable.name,
        where=join_words(places),
        wire=join_words(map(str, astray)),
    )
