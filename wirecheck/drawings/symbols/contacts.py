"""Contacts and poles as they stand at rest, and what moves them."""

from __future__ import annotations

from collections.abc import Sequence

from wirecheck.drawings.lettering import SMALLEST
from wirecheck.drawings.shapes import BLACK, LINKAGE, NORMAL, THIN, Circle, Line, Pen, Shape, Text, arc, line, rectangle

HALF = 8.0
"""Half the height of a contact."""


def contact(x: float, top: float, bottom: float, *, closed: bool, pole: str = "") -> list[Shape]:
    """A contact between a lead from above and one from below, open or closed as it stands.

    Open, its arm hangs to the left of the gap; closed, the arm lies against a stop on the right. A pole that is closed at
    rest has a straight arm. `pole` names the mark of its kind: `isolator`, `breaker` or `contactor`.
    """
    middle = (top + bottom) / 2
    up, down = middle - HALF, middle + HALF
    shapes: list[Shape] = [line((x, top), (x, up)), line((x, down), (x, bottom))]
    if not closed:
        shapes.append(line((x, down), (x - 7.5, up + 0.5)))
    elif pole:
        shapes.append(line((x, down), (x, up)))
    else:
        shapes += [line((x, up), (x + 6.5, up)), line((x, down), (x + 6, up - 2.5))]
    return shapes + _pole_mark(x, up, pole)


def _pole_mark(x: float, up: float, pole: str) -> list[Shape]:
    if pole == "breaker":
        return [line((x - 2.5, up - 2.5), (x + 2.5, up + 2.5)), line((x - 2.5, up + 2.5), (x + 2.5, up - 2.5))]
    if pole == "isolator":
        return [line((x - 3.5, up), (x + 3.5, up))]
    if pole == "contactor":
        return [arc(x, up - 2.5, 2.5, -90, 90)]
    return []


def changeover(xs: tuple[float, float, float], top: float, bottom: float, first_closed: bool) -> list[Shape]:
    """A change-over contact: the common lead above in the middle, the two others below; the arm lies on one of them."""
    common, first, second = xs
    middle = (top + bottom) / 2
    up, down = middle - HALF, middle + HALF
    on, off = (first, second) if first_closed else (second, first)
    reach = 2.0 if on > common else -2.0
    return [
        line((common, top), (common, up)),
        line((first, bottom), (first, down)),
        line((second, bottom), (second, down)),
        line((off, down), (off + (4 if off < common else -4), down)),
        line((on, down), (on + (4 if on < common else -4), down)),
        line((common, up), (on + (4 if on < common else -4) + reach, down + 1)),
    ]


def summation_transformer(poles: int, xs: Sequence[float], top: float, bottom: float) -> list[Shape]:
    """What makes a breaker one for residual current: a ring around all its conductors, and the release that it acts on.

    The release is a box with the sign of the difference of currents, coupled to the poles (IEC 60617).
    """
    middle, first, last = (top + bottom) / 2, xs[0], xs[poles - 1]
    ring, half, tall = middle + 17, (last - first) / 2 + 6, 4.0
    box = first - 20
    return [
        arc((first + last) / 2, ring, tall, 0, 360, squeeze=half / tall),
        line((first - 6, ring), (box, ring), (box, middle + 5)),
        rectangle(box - 6, middle - 5, box + 6, middle + 5),
        Text(box, middle + 2, "I\u0394", SMALLEST, anchor="middle"),
        linkage(box + 6, first, middle),
    ]


def direct_opening(x: float, y: float) -> list[Shape]:
    """The mark of a contact that is forced open: an arrow in a circle (IEC 60617)."""
    return [
        Circle(x, y, 3.2, THIN),
        line((x - 2.2, y), (x + 2.2, y), pen=THIN),
        line((x + 0.8, y - 1.4), (x + 2.2, y), (x + 0.8, y + 1.4), pen=THIN),
    ]


def delayed(x: float, y: float, on_delay: bool) -> list[Shape]:
    """The mark of a contact that acts late: two lines and a half moon, open towards the movement that is braked."""
    moon = arc(x - 1, y, 3.5, 90, 270) if on_delay else arc(x - 5, y, 3.5, -90, 90)
    return [line((x, y - 1), (x - 4.5, y - 1), pen=THIN), line((x, y + 1), (x - 4.5, y + 1), pen=THIN), moon]


def linkage(x1: float, x2: float, y: float) -> Line:
    """What moves the contacts together: a dashed line."""
    return line((x1, y), (x2, y), pen=LINKAGE)


def push_button(x: float, y: float) -> list[Shape]:
    """A button pressed by a finger: a flat head on its stem."""
    return [line((x + 3, y - 4), (x, y - 4), (x, y + 4), (x + 3, y + 4)), linkage(x, x + 14, y)]


def mushroom_head(x: float, y: float, latching: bool) -> list[Shape]:
    """An emergency stop: a mushroom head, with the notch that holds it in where it latches."""
    head = arc(x + 5, y, 6.5, 90, 270, squeeze=0.75)
    shapes: list[Shape] = [head, line((x + 5, y - 6.5), (x + 5, y + 6.5)), linkage(x + 5, x + 14, y)]
    if latching:
        shapes.append(line((x + 8, y), (x + 10, y + 3.5), (x + 12, y), pen=THIN))
    return shapes


def rotary(x: float, y: float) -> list[Shape]:
    """Turned by hand."""
    return [
        line((x, y + 4), (x, y - 4), pen=NORMAL),
        line((x - 3, y + 4), (x, y + 4)),
        line((x, y - 4), (x + 3, y - 4)),
        linkage(x, x + 14, y),
    ]


def key(x: float, y: float) -> list[Shape]:
    """Turned by a key."""
    return [Circle(x + 2, y - 3, 2.4), line((x + 2, y - 0.6), (x + 2, y + 5), (x + 4.5, y + 5)), linkage(x + 2, x + 14, y)]


def roller(x: float, y: float) -> list[Shape]:
    """Moved by a guard or a machine part: a roller on a lever."""
    return [Circle(x + 3, y, 3), linkage(x + 6, x + 14, y)]


def guard(x: float, y: float) -> list[Shape]:
    """A roller that lies against a guard, shown as a hatched slab."""
    x += 4
    slab: list[Shape] = [rectangle(x - 4, y - 8, x - 0.5, y + 8, THIN)]
    slab += [line((x - 4, y + d + 3.5), (x - 0.5, y + d), pen=Pen(BLACK, 0.4)) for d in (-7, -3, 1, 4.5)]
    return slab + roller(x, y)


def pedal(x: float, y: float) -> list[Shape]:
    """Moved by a foot."""
    return [line((x, y - 5), (x + 4, y + 3), (x + 4, y - 1)), linkage(x + 2.5, x + 14, y)]


def heat(x: float, y: float) -> list[Shape]:
    """Moved by temperature."""
    return [Text(x, y + 2.5, "t°", 8), linkage(x + 7, x + 14, y)]


def handle(x: float, y: float, lockable: bool) -> list[Shape]:
    """A handle turned by hand; with a padlock where it can be locked."""
    x += 3
    shapes: list[Shape] = [line((x, y - 4), (x, y + 4)), linkage(x, x + 14, y)]
    if lockable:
        shapes += [rectangle(x - 3, y + 7, x + 3, y + 11.5, THIN), arc(x, y + 7, 2, 180, 360, THIN)]
    return shapes
