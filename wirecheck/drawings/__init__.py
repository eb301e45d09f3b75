"""Drawings of a plan: the connection diagram as SVG, PNG and DOT."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wirecheck.drawings.connection import connection_sheet
from wirecheck.drawings.graph import to_dot
from wirecheck.drawings.raster import EngineMissing, to_png
from wirecheck.drawings.shapes import Sheet
from wirecheck.drawings.svg import to_svg
from wirecheck.findings import Finding
from wirecheck.plan.model import Plan

SUFFIXES = (".svg", ".png", ".dot")

__all__ = ["SUFFIXES", "Drawing", "EngineMissing", "draw_connection", "render"]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing in both its forms: the laid-out sheet, and the same content as a DOT graph."""

    sheet: Sheet
    dot: str

    @property
    def svg(self) -> str:
        """The sheet as SVG text."""
        return to_svg(self.sheet)


def draw_connection(plan: Plan, findings: Sequence[Finding] = ()) -> Drawing:
    """The connection diagram of a plan, with the findings marked where they are."""
    return Drawing(connection_sheet(plan, findings), to_dot(plan, findings))


def render(drawing: Drawing, suffix: str) -> bytes:
    """The drawing as the bytes of a file: `.svg`, `.png` or `.dot`.

    Raises ValueError for another suffix, and EngineMissing where a PNG is wanted and the drawing engine is not installed.
    """
    if suffix == ".svg":
        return drawing.svg.encode()
    if suffix == ".dot":
        return drawing.dot.encode()
    if suffix == ".png":
        return to_png(drawing.sheet)
    raise ValueError(f"cannot draw {suffix!r}: expected one of {', '.join(SUFFIXES)}")
