"""A cable's jacket around its cores, and what is written where it enters a place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecheck.drawings.grid import PITCH
from wirecheck.drawings.lettering import SMALLEST, clean, shorten, width
from wirecheck.drawings.shapes import Group, Line, Pen, Point, Shape, Text, parallel
from wirecheck.plan.model import Cable

_INTO_FRAME = 5.0
_NAME, _DETAIL = 8.0, SMALLEST
_GAP = 3.0
_MOST_NAME = 70.0
FILL = "#ececec"


def jacket(cable: Cable, centre: Sequence[Point], count: int) -> Group:
    """The band around the cores from frame to frame, dashed where the cable is screened.

    Its designation stands at both ends, its data at the first alone.
    """
    centre = _longer(centre)
    half = (count - 1) / 2 * PITCH + 4
    outline = (*parallel(centre, half), *reversed(parallel(centre, -half)))
    pen = Pen("#555555", 0.9, (4.0, 2.0)) if cable.screened else Pen("#555555", 0.7)
    shapes: list[Shape] = [Line(outline, pen, True, FILL)]
    shapes += _words(_texts(cable), centre[0], centre[1], half)
    # Between frames that are near to each other the words are written once.
    if len(centre) > 2 or abs(centre[-1][0] - centre[0][0]) > words_room(cable) + name_room(cable) + 2 * (_INTO_FRAME + 2 * _GAP):
        shapes += _words((_name(cable), "", ""), centre[-1], centre[-2], half)
    return Group("cable", cable.name, tuple(shapes), f"cable {clean(cable.name)}", {"drawn": str(count)})


def _longer(centre: Sequence[Point]) -> list[Point]:
    """The middle line taken a little into both frames: the jacket passes through the gland."""
    (x1, y1), (x2, y2) = centre[0], centre[-1]
    first = 1 if centre[1][0] > x1 else -1
    last = 1 if centre[-2][0] > x2 else -1
    return [(x1 - first * _INTO_FRAME, y1), *centre[1:-1], (x2 - last * _INTO_FRAME, y2)]


def _texts(cable: Cable) -> tuple[str, str, str]:
    """Designation; cores and size; length and screen."""
    size = cable.size_text.replace("mm2", "mm\u00b2")
    cores = f"{cable.cores}" if cable.cores else ""
    length = f"{cable.length_m:g} m" if cable.length_m else ""
    detail = " \u00d7 ".join(part for part in (cores, size) if part)
    below = ", ".join(part for part in (length, "screened" if cable.screened else "") if part)
    return _name(cable), clean(detail), below


def _name(cable: Cable) -> str:
    return shorten(clean(cable.name), _NAME, _MOST_NAME, True)


def name_room(cable: Cable) -> float:
    """The width of what is written at the end that bears the designation alone."""
    return width(_name(cable), _NAME, True)


def words_room(cable: Cable) -> float:
    """The width of what is written at the end that bears all of a cable's data."""
    name, detail, below = _texts(cable)
    return max(width(name, _NAME, True) + _GAP + width(detail, _DETAIL), width(below, _DETAIL))


def _words(texts: tuple[str, str, str], at: Point, towards: Point, half: float) -> Iterator[Shape]:
    """Designation, cores and size above the jacket; length and screen below it."""
    right = towards[0] > at[0]
    edge = at[0] + (_INTO_FRAME + _GAP if right else -_INTO_FRAME - _GAP)
    name, detail, below = texts
    gap = width(name, _NAME, True) + _GAP
    start = edge if right else edge - (gap + width(detail, _DETAIL) if detail else gap - _GAP)
    yield Text(start, at[1] - half - 2.5, name, _NAME, True)
    if detail:
        yield Text(start + gap, at[1] - half - 2.5, detail, _DETAIL)
    if below:
        yield Text(edge, at[1] + half + 6, below, _DETAIL, anchor="start" if right else "end")
