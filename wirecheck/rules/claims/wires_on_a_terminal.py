"""No terminal has more wires on it than terminals of its sort usually take.

A plan knows no data sheets. So the number is what is common; where a strip or an earth bar is made for more its `holds` says so.
"""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Plan, Terminal, Wire
from wirecheck.rules.record import Rule

CONDITIONS = {
    "required": ["at_most"],
    "properties": {
        "at_most": {
            "description": "So many wires a terminal takes. A terminal block takes them on each side, a supply on each of "
            "two clamps; of an earth bar each terminal takes one.",
            "type": "integer",
            "minimum": 1,
        }
    },
}
WORDS = frozenset({"terminal", "number", "limit", "device"})

TWICE = frozenset({"terminal-block", "dc-supply", "transformer"})
"""A terminal block has two sides; supplies mostly have each pole on two clamps. Common practice, no source."""

LEGS = frozenset({"diode", "capacitor", "resistor"})
"""Parts that clip onto a coil or stand on their own legs beside the wire. Common practice, no source."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each terminal."""
    most = rule.claim["at_most"]
    if not isinstance(most, int):
        raise TypeError("at_most is a number")
    on = _wires_on(facts.plan)
    full = [(t, wires, limit) for t, wires in on.items() if len(wires) > (limit := _limit(facts.plan.devices[t.device], most))]
    for terminal, wires, limit in full:
        yield rule.finding(
            wires[limit].spot,
            devices=[terminal.device],
            wires=tuple(dict.fromkeys(w.number for w in wires)),
            terminal=str(terminal),
            number=str(len(wires)),
            limit=str(limit),
            device=facts.plan.devices[terminal.device].label(),
        )
    if not full:
        yield rule.proof(1, condition_reached=bool(on))


def _wires_on(plan: Plan) -> dict[Terminal, list[Wire]]:
    """The wires on each terminal, without the legs of small parts."""
    found: dict[Terminal, list[Wire]] = {}
    for wire in plan.wires:
        for here, there in ((wire.a, wire.b), (wire.b, wire.a)):
            if plan.devices[there.device].kind not in LEGS:
                found.setdefault(here, []).append(wire)
    return found


def _limit(device: Device, most: int) -> int:
    holds = device.values.get("holds")
    if isinstance(holds, int):
        return holds
    return 1 if device.kind == "earth-bar" else 2 * most if device.kind in TWICE else most
