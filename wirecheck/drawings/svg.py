"""A sheet as SVG text. Every name from a plan is escaped: it can never become markup."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from wirecheck.drawings.lettering import FONT_STACK, clean
from wirecheck.drawings.shapes import Circle, Group, Line, Pen, Shape, Sheet


def to_svg(sheet: Sheet) -> str:
    """The sheet as an SVG document of the sheet's real size in millimetres."""
    return "\n".join(_lines(sheet)) + "\n"


def _lines(sheet: Sheet) -> Iterator[str]:
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{sheet.width_mm:g}mm" height="{sheet.height_mm:g}mm" '
        f'viewBox="0 0 {_number(sheet.width)} {_number(sheet.height)}" font-family="{escape(FONT_STACK)}" '
        'stroke-linecap="round" stroke-linejoin="round" fill="none">'
    )
    yield f"<title>{_text(sheet.title)}</title>"
    yield f'<rect width="{_number(sheet.width)}" height="{_number(sheet.height)}" fill="#ffffff"/>'
    for group in sheet.groups:
        yield from _group(group)
    yield "</svg>"


def _group(group: Group) -> Iterator[str]:
    data = "".join(f' data-{key}="{_text(value)}"' for key, value in group.data.items())
    yield f'<g class="{_text(group.kind)}" data-name="{_text(group.name)}"{data}>'
    if group.title:
        yield f"<title>{_text(group.title)}</title>"
    yield from map(_shape, group.shapes)
    yield "</g>"


def _shape(shape: Shape) -> str:
    if isinstance(shape, Line):
        points = " ".join(f"{_number(x)},{_number(y)}" for x, y in shape.points)
        return f'<{"polygon" if shape.closed else "polyline"} points="{points}"{_paint(shape.pen, shape.fill)}/>'
    if isinstance(shape, Circle):
        place = f'cx="{_number(shape.x)}" cy="{_number(shape.y)}" r="{_number(shape.radius)}"'
        return f"<circle {place}{_paint(shape.pen, shape.fill)}/>"
    weight = ' font-weight="bold"' if shape.bold else ""
    anchor = f' text-anchor="{shape.anchor}"' if shape.anchor != "start" else ""
    place = f'x="{_number(shape.x)}" y="{_number(shape.y)}" font-size="{_number(shape.size)}"'
    return f'<text {place}{weight}{anchor} fill="{shape.colour}">{_text(shape.content)}</text>'


def _paint(pen: Pen | None, fill: str | None) -> str:
    inside = f' fill="{fill}"' if fill else ""
    if pen is None:
        return inside
    dash = f' stroke-dasharray="{" ".join(map(_number, pen.dash))}"' if pen.dash else ""
    return f'{inside} stroke="{pen.colour}" stroke-width="{_number(pen.width)}"{dash}'


def _number(value: float) -> str:
    return f"{round(value, 2):g}" if abs(value) < 10000 else f"{value:.2f}".rstrip("0").rstrip(".")


def _text(value: str) -> str:
    return escape(clean(value), quote=True)
