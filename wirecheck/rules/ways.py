"""The ways between terminals through elements of some kinds, whatever the state. For the claim kinds joined and not-joined."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable, Mapping

from wirecheck.circuit import Element, elements_of
from wirecheck.plan.model import Plan, Terminal
from wirecheck.rules.record import Rule
from wirecheck.rules.select import TERMINALS, described, listed

KINDS = ("wire", "link", "contact", "diode", "coil", "load", "winding", "resistor", "capacitor")
SOLID = ("wire", "link")
CONDITIONS = {
    "required": ["each", "to"],
    "properties": {
        "each": described(TERMINALS, "The terminals that are looked at, each by itself."),
        "to": described(TERMINALS, "The terminals that each is, or is not, to be joined to."),
        "through": {
            "description": "What a way between them may lead through; wires and links where it is not given.",
            "type": "array",
            "minItems": 1,
            "items": {"enum": list(KINDS)},
        },
    },
}

Ways = Mapping[Terminal, list[tuple[Terminal, Element]]]


def ways_of(rule: Rule, plan: Plan) -> Ways:
    """From each terminal, the next ones with the element between, for the elements that the rule's `through` lets pass."""
    through = listed(rule.claim.get("through")) or SOLID
    ways: dict[Terminal, list[tuple[Terminal, Element]]] = {}
    for element in elements_of(plan):
        if element.kind in through:
            ways.setdefault(element.a, []).append((element.b, element))
            ways.setdefault(element.b, []).append((element.a, element))
    return ways


def way_to(ways: Ways, start: Terminal, goals: Collection[Terminal]) -> tuple[Terminal, ...]:
    """The terminals on a shortest way from a start to any of the goals, both included; empty where there is none."""
    came: dict[Terminal, Terminal | None] = {start: None}
    waiting = deque([start])
    while waiting:
        here = waiting.popleft()
        if here in goals:
            return _back(came, here)
        for there, _ in ways.get(here, ()):
            if there not in came:
                came[there] = here
                waiting.append(there)
    return ()


def _back(came: Mapping[Terminal, Terminal | None], end: Terminal) -> tuple[Terminal, ...]:
    way = []
    step: Terminal | None = end
    while step is not None:
        way.append(step)
        step = came[step]
    return tuple(reversed(way))


def wires_of(ways: Ways, way: Iterable[Terminal]) -> tuple[str, ...]:
    """The numbers of the wires on a way."""
    stops = list(way)
    numbers = (
        element.wire.number
        for here, there in zip(stops, stops[1:], strict=False)
        for other, element in ways[here]
        if other == there and element.wire is not None
    )
    return tuple(dict.fromkeys(numbers))
