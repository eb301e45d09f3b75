"""A device put together in the plan itself: its elements become contacts, links and marks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from wirecheck.nodes import Node
from wirecheck.plan.model import Contact
from wirecheck.plan.scalars import split_path
from wirecheck.plan.values import ValueReader

ELEMENTS: Mapping[str, tuple[str, ...]] = {
    "contact": ("closed_in", "direct_opening"),
    "coil": ("voltage", "power"),
    "link": (),
    "load": ("voltage", "power"),
    "resistor": ("resistance", "power"),
}
"""What a custom device can be made of, and what may be said of each. An element is exactly one of these."""


@dataclass(slots=True)
class Parts:
    """What the elements come to. `states` are `out` and `in` where one of them is a coil."""

    contacts: list[Contact] = field(default_factory=list)
    links: tuple[tuple[str, ...], ...] = ()
    marks: list[str] = field(default_factory=list)
    states: tuple[str, ...] = ()


def custom_parts(name: str, values: Mapping[str, object], node: Node | None, reader: ValueReader) -> Parts:
    """The parts of a custom device from its elements; whatever does not fit together is noted at its element."""
    parts = Parts()
    given = values.get("elements")
    if node is None or not isinstance(given, tuple) or len(given) != len(node.items):
        return parts
    elements = [(element, at) for element, at in zip(given, node.items, strict=True) if _is_one(name, element, at, reader)]
    coils = [at for element, at in elements if "coil" in element]
    positions = values.get("positions")
    states = tuple(map(str, positions)) if isinstance(positions, tuple) else ()
    if coils:
        parts.states = ("out", "in")
        for at in coils[1:]:
            reader.problems.add(
                at, f"{name}: a second coil stands here", "one coil in a device; write a second device for another"
            )
        if states:
            reader.problems.add(
                coils[0], f"{name} has positions and a coil", "positions for what is worked by hand, or a coil, not both"
            )
    for element, at in elements:
        _take(name, element, at, parts.states or states, parts, reader)
    return parts


def _is_one(name: str, element: Mapping[str, object], at: Node, reader: ValueReader) -> bool:
    what = [key for key in ELEMENTS if key in element]
    if len(what) != 1:
        reader.problems.add(
            at, f"{name}: an element is {' and '.join(what) or 'nothing'} at once", "exactly one of " + ", ".join(ELEMENTS)
        )
        return False
    for key, _ in at.pairs:
        if key.text in element and key.text != what[0] and key.text not in ELEMENTS[what[0]]:
            reader.problems.unknown(key, f"{name}: a {what[0]} has no `{key.text}`", key.text, ELEMENTS[what[0]])
    return True


def _take(name: str, element: Mapping[str, object], at: Node, states: tuple[str, ...], parts: Parts, reader: ValueReader) -> None:
    """Add one element to the parts."""
    if "link" in element:
        link = element["link"]
        assert isinstance(link, tuple)
        parts.links += (link,)
        parts.marks += link
    elif "contact" in element:
        _contact(name, element, at, states, parts, reader)
    else:
        path = next(str(element[key]) for key in ("coil", "load", "resistor") if key in element)
        parts.marks += split_path(path)


def _contact(
    name: str, element: Mapping[str, object], at: Node, states: tuple[str, ...], parts: Parts, reader: ValueReader
) -> None:
    path, closed_in = str(element["contact"]), element.get("closed_in")
    if not isinstance(closed_in, tuple):
        reader.problems.add(
            at, f"{name}: the contact {path} does not say when it conducts", f"closed_in with some of {', '.join(states)}"
        )
        return
    for state in closed_in:
        if state not in states:
            reader.problems.unknown(
                at, f"{name}: the contact {path} is closed in `{state}`, which is no position of it", state, states
            )
    a, b = split_path(path)
    forced = element.get("direct_opening") is True
    spot = reader.problems.spot(at)
    parts.contacts.append(Contact(name, path, a, b, frozenset(map(str, closed_in)), "closed-in", spot, direct_opening=forced))
