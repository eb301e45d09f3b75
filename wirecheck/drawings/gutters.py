"""The ways between the frames: lanes for the bundles in every gutter, and the course of each core."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from wirecheck.drawings.bundles import Frame, Gland
from wirecheck.drawings.grid import PITCH
from wirecheck.drawings.shapes import Point, parallel, tidy
from wirecheck.drawings.tracks import Stretch, lanes, overlap

_EDGE = 6.0


@dataclass(slots=True)
class Gutter:
    """One gutter with the lanes of its bundles: the middle of each bundle, counted from the gutter's left."""

    width: float
    middles: dict[int, float] = field(default_factory=dict)


def gutter(number: int, pairs: Sequence[tuple[Gland, Gland]], street_y: float, landings: tuple[float, float]) -> Gutter:
    """Lanes for the bundles of one gutter. A bundle that goes on to another gutter runs down to the street.

    `landings` are kept free between the frames' sides left and right and the first bundle that turns: room for what is written
    at the glands.
    """
    runs: list[tuple[int, Stretch, float]] = []
    straight = False
    for index, (first, second) in enumerate(pairs):
        ends = [(g.middle, -1 if g.side == "right" else 1) for g in (first, second) if g.gutter == number]
        if len(ends) == 2 and ends[0][0] == ends[1][0] and first.side != second.side:
            straight = True
            continue
        if len(ends) == 1:
            ends.append((street_y, 0))
        if ends:
            half = first.half
            runs.append((index, Stretch((ends[0], ends[1]), half), half))
    order = lanes([stretch for _, stretch, _ in runs])
    out = Gutter(0.0)
    edges: list[tuple[Stretch, float]] = []
    for lane in sorted(set(order)):
        for n in [n for n, found in enumerate(order) if found == lane]:
            index, stretch, half = runs[n]
            left = max((edge for other, edge in edges if overlap(stretch, other)), default=0.0)
            out.middles[index] = landings[0] + left + half + _EDGE
            edges.append((stretch, left + 2 * half + 2 * _EDGE + 2))
    widest = max((edge for _, edge in edges), default=0.0)
    out.width = sum(landings) + widest if runs else max(landings) + 12 if straight else 18.0
    return out


def centre_line(
    pair: tuple[Gland, Gland], frames: Sequence[Frame], gutters: Mapping[int, Gutter], lefts: Mapping[int, float], street_y: float
) -> tuple[Point, ...]:
    """The middle line of a bundle from the first frame's side to the second's."""
    first, second = pair
    start = (_side_x(first, frames), first.middle)
    finish = (_side_x(second, frames), second.middle)
    down = [lefts[g.gutter] + gutters[g.gutter].middles.get(g.bundle, 0.0) for g in pair]
    if first.gutter == second.gutter:
        if start[1] == finish[1] and first.side != second.side:
            return (start, finish)
        return tidy([start, (down[0], start[1]), (down[0], finish[1]), finish])
    return tidy([start, (down[0], start[1]), (down[0], street_y), (down[1], street_y), (down[1], finish[1]), finish])


def _side_x(gland: Gland, frames: Sequence[Frame]) -> float:
    frame = frames[gland.frame]
    return frame.left if gland.side == "left" else frame.right


def core_lines(pair: tuple[Gland, Gland], centre: Sequence[Point]) -> dict[int, tuple[Point, ...]]:
    """The course of every core beside the middle line, by the wire's index."""
    first = pair[0]
    count = len(first.order)
    heading = 1 if first.side == "right" else -1
    return {key[0]: tuple(parallel(centre, heading * (n - (count - 1) / 2) * PITCH)) for n, key in enumerate(first.order)}
