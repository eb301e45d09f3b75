"""What a drawing is made of: lines, circles and texts in named groups. Units are points on the sheet; y grows downward."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

Point = tuple[float, float]
BLACK = "#000000"
GREY = "#777777"


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn. `dash` are lengths of line and gap; empty means a full line."""

    colour: str = BLACK
    width: float = 0.9
    dash: tuple[float, ...] = ()


THIN = Pen(width=0.6)
NORMAL = Pen()
BOLD = Pen(width=1.6)
LINKAGE = Pen(width=0.6, dash=(3.0, 2.0))
"""Mechanical connection: a dashed line (IEC 60617)."""


@dataclass(frozen=True, slots=True)
class Line:
    """A polyline, or a closed figure with an optional filling."""

    points: tuple[Point, ...]
    pen: Pen | None = NORMAL
    closed: bool = False
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle."""

    x: float
    y: float
    radius: float
    pen: Pen | None = NORMAL
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; `y` is its baseline, `anchor` one of start, middle, end."""

    x: float
    y: float
    content: str
    size: float = 6.0
    bold: bool = False
    anchor: str = "start"
    colour: str = BLACK


Shape = Line | Circle | Text


@dataclass(frozen=True, slots=True)
class Group:
    """Shapes that belong together: a device, a contact, a wire. `data` tells a reader of the file what they stand for."""

    kind: str
    name: str
    shapes: tuple[Shape, ...]
    title: str = ""
    data: Mapping[str, str] = field(default_factory=dict)


def line(*points: Point, pen: Pen = NORMAL) -> Line:
    """An open polyline."""
    return Line(tuple(points), pen)


def rectangle(left: float, top: float, right: float, bottom: float, pen: Pen | None = NORMAL, fill: str | None = None) -> Line:
    """A rectangle by its edges."""
    return Line(((left, top), (right, top), (right, bottom), (left, bottom)), pen, True, fill)


def arc(x: float, y: float, radius: float, start: float, end: float, pen: Pen = NORMAL, squeeze: float = 1.0) -> Line:
    """Part of a circle between two angles (degrees, clockwise from the right) as a polyline; `squeeze` makes it narrower."""
    steps = max(6, int(abs(end - start) / 15))
    angles = [math.radians(start + (end - start) * n / steps) for n in range(steps + 1)]
    return Line(tuple((x + radius * squeeze * math.cos(a), y + radius * math.sin(a)) for a in angles), pen)


def moved(shape: Shape, dx: float, dy: float) -> Shape:
    """The shape at another place."""
    if isinstance(shape, Line):
        return replace(shape, points=tuple((x + dx, y + dy) for x, y in shape.points))
    return replace(shape, x=shape.x + dx, y=shape.y + dy)


def moved_group(group: Group, dx: float, dy: float) -> Group:
    """The group at another place."""
    return replace(group, shapes=tuple(moved(s, dx, dy) for s in group.shapes))


def parallel(points: Sequence[Point], offset: float) -> list[Point]:
    """A line beside a right-angled one, to its right as one walks it (so below one that goes to the right)."""
    legs = list(zip(points, points[1:], strict=False))
    normals = [(-_sign(b[1] - a[1]), _sign(b[0] - a[0])) for a, b in legs]
    out: list[Point] = []
    for n, (x, y) in enumerate(points):
        before, after = normals[max(n - 1, 0)], normals[min(n, len(normals) - 1)]
        dx = before[0] or after[0]
        dy = before[1] or after[1]
        # On a straight stretch both normals are the same; at a corner each axis takes its own leg's.
        out.append((x + dx * offset, y + dy * offset))
    return out


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)


def tidy(points: Iterable[Point]) -> tuple[Point, ...]:
    """The polyline without repeated points and without points in the middle of a straight stretch."""
    out: list[Point] = []
    for p in points:
        if out and out[-1] == p:
            continue
        if len(out) > 1 and (out[-2][0] == out[-1][0] == p[0] or out[-2][1] == out[-1][1] == p[1]):
            out[-1] = p
        else:
            out.append(p)
    return tuple(out)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A drawing ready to be written out: its real size in millimetres, the same in drawing units, and all that is on it."""

    title: str
    width_mm: float
    height_mm: float
    width: float
    height: float
    groups: tuple[Group, ...]
