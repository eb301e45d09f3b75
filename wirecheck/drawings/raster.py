"""A sheet as a PNG picture, drawn by the engine that pip installs (graphviz-pure), which brings its own letters.

The sheet becomes the background drawing of a graph with nothing else in it, in the drawing operations of the xdot
language: the engine then paints exactly our shapes, the same bytes on every machine.
"""

from __future__ import annotations

import math
import shutil
import subprocess
import sysconfig
from collections.abc import Callable, Iterator
from pathlib import Path

from wirecheck.drawings.lettering import FONT, clean
from wirecheck.drawings.shapes import Circle, Line, Pen, Point, Shape, Sheet, Text

DOTS_PER_INCH = 150
_MOST_PIXELS = 7_500
_ENGINE = "graphviz-pure"
_RAISED = 0.1  # the engine sets a text higher than asked by this part of its size


class EngineMissing(RuntimeError):
    """The drawing engine is not installed beside the program or cannot be run."""


def to_png(sheet: Sheet) -> bytes:
    """The sheet as PNG at 150 dots to the inch of its real size, fewer where the sheet would be larger than 7500 dots."""
    return run_engine(background_graph(sheet), "-Kneato", "-n2", "-Tpng")


def run_engine(graph: str, *options: str) -> bytes:
    """Lets the drawing engine work on a DOT graph; raises EngineMissing where there is none or it fails."""
    engine = Path(sysconfig.get_path("scripts"), _ENGINE)
    program = str(engine) if engine.exists() else shutil.which(_ENGINE)
    if not program:
        raise EngineMissing(f"{_ENGINE} is not installed: pip install {_ENGINE}")
    done = subprocess.run([program, *options], input=graph.encode(), capture_output=True, check=False)  # noqa: S603 - our own engine
    if done.returncode or not done.stdout:
        raise EngineMissing(f"{_ENGINE} could not draw: {done.stderr.decode(errors='replace').strip()[:300]}")
    return done.stdout


def background_graph(sheet: Sheet) -> str:
    """The graph without nodes whose background is the sheet."""
    scale = sheet.width_mm / 25.4 * 72 / sheet.width
    width, height = sheet.width * scale, sheet.height * scale
    dots = min(DOTS_PER_INCH, _MOST_PIXELS * 72 / max(width, height))
    operations = " ".join(op for g in sheet.groups for s in g.shapes for op in _operations(s, scale, height))
    quoted = operations.replace("\\", "\\\\").replace('"', '\\"')
    corner = 'style=invis, label="", shape=none, fixedsize=true, width=0.01, height=0.01'
    return (
        f'graph sheet {{ graph [margin=0, pad=0, dpi={dots:.2f}, bgcolor="#ffffff", _background="{quoted}"];\n'
        f'a [pos="0,0!", {corner}]; b [pos="{width:.2f},{height:.2f}!", {corner}]; }}\n'
    )


def _operations(shape: Shape, scale: float, height: float) -> Iterator[str]:
    def at(p: Point) -> str:
        return f"{p[0] * scale:.2f} {height - p[1] * scale:.2f}"

    if isinstance(shape, Text):
        if not clean(shape.content):
            return  # the drawing language has no empty text: all that follows would be lost
        yield f"F {shape.size * scale:.2f} {_counted(FONT)} t {int(shape.bold)} c {_counted(shape.colour)}"
        side = {"start": -1, "middle": 0, "end": 1}[shape.anchor]
        baseline = shape.y + _RAISED * shape.size
        yield f"T {at((shape.x, baseline))} {side} 0 {_counted(clean(shape.content))}"
        return
    if isinstance(shape, Line) and shape.closed and shape.pen and shape.pen.dash:
        if shape.fill:
            yield from _operations(Line(shape.points, None, True, shape.fill), scale, height)
        shape = Line((*shape.points, shape.points[0]), shape.pen)
    yield from _paint(shape.pen, shape.fill, scale)
    if isinstance(shape, Circle):
        yield f"{'E' if shape.fill else 'e'} {at((shape.x, shape.y))} {shape.radius * scale:.2f} {shape.radius * scale:.2f}"
        return
    yield from _line(shape, at)


def _line(shape: Line, at: Callable[[Point], str]) -> Iterator[str]:
    if shape.closed:
        yield f"{'P' if shape.fill else 'p'} {len(shape.points)} {' '.join(map(at, shape.points))}"
        return
    pieces = dashes(shape.points, shape.pen.dash) if shape.pen and shape.pen.dash else [shape.points]
    for piece in pieces:
        yield f"L {len(piece)} {' '.join(map(at, piece))}"


def _paint(pen: Pen | None, fill: str | None, scale: float) -> Iterator[str]:
    yield f"c {_counted(pen.colour if pen else fill or '#ffffff')}"
    if fill:
        yield f"C {_counted(fill)}"
    yield f"S {_counted(f'setlinewidth({pen.width * scale if pen else 0.01:.3f})')}"


def _counted(text: str) -> str:
    return f"{len(text.encode())} -{text}"


def dashes(points: tuple[Point, ...], pattern: tuple[float, ...]) -> list[tuple[Point, Point]]:
    """The strokes of a dashed line: the engine knows no dash lengths of ours, so each stroke is drawn by itself."""
    out: list[tuple[Point, Point]] = []
    left, index = pattern[0], 0
    for (x1, y1), (x2, y2) in zip(points, points[1:], strict=False):
        length, done = math.hypot(x2 - x1, y2 - y1), 0.0
        while length - done > 1e-9:
            step = min(left, length - done)
            if index % 2 == 0:
                ends = [(x1 + (x2 - x1) * d / length, y1 + (y2 - y1) * d / length) for d in (done, done + step)]
                out.append((ends[0], ends[1]))
            done, left = done + step, left - step
            if left <= 1e-9:
                index += 1
                left = pattern[index % len(pattern)]
    return out
