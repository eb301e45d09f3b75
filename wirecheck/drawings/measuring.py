"""How good a drawing is to follow: how long its wires are and how often they cross."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable

from wirecheck.drawings.shapes import Point


def length(paths: Iterable[tuple[Point, ...]]) -> float:
    """The length of all wires together."""
    return sum(abs(x1 - x2) + abs(y1 - y2) for path in paths for (x1, y1), (x2, y2) in zip(path, path[1:], strict=False))


def crossings(paths: Iterable[tuple[Point, ...]]) -> int:
    """How often a level stretch of one wire crosses an upright stretch of another.

    Upright stretches are kept by their x, so that each level one is held only against those it can meet.
    """
    level: list[tuple[float, float, float]] = []
    upright: list[tuple[float, float, float]] = []
    for path in paths:
        for (x1, y1), (x2, y2) in zip(path, path[1:], strict=False):
            if y1 == y2:
                level.append((y1, min(x1, x2), max(x1, x2)))
            else:
                upright.append((x1, min(y1, y2), max(y1, y2)))
    upright.sort()
    xs = [x for x, _, _ in upright]
    return sum(
        low < y < high
        for y, left, right in level
        for _, low, high in upright[bisect_right(xs, left) : bisect_left(xs, right)]
    )  # fmt: skip
