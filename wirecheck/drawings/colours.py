"""The colours that conductors are drawn in: IEC 60757 letter codes, darkened a little so that thin lines can be seen on paper."""

from __future__ import annotations

from wirecheck.drawings.shapes import BLACK, Line, Pen, Point

CORE_COLOURS = {
    "BK": "#000000",
    "BN": "#8b4a1c",
    "RD": "#d01010",
    "OG": "#f07800",
    "YE": "#f2d400",
    "GN": "#0a8a2a",
    "BU": "#1f5fd0",
    "VT": "#8a2fb0",
    "GY": "#8c8c8c",
    "WH": "#ffffff",
    "PK": "#f29ab8",
    "TQ": "#20b2aa",
    "GNYE": "#0a9a30",
}
COLOUR_NAMES = {
    "BK": "black",
    "BN": "brown",
    "RD": "red",
    "OG": "orange",
    "YE": "yellow",
    "GN": "green",
    "BU": "blue",
    "VT": "violet",
    "GY": "grey",
    "WH": "white",
    "PK": "pink",
    "TQ": "turquoise",
    "GNYE": "green-yellow",
}
_LIGHT = {"WH", "YE", "PK", "GNYE", "GY", "TQ", "OG"}
UNKNOWN = "#444444"
"""For a wire whose colour the plan does not state: a thin dark grey line."""

CORE_WIDTH = 1.5
CASING = Pen(BLACK, 2.3)
"""What is drawn under a light conductor, so that it is seen on white paper."""


def conductor(points: tuple[Point, ...], code: str) -> list[Line]:
    """The lines that show one conductor: a dark casing under a light colour, the colour, a stripe over it where it has one."""
    base, stripe = ("GNYE", "YE") if code == "GNYE" else ((*code.split("/", 1), "")[:2] if code else ("", ""))
    if base not in CORE_COLOURS:
        return [Line(points, Pen(UNKNOWN, 0.9))]
    out = [Line(points, CASING)] if base in _LIGHT or stripe else []
    out.append(Line(points, Pen(CORE_COLOURS[base], CORE_WIDTH)))
    if stripe in CORE_COLOURS:
        out.append(Line(points, Pen(CORE_COLOURS[stripe], CORE_WIDTH, (3.0, 4.0))))
    return out
