"""The sheet around a drawing: its size, border, title block, the findings' legend, the key and the caution."""

from __future__ import annotations

from collections.abc import Sequence

from wirecheck.drawings.lettering import SMALLEST, clean, wrap
from wirecheck.drawings.shapes import BLACK, GREY, THIN, Circle, Group, Pen, Shape, Sheet, Text, line, moved_group, rectangle
from wirecheck.findings import NOTICE, Finding
from wirecheck.plan.model import Plan

SIZES_MM = ((420.0, 297.0), (594.0, 420.0), (841.0, 594.0), (1189.0, 841.0))
"""A3 to A0, landscape (ISO 216)."""
_SIZE_NAMES = ("A3", "A2", "A1", "A0")
_POINT_MM = 25.4 / 72
SMALLEST_SCALE, _LARGEST = 0.9, 1.3
"""How far the drawing may be shrunk before a larger sheet is taken, and how far it is enlarged on a sheet with room."""
SEVERITY_COLOURS = {"danger": "#d00000", "damage": "#d86a00", "malfunction": "#7a3fb5", "advice": "#2a7a8c"}
_MARGIN = 14.0
_TEXT, _STEP = 6.6, 8.4
_TITLE_WIDTH = 300.0

_KEY_REST = "Drawn at rest: supply off, nothing operated, guards closed, coils out."
_KEY_JOINTS = "A dot joins wires; lines that cross without a dot are not joined."
_KEY_WORDS = "Beside every wire, at both its ends: its number, then its colour (IEC 60757) and its size in mm\u00b2."
_KEY_SIGNS = (
    "A grey jacket holds the cores of one cable. An arrow ends a wire that is not drawn through, and names its other end."
)
_KEY_NUMBERS = (
    "A number in a circle marks a finding. What a part that sticks or welds would do is left out where it is mere advice."
)
KEY = (f"{_KEY_REST} {_KEY_JOINTS}", f"{_KEY_WORDS} {_KEY_SIGNS}", _KEY_NUMBERS)


def compose(plan: Plan, groups: Sequence[Group], size: tuple[float, float], findings: Sequence[Finding]) -> Sheet:
    """Puts the drawing on the smallest sheet that it can be read on, with everything that must stand beside it."""
    name, width_mm, height_mm, scale = choose_sheet(size, legend_height(findings, size[0]))
    full, high = width_mm / _POINT_MM / scale, height_mm / _POINT_MM / scale
    strip = legend_height(findings, full - 2 * _MARGIN)
    top = high - _MARGIN - strip
    left = _MARGIN + max(0.0, (full - 2 * _MARGIN - size[0]) / 2)
    drawn = [moved_group(g, left, _MARGIN + max(0.0, (top - _MARGIN - size[1]) / 2)) for g in groups]
    border = Group(
        "border", "", (rectangle(6, 6, full - 6, high - 6, Pen(BLACK, 1.0)), line((6, top), (full - 6, top), pen=THIN))
    )
    furniture = [border, *_legend(findings, top, full), *_title_block(plan, top, full, high, name)]
    title = f"{plan.machine.name}: connection diagram"
    return Sheet(title, width_mm, height_mm, full, high, (*furniture, *drawn))


def choose_sheet(size: tuple[float, float], strip: float) -> tuple[str, float, float, float]:
    """The sheet's name, its width and height in millimetres, and the scale of the drawing on it."""
    for name, (width_mm, height_mm) in zip(_SIZE_NAMES, SIZES_MM, strict=True):
        scale = scale_on(width_mm, height_mm, size, strip)
        if scale >= SMALLEST_SCALE:
            return name, width_mm, height_mm, min(scale, _LARGEST)
    # Larger than any sheet: the words keep their size and the paper grows.
    width, height = (size[0] + 2 * _MARGIN) * SMALLEST_SCALE, (size[1] + strip + 2 * _MARGIN + 6) * SMALLEST_SCALE
    return "larger than A0", width * _POINT_MM, height * _POINT_MM, SMALLEST_SCALE


def scale_on(width_mm: float, height_mm: float, size: tuple[float, float], strip: float) -> float:
    """The scale at which a drawing of a size and the strip below it fill a sheet."""
    return min(width_mm / _POINT_MM / (size[0] + 2 * _MARGIN), height_mm / _POINT_MM / (size[1] + strip + 2 * _MARGIN + 6))


def legend_height(findings: Sequence[Finding], room: float) -> float:
    """The height of the strip at the foot of the sheet."""
    return max(74.0, 16 + _STEP * len(_all_lines(findings, room - _TITLE_WIDTH - 30)))


def _all_lines(findings: Sequence[Finding], room: float) -> list[tuple[int | None, str, str]]:
    """The legend as lines: number of the finding where one begins, severity, text."""
    room = max(room, 240.0)
    out: list[tuple[int | None, str, str]] = []
    for number, finding in enumerate(findings, 1):
        accepted = " (accepted)" if finding.accepted else ""
        lines = wrap(f"{finding.severity}{accepted}: {finding.message}", _TEXT, room - 14)
        out += [(number if n == 0 else None, finding.severity, text) for n, text in enumerate(lines)]
    for text in (*KEY, NOTICE):
        out += [(None, "", text) for text in wrap(text, _TEXT, room)]
    return out


def _legend(findings: Sequence[Finding], top: float, full: float) -> list[Group]:
    y = top + 14
    shapes: list[Shape] = []
    for number, severity, text in _all_lines(findings, full - 2 * _MARGIN - _TITLE_WIDTH - 30):
        if number is not None:
            shapes += finding_mark(_MARGIN + 5, y - 2.3, number, severity)
        shapes.append(Text(_MARGIN + (14 if severity else 0), y, text, _TEXT))
        y += _STEP
    return [Group("legend", "", tuple(shapes))]


def finding_mark(x: float, y: float, number: int, severity: str) -> list[Shape]:
    """The number of a finding in a filled circle of its severity's colour."""
    text = str(number)
    size = 6.0 if len(text) < 2 else SMALLEST
    return [
        Circle(x, y, 4.2, None, SEVERITY_COLOURS.get(severity, GREY)),
        Text(x, y + 2.1, text, size, True, "middle", "#ffffff"),
    ]


def _title_block(plan: Plan, top: float, full: float, high: float, size_name: str) -> list[Group]:
    values = plan.machine.values
    left = full - 6 - _TITLE_WIDTH
    details = [
        f"{key} {values[key]}" for key in ("place", "drawing", "revision", "author", "date") if isinstance(values.get(key), str)
    ]
    shapes: list[Shape] = [line((left, top), (left, high - 6), pen=THIN)]
    room = _TITLE_WIDTH - 20
    y = top + 18
    for text in wrap(plan.machine.name, 12, room, 2, True):
        shapes.append(Text(left + 10, y, text, 12, True))
        y += 14
    shapes.append(Text(left + 10, y, f"Connection diagram, sheet {size_name}", 8))
    for text in wrap(", ".join(details), _TEXT, room, 2):
        y += _STEP
        shapes.append(Text(left + 10, y, text, _TEXT))
    return [Group("title-block", clean(plan.machine.name), tuple(shapes))]
