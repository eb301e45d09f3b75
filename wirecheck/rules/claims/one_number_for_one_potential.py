"""Where a plan numbers its wires by potential, every potential has one number.

Some plans give every wire a number of its own. They are left alone: a plan numbers by potential where most potentials of
several runs have one number.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Plan, Terminal, Wire
from wirecheck.plan.potentials import EARTH_COLOUR, EARTH_NUMBERS, Joined
from wirecheck.rules.record import Rule, join_words

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"number", "other", "wire"})

THROUGH = frozenset({"overload-relay", "line-filter", "line-reactor"})
"""What a current passes and always could; a wire mostly has another number behind it. Common practice, no source."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each potential with several numbers, at the first wire of the rarest."""
    shared = [wires for wires in _potentials(facts.plan) if len({w.run for w in wires}) > 1]
    mixed = [wires for wires in shared if len({w.number for w in wires}) > 1]
    by_potential = 2 * len(mixed) < len(shared)
    for wires in mixed if by_potential else ():
        yield _finding(rule, wires)
    if not mixed or not by_potential:
        yield rule.proof(1, condition_reached=by_potential)


def _potentials(plan: Plan) -> list[list[Wire]]:
    """The wires of each potential, as wires and links join it; those of the earth, and what is bonded to it, are left out."""
    joined = Joined()
    for wire in plan.wires:
        joined.join((wire.a, wire.b))
    for device in plan.devices.values():
        for link in device.links if device.kind not in THROUGH else ():
            joined.join([Terminal(device.name, mark) for mark in link])
    earth = {joined.root(w.a) for w in plan.wires if w.colour == EARTH_COLOUR or w.number in EARTH_NUMBERS}
    found: dict[Terminal, list[Wire]] = {}
    for wire in plan.wires:
        if (root := joined.root(wire.a)) not in earth:
            found.setdefault(root, []).append(wire)
    return list(found.values())


def _finding(rule: Rule, wires: list[Wire]) -> Finding:
    often = Counter(w.number for w in wires).most_common()
    rare = next(w for w in wires if w.number == often[-1][0])
    return rule.finding(
        rare.spot,
        devices=tuple(dict.fromkeys((rare.a.device, rare.b.device))),
        wires=[number for number, _ in often],
        number=join_words(number for number, _ in often),
        other=often[0][0],
        wire=str(rare),
    )
