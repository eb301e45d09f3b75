"""A placed device as shapes: outline, symbols, terminals, marks, words, and the wires' ends with their numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecheck.drawings.boxes import COMB
from wirecheck.drawings.colours import conductor
from wirecheck.drawings.figures import TOP, Element, Pin
from wirecheck.drawings.nets import Placed
from wirecheck.drawings.shapes import BLACK, Circle, Group, Line, Pen, Shape, Text, line, rectangle
from wirecheck.drawings.symbols.contacts import linkage
from wirecheck.drawings.wiring import DETAIL_SIZE, LINE_STEP, MARKS_HEIGHT, NUMBER_SIZE, End

MARK_SIZE = 6.2
_SIGNS = "+-"  # drawn larger, or they are overlooked
TERMINAL_RADIUS = 1.7
OUTLINE = Pen("#b0b0b0", 0.6)
_STUB_TIP = 4.0


def device_groups(placed: Placed, outline: Pen = OUTLINE, fill: str = "#ffffff") -> Iterator[Group]:
    """The device's groups: its outline with words and plain parts first, then each contact by itself."""
    box, device = placed.box, placed.box.figure.device
    frame = rectangle(placed.x, placed.top, placed.x + box.width, placed.bottom, outline, fill)
    shapes: list[Shape] = [frame]
    shapes += [Text(placed.x + 4, placed.top + c.baseline, c.text, c.size, c.bold) for c in box.caption]
    shapes += _head(placed)
    parts = list(_elements(placed))
    for element, drawn in parts:
        if element.kind != "contact":
            shapes += drawn
    shapes += [s for first, second in box.figure.bars for s in _bar(placed, first, second)]
    shapes += box.figure.over(_xs(placed), placed.top, placed.bottom) if box.figure.over else []
    yield Group("device", device.name, tuple(shapes), f"{device.label()}: {device.kind}", {"kind": device.kind})
    for element, drawn in parts:
        if element.kind == "contact":
            yield Group("contact", f"{device.name}:{element.name}", tuple(drawn), data=element.data)


def _xs(placed: Placed) -> list[float]:
    return [placed.x + c for c in placed.box.columns]


def _elements(placed: Placed) -> Iterator[tuple[Element, list[Shape]]]:
    xs, column = _xs(placed), 0
    for element in placed.box.figure.elements:
        own = xs[column : column + element.columns]
        yield element, element.draw(own, placed.top, placed.bottom)
        column += element.columns


def _head(placed: Placed) -> list[Shape]:
    """The actuator, and the dashed line from it, or from the coil, through all that it moves."""
    figure, middle = placed.box.figure, (placed.top + placed.bottom) / 2
    x = placed.x + 4 + placed.box.caption_width + 4
    shapes = figure.head.draw(x, middle) if figure.head else []
    xs, column = _xs(placed), 0
    start = x + 14 if figure.head and figure.head.linked else None
    moved: list[float] = []
    for element in figure.elements:
        if element.kind == "coil" and start is None:
            start = xs[column] + 9
        if element.linked:
            moved.append(xs[column] + (3.0 if element.data.get("state") == "closed" else -3.7))
        column += element.columns
    if start is None and len(moved) > 1:
        start = moved[0]  # nothing to be seen moves them, but they move together
    if start is not None and moved:
        shapes.append(linkage(start, moved[-1], middle))
    return shapes


def _bar(placed: Placed, first: Pin, second: Pin) -> list[Shape]:
    """A link between two terminals of the device: a thick bar just inside the outline."""
    xs = _xs(placed)

    def at(pin: Pin) -> tuple[float, float]:
        return xs[pin.column], placed.top + 13.5 if pin.side == TOP else placed.bottom - 11.5

    (x1, y1), (x2, y2) = at(first), at(second)
    way = [(x1, y1), (x2, y2)] if y1 == y2 else [(x1, y1), (x2 - 8, y1), (x2 - 8, y2), (x2, y2)]
    dots: list[Shape] = [Circle(*p, 1.7, None, BLACK) for p in (way[0], way[-1])]
    return [Line(tuple(way), Pen(BLACK, 1.5)), *dots]


def _terminal(placed: Placed, pin: Pin) -> list[Shape]:
    x = placed.x + placed.box.columns[pin.column]
    y = placed.top if pin.side == TOP else placed.bottom
    shapes: list[Shape] = [Circle(x, y, TERMINAL_RADIUS, Pen(BLACK, 0.8), "#ffffff")]
    if not _labelled(placed, pin):
        shapes.append(Text(x + 2.6, y + 9 if pin.side == TOP else y - 4, pin.mark, MARK_SIZE + 2.0 * (pin.mark in _SIGNS)))
    return shapes


def _labelled(placed: Placed, pin: Pin) -> bool:
    column = 0
    for element in placed.box.figure.elements:
        if column <= pin.column < column + element.columns:
            return element.labelled
        column += element.columns
    return False


def terminals(placed: Placed) -> Iterator[Group]:
    """The terminals with their marks, drawn last so that no wire covers them."""
    for pin in placed.box.figure.pins():
        yield Group("terminal", f"{placed.box.name}:{pin.mark}", tuple(_terminal(placed, pin)))


def wire_ends(placed: Placed) -> Iterator[Group]:
    """At every terminal: the comb that joins several wires to it, the words beside each wire, and the stubs."""
    pins: dict[Pin, list[tuple[float, End]]] = {}
    for key, (dx, pin) in placed.box.slots.items():
        pins.setdefault(pin, []).append((placed.x + dx, placed.box.ends[key]))
    for pin, ends in pins.items():
        y, out = (placed.top, -1) if pin.side == TOP else (placed.bottom, 1)
        if len(ends) > 1:
            yield Group("joint", f"{placed.box.name}:{pin.mark}", tuple(_comb([x for x, _ in ends], y, out)))
        for x, end in ends:
            start = y if x == ends[0][0] else y + out * COMB
            yield Group("wire-end", end.wire.number, tuple(_end(x, y, start, out, end)), data={"at": str(end.terminal)})


def _comb(xs: Sequence[float], y: float, out: int) -> list[Shape]:
    lane = y + out * COMB
    dots: list[Shape] = [Circle(x, lane, 1.3, None, BLACK) for x in xs]
    return [line((xs[0], y), (xs[0], lane), (xs[-1], lane), pen=Pen(BLACK, 1.2)), *dots]


def _end(x: float, y: float, start: float, out: int, end: End) -> list[Shape]:
    count, beside = len(end.lines), MARKS_HEIGHT if end.marks else 0.0
    first = y + COMB + 6.5 if out > 0 else y - COMB - 2.5 - beside - LINE_STEP * (count - 1)
    shapes: list[Shape] = []
    if end.stub:
        tip = y + out * (LINE_STEP * count + beside)
        shapes += conductor(((x, start), (x, tip)), end.wire.colour)
        shapes.append(Line(((x - 2.4, tip), (x + 2.4, tip), (x, tip + out * _STUB_TIP)), Pen(BLACK, 0.6), True, BLACK))
    for n, text in enumerate(end.lines):
        shapes.append(Text(x + 3, first + LINE_STEP * n, text, DETAIL_SIZE if n else NUMBER_SIZE, n == 0))
    return shapes
