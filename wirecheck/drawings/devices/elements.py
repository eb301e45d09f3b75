"""The building blocks of figures: one symbol with its terminals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from wirecheck.drawings.figures import Element
from wirecheck.drawings.lettering import width
from wirecheck.drawings.shapes import Shape
from wirecheck.drawings.symbols import loads
from wirecheck.plan.model import Device

MARK_SIZE = 6.0


def two_ended(draw: loads.Draw, top: str, bottom: str, right: float = 14.0) -> Element:
    """A symbol between a terminal above and one below."""
    return Element((top,), (bottom,), _one_column(draw), right=max(right, mark_room(top, bottom)))


def closed_way(draw: loads.Draw, top: str, bottom: str) -> Element:
    """A symbol that current always passes, shown as a closed way between its terminals."""
    room = max(14.0, mark_room(top, bottom))
    return Element((top,), (bottom,), _one_column(draw), "contact", f"{top}-{bottom}", {"state": "closed"}, right=room)


def single(draw: loads.Draw, mark: str) -> Element:
    """A symbol that hangs on one terminal above it."""
    return Element((mark,), (), _one_column(draw), right=mark_room(mark))


def earth(mark: str = "PE") -> Element:
    """The terminal of a protective conductor."""
    return single(loads.protective_earth, mark)


def _one_column(draw: loads.Draw) -> _OneColumn:
    return _OneColumn(draw)


class _OneColumn:
    """A symbol of one column as one of any number."""

    def __init__(self, draw: loads.Draw) -> None:
        self.draw = draw

    def __call__(self, xs: Sequence[float], top: float, bottom: float) -> list[Shape]:
        return self.draw(xs[0], top, bottom)


def mark_room(*marks: str) -> float:
    """The room that the longest of the marks takes beside its lead."""
    return max((width(m, MARK_SIZE, True) for m in marks), default=0.0) + 5


def marks_of(elements: Iterable[Element]) -> set[str]:
    """All terminal marks that the elements show."""
    return {m for e in elements for m in (*e.tops, *e.bottoms) if m is not None}


def listed(device: Device, *path: str) -> list[str]:
    """The marks in a parameter that is a list; empty where it is not stated."""
    value: object = device.values
    for key in path:
        value = value.get(key) if isinstance(value, Mapping) else None
    return [str(v) for v in value] if isinstance(value, list | tuple) else []
