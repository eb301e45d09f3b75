"""Devices with more than two ends: sources, converters, transformers, drives, motors."""

from __future__ import annotations

from collections.abc import Sequence

from wirecheck.drawings.lettering import SMALLEST, wrap
from wirecheck.drawings.shapes import BLACK, BOLD, GREY, NORMAL, THIN, Circle, Line, Pen, Shape, Text, arc, line, rectangle
from wirecheck.drawings.symbols.loads import winding

Columns = Sequence[float]
WORD_SIZE = SMALLEST


def wave(x: float, y: float, size: float = 4.5) -> list[Shape]:
    """Alternating current: one wave."""
    return [arc(x - size / 2, y, size / 2, 180, 360), arc(x + size / 2, y, size / 2, 180, 0)]


def direct(x: float, y: float) -> list[Shape]:
    """Direct current: two bars."""
    return [line((x - 4, y - 1.3), (x + 4, y - 1.3)), line((x - 4, y + 1.3), (x + 4, y + 1.3))]


def converter(left: float, top: float, right: float, bottom: float, direct_first: bool, direct_last: bool) -> list[Shape]:
    """A box that turns one kind of current into another: what enters stands above the slanted line, what leaves below it."""
    width, height = right - left, bottom - top
    shapes: list[Shape] = [rectangle(left, top, right, bottom), line((left, bottom), (right, top), pen=THIN)]
    shapes += (direct if direct_first else wave)(left + width * 0.27, top + height * 0.28)
    return shapes + (direct if direct_last else wave)(left + width * 0.73, top + height * 0.74)


def source(xs: Columns, top: float, bottom: float) -> list[Shape]:
    """A supply from outside: a circle with a wave, and a bar that its conductors come from."""
    middle = (top + bottom) / 2
    bar, centre = middle + 2, (xs[0] + xs[-1]) / 2
    leads = [line((x, bar), (x, bottom)) for x in xs]
    return [
        line((xs[0] - 4, bar), (xs[-1] + 4, bar)),
        *leads,
        Circle(centre, bar - 9, 9, fill="#ffffff"),
        *wave(centre, bar - 9, 5),
    ]


def supply(xs: Columns, top: float, bottom: float) -> list[Shape]:
    """A d.c. supply: alternating current in above, direct current out below."""
    middle = (top + bottom) / 2
    shapes = converter(xs[0] - 6, middle - 12, xs[-1] + 6, middle + 12, False, True)
    return shapes + _leads(xs, top, middle - 12) + _leads(xs, middle + 12, bottom)


def transformer(columns: tuple[int, int], xs: Columns, top: float, bottom: float) -> list[Shape]:
    """A transformer: the primary above, the secondary below, the core between; taps join their winding on the way."""
    middle = (top + bottom) / 2
    first, second = xs[: columns[0]], xs[: columns[1]]
    left, right = min(xs), max(first[-1], second[-1])
    shapes: list[Shape] = [line((left, middle), (right, middle), pen=BOLD)]
    for ends, y, facing in ((first, middle - 6, 180), (second, middle + 6, 0)):
        humps = max(3, round((ends[-1] - ends[0]) / 8)) if len(ends) > 1 else 3
        radius = (ends[-1] - ends[0]) / humps / 2 or 3
        shapes += [arc(ends[0] + radius * (2 * n + 1), y, radius, facing, facing + 180, squeeze=1) for n in range(humps)]
        shapes += _leads(ends, top, y) if facing else _leads(ends, y, bottom)
    return shapes


def _leads(xs: Columns, top: float, bottom: float) -> list[Shape]:
    return [line((x, top), (x, bottom)) for x in xs]


def drive_power(inputs: Columns, outputs: Columns, top: float, bottom: float) -> list[Shape]:
    """A drive's power part: rectifier above, inverter below, the d.c. link between them."""
    left, right = min(*inputs, *outputs) - 6, max(*inputs, *outputs) + 6
    upper, lower = top + 15, bottom - 14
    half = (lower - upper) / 2 - 4
    centre = (left + right) / 2
    link: list[Shape] = [line((centre + d, upper + half), (centre + d, lower - half)) for d in (-5, 5)]
    shapes = converter(left, upper, right, upper + half, False, True) + converter(left, lower - half, right, lower, True, False)
    return shapes + link + _leads(inputs, top, upper) + _leads(outputs, lower, bottom)


def control_terminal(x: float, edge: float, mark: str, words: str, room: float) -> list[Shape]:
    """A control terminal with its function: a short lead, the mark, the words under it."""
    shapes: list[Shape] = [line((x, edge), (x, edge + 5)), Text(x, edge + 12, mark, 6.0, True, "middle")]
    for n, text in enumerate(wrap(words, WORD_SIZE, room, 4)):
        shapes.append(Text(x, edge + 18 + 6 * n, text, WORD_SIZE, anchor="middle"))
    return shapes


