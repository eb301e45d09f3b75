"""What lies on what in a drawing: the measures that the drawings' tests hold a sheet to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations, pairwise

from wirecheck.drawings.lettering import width
from wirecheck.drawings.shapes import Circle, Line, Point, Sheet, Text

Rectangle = tuple[float, float, float, float]
"""Left, top, right, bottom."""


def device_boxes(sheet: Sheet) -> dict[str, Rectangle]:
    """The outline of every device."""
    out = {}
    for group in sheet.groups:
        if group.kind == "device":
            outline = group.shapes[0]
            assert isinstance(outline, Line)
            out[group.name] = bounds(outline.points)
    return out


def bounds(points: Iterable[Point]) -> Rectangle:
    """The rectangle around points."""
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def texts(sheet: Sheet) -> Iterator[tuple[Text, Rectangle]]:
    """Every text with the rectangle that its letters take."""
    for group in sheet.groups:
        for shape in group.shapes:
            if isinstance(shape, Text) and shape.content:
                room = width(shape.content, shape.size, shape.bold)
                left = shape.x - {"start": 0.0, "middle": room / 2, "end": room}[shape.anchor]
                yield shape, (left, shape.y - 0.72 * shape.size, left + room, shape.y + 0.2 * shape.size)


def overlap(a: Rectangle, b: Rectangle, by: float = 0.1) -> bool:
    """Whether two rectangles share more than a seam."""
    return min(a[2], b[2]) - max(a[0], b[0]) > by and min(a[3], b[3]) - max(a[1], b[1]) > by


def inside(small: Rectangle, large: Rectangle) -> bool:
    """Whether one rectangle lies in another."""
    return large[0] <= small[0] and large[1] <= small[1] and small[2] <= large[2] and small[3] <= large[3]


def wire_paths(sheet: Sheet) -> list[tuple[str, tuple[Point, ...]]]:
    """The course of every wire that is drawn through, with its ends as a name."""
    out = []
    for group in sheet.groups:
        if group.kind == "wire":
            course = group.shapes[0]
            assert isinstance(course, Line)
            out.append((f"{group.name} {group.data['from']} {group.data['to']}", course.points))
    return out


def legs(points: Iterable[Point]) -> list[Rectangle]:
    """The straight parts of a wire, each as a rectangle without width."""
    return [bounds(pair) for pair in pairwise(points)]


def passes(leg: Rectangle, box: Rectangle, within: float = 0.5) -> bool:
    """Whether a leg runs through a rectangle and not only along its edge."""
    return (
        leg[0] < box[2] - within and leg[2] > box[0] + within and leg[1] < box[3] - within and leg[3] > box[1] + within
    )  # fmt: skip


def lie_on_each_other(a: Rectangle, b: Rectangle) -> bool:
    """Whether two legs share a stretch."""
    for along, across in ((0, 1), (1, 0)):
        both = a[across] == a[across + 2] and b[across] == b[across + 2]
        shared = min(a[along + 2], b[along + 2]) - max(a[along], b[along])
        if both and abs(a[across] - b[across]) < 1.5 and shared > 1.0:
            return True
    return False


def drawn_points(sheet: Sheet) -> Iterator[Point]:
    """Every point of every line and circle."""
    for group in sheet.groups:
        for shape in group.shapes:
            if isinstance(shape, Line):
                yield from shape.points
            elif isinstance(shape, Circle):
                yield (shape.x - shape.radius, shape.y - shape.radius)
                yield (shape.x + shape.radius, shape.y + shape.radius)


def courses(sheet: Sheet) -> list[tuple[str, Rectangle]]:
    """Every straight part of every wire that is drawn through, with the wire's name."""
    return [(name, leg) for name, points in wire_paths(sheet) for leg in legs(points)]


def devices_on_devices(sheet: Sheet) -> list[tuple[str, str]]:
    """The pairs of devices that lie on each other."""
    boxes = device_boxes(sheet)
    return [(a, b) for a, b in combinations(boxes, 2) if overlap(boxes[a], boxes[b])]


def texts_on_texts(sheet: Sheet) -> list[tuple[str, str]]:
    """The pairs of texts that lie on each other."""
    return [(a.content, b.content) for (a, x), (b, y) in combinations(texts(sheet), 2) if overlap(x, y, 0.3)]


def wires_through_devices(sheet: Sheet) -> list[tuple[str, str]]:
    """The wires that pass through a device, with the device."""
    boxes = device_boxes(sheet)
    return [(wire, name) for wire, leg in courses(sheet) for name, box in boxes.items() if passes(leg, box)]


def wires_through_texts(sheet: Sheet) -> list[tuple[str, str]]:
    """The wires that pass through a text, with the text."""
    words = list(texts(sheet))
    return [(wire, text.content) for wire, leg in courses(sheet) for text, room in words if passes(leg, room, 0.2)]


def wires_on_wires(sheet: Sheet) -> list[tuple[str, str]]:
    """The pairs of wires that share a stretch."""
    pairs = combinations(courses(sheet), 2)
    return [(a, b) for (a, x), (b, y) in pairs if a != b and lie_on_each_other(x, y)]


def slanted_wires(sheet: Sheet) -> list[str]:
    """The wires that are not right-angled."""
    return [wire for wire, leg in courses(sheet) if leg[0] != leg[2] and leg[1] != leg[3]]


def off_the_sheet(sheet: Sheet) -> list[str | Point]:
    """The texts and points that are not within the border."""
    border = (5.9, 5.9, sheet.width - 5.9, sheet.height - 5.9)
    words = [text.content for text, room in texts(sheet) if not inside(room, border)]
    return [*words, *(p for p in drawn_points(sheet) if not inside((*p, *p), border))]