def motor_circle(x: float, y: float, phases: str) -> list[Shape]:
    """A motor: M in a circle, with the number of its phases."""
    below: list[Shape] = [Text(x - 3.5, y + 9, phases, 6.5, anchor="middle"), *wave(x + 4, y + 7, 3)]
    return [Circle(x, y, 13), Text(x, y + 1, "M", 10, True, "middle"), *below]


def windings(links: Sequence[tuple[int, int]], xs: Columns, top: float, bottom: float) -> list[Shape]:
    """A motor's three windings, each from its upper to its lower end, and the bars of the terminal box.

    `links` are pairs of ends: 0 to 2 the upper ones from left to right, 3 to 5 the lower ones.
    """
    shapes = [s for x in xs for s in winding(x, top, bottom)]
    upper, lane = top + 16, (top + bottom) / 2 + 17
    for first, second in (sorted(pair) for pair in links):
        if second < 3:
            shapes += _bar([(xs[first], upper), (xs[second], upper)])
        elif first >= 3:
            shapes += _bar([(xs[first - 3], lane), (xs[second - 3], lane)])
        else:
            riser, way = xs[first] - 10, lane + 5 * (second - 3)
            shapes += _bar([(xs[second - 3], way), (riser, way), (riser, upper), (xs[first], upper)])
    return shapes


def _bar(points: list[tuple[float, float]]) -> list[Shape]:
    ends: list[Shape] = [Circle(*p, 1.7, None, BLACK) for p in (points[0], points[-1])]
    return [Line(tuple(points), Pen(BLACK, 1.5)), *ends]


def two_speed_motor(title: str, xs: Columns, top: float, bottom: float) -> list[Shape]:
    """A motor with six fed ends: a box around its windings, named in words."""
    middle = (top + bottom) / 2
    box = rectangle(xs[0] - 5, middle - 6, xs[-1] + 5, middle + 14)
    lines = wrap(title, WORD_SIZE, xs[-1] - xs[0] + 6, 3)
    words = [Text((xs[0] + xs[-1]) / 2, middle + 1 + 6 * n, text, WORD_SIZE, anchor="middle") for n, text in enumerate(lines)]
    return [box, *words, *_leads(xs, top, middle - 6)]


def busbar(count: tuple[int, int], xs: Columns, top: float, bottom: float) -> list[Shape]:
    """An earth bar: one thick bar that every terminal is joined to."""
    middle = (top + bottom) / 2
    bar = Line(((xs[0] - 6, middle), (xs[-1] + 6, middle)), Pen(BLACK, 3.2))
    upper, lower = xs[: count[0]], xs[: count[1]]
    joints: list[Shape] = [Circle(x, middle, 2.4, None, BLACK) for x in xs]
    end = xs[-1] + 14
    earth: list[Shape] = [line((end - 8, middle), (end, middle), (end, middle + 5))]
    earth += [line((end - w, middle + d), (end + w, middle + d)) for w, d in ((5.0, 5.0), (3.2, 7.5), (1.4, 10.0))]
    return [*_leads(upper, top, middle), *_leads(lower, middle, bottom), bar, *joints, *earth]


def box_element(word: str, x: float, top: float, bottom: float) -> list[Shape]:
    """A monitored loop or a supply of a relay: a box with a word, between two terminals."""
    middle = (top + bottom) / 2
    ends = [line((x, top), (x, middle - 8)), line((x, middle + 8), (x, bottom))]
    return [*ends, rectangle(x - 11, middle - 8, x + 11, middle + 8), Text(x, middle + 2, word, WORD_SIZE, anchor="middle")]


def potentiometer(xs: Columns, top: float, bottom: float) -> list[Shape]:
    """A resistor with its clockwise end above and its anticlockwise end below; the wiper comes from the right."""
    x, wiper = xs
    middle = (top + bottom) / 2
    body: list[Shape] = [rectangle(x - 3.5, middle - 10, x + 3.5, middle + 10), line((x, top), (x, middle - 10))]
    arrow = [
        line((wiper, top), (wiper, middle), (x + 3.5, middle)),
        line((x + 7, middle - 2.5), (x + 3.5, middle), (x + 7, middle + 2.5)),
    ]
    return [*body, line((x, middle + 10), (x, bottom)), *arrow]


def sensor(switch: Sequence[Shape], x: float, top: float, bottom: float) -> list[Shape]:
    """A proximity sensor: its sign in a square, its supply through it, and the contact that stands for its output."""
    middle = (top + bottom) / 2
    diamond = Line(((x, middle - 6), (x + 6, middle), (x, middle + 6), (x - 6, middle)), NORMAL, True)
    leads = [line((x, top), (x, middle - 9)), line((x, middle + 9), (x, bottom))]
    return [*leads, rectangle(x - 9, middle - 9, x + 9, middle + 9), diamond, *switch]


def terminal_way(x: float, top: float, bottom: float) -> list[Shape]:
    """One terminal of a block: the line goes through it."""
    middle = (top + bottom) / 2
    return [
        line((x, top), (x, bottom)),
        rectangle(x - 5, middle - 9, x + 5, middle + 9, Pen(GREY, 0.6)),
        Circle(x, middle, 2.6, fill="#ffffff"),
    ]
