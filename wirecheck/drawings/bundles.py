"""Wires between places: gathered at a gland in the frame's side, led as one bundle through the gutters, spread out again.

Frames stand in columns with a gutter at the right of each column and one street below all of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from wirecheck.drawings.routing import PITCH, EndKey, PlaceLayout
from wirecheck.drawings.shapes import Point, parallel, tidy
from wirecheck.drawings.tracks import Stretch, lanes, overlap

LANDING = 46.0
_APART = 26.0
_MARGIN_EDGE = 6.0


@dataclass(frozen=True, slots=True)
class Bundle:
    """Wires that run together from one place to another: the cores of a cable, or loose wires where `cable` is None.

    `starts` are the wire ends in the first place, `finishes` those in the second, in the same order of wires.
    """

    cable: str | None
    first: int
    second: int
    starts: tuple[EndKey, ...]
    finishes: tuple[EndKey, ...]


@dataclass(frozen=True, slots=True)
class Sides:
    """Where a bundle leaves its two frames and which gutters it runs in."""

    first_side: str
    second_side: str
    first_gutter: int
    second_gutter: int


def sides(bundle: Bundle, column_of: Sequence[int]) -> Sides:
    """The way between two frames: through the gutter between their columns, or along the street where there is none."""
    a, b = column_of[bundle.first], column_of[bundle.second]
    if a == b:
        return Sides("left", "left", a - 1, a - 1) if a > 0 else Sides("right", "right", a, a)
    if a < b:
        return Sides("right", "left", a, b - 1)
    return Sides("left", "right", a - 1, b)


@dataclass(frozen=True, slots=True)
class Frame:
    """A laid-out place with its position; `margins` are the widths left and right of its content."""

    name: str | None
    layout: PlaceLayout
    column: int
    top: float
    left: float = 0.0
    margins: tuple[float, float] = (0.0, 0.0)

    @property
    def right(self) -> float:
        """The frame's right edge."""
        return self.left + self.margins[0] + self.layout.width + self.margins[1]

    @property
    def bottom(self) -> float:
        """The frame's lower edge."""
        return self.top + self.layout.height

    @property
    def content_left(self) -> float:
        """Where the layout's own x = 0 is."""
        return self.left + self.margins[0]


@dataclass(frozen=True, slots=True)
class Gland:
    """Where a bundle passes a frame's side: the y of its middle, and its wire ends from above to below."""

    bundle: int
    frame: int
    side: str
    gutter: int
    middle: float
    order: tuple[EndKey, ...]

    def y_of(self, key: EndKey) -> float:
        """The y at which one wire passes."""
        return self.middle + (self.order.index(key) - (len(self.order) - 1) / 2) * PITCH


def glands(bundles: Sequence[Bundle], ways: Sequence[Sides], frames: Sequence[Frame]) -> list[tuple[Gland, Gland]]:
    """For each bundle its two glands, near the middle of what they lead to and never on each other."""
    taken: dict[int, list[tuple[float, float]]] = {}
    out: list[tuple[Gland, Gland]] = []
    for number, (bundle, way) in enumerate(zip(bundles, ways, strict=True)):
        order = _core_order(bundle, way, frames)
        starts = tuple(bundle.starts[n] for n in order)
        finishes = tuple(bundle.finishes[n] for n in order)
        if way.first_side == way.second_side:
            finishes = finishes[::-1]
        first = Gland(number, bundle.first, way.first_side, way.first_gutter, 0.0, starts)
        second = Gland(number, bundle.second, way.second_side, way.second_gutter, 0.0, finishes)
        same = way.first_gutter == way.second_gutter and way.first_side != way.second_side
        first = _settled(first, frames, taken, None)
        second = _settled(second, frames, taken, first.middle if same else None)
        if same and second.middle == first.middle:
            taken[way.first_gutter].pop()  # both are one straight bundle and keep the same spot
        out.append((first, second))
    return out


def _core_order(bundle: Bundle, way: Sides, frames: Sequence[Frame]) -> list[int]:
    """The cores in the order that makes them cross least on the way to their terminals at both ends."""
    turned = -1.0 if way.first_side == way.second_side else 1.0
    heights = [
        frames[bundle.first].top + frames[bundle.first].layout.exits[start][1]
        + turned * (frames[bundle.second].top + frames[bundle.second].layout.exits[finish][1])
        for start, finish in zip(bundle.starts, bundle.finishes, strict=True)
    ]  # fmt: skip
    return sorted(range(len(heights)), key=lambda n: (heights[n], bundle.starts[n]))


def _settled(gland: Gland, frames: Sequence[Frame], taken: dict[int, list[tuple[float, float]]], straight: float | None) -> Gland:
    """The gland at its place: opposite its other half, else where most of its cores go straight, else near them."""
    frame = frames[gland.frame]
    half = (len(gland.order) - 1) / 2 * PITCH
    tracks = {key: frame.top + y for key, (side, y) in frame.layout.exits.items() if side == gland.side}
    wish = sum(tracks[k] for k in gland.order) / len(gland.order)
    spots = taken.setdefault(gland.gutter, [])

    def fits(middle: float) -> bool:
        inside = frame.top + 20 + half <= middle <= frame.bottom - 12 - half
        return inside and all(middle + half + _APART <= a or middle - half - _APART >= b for a, b in spots)

    def clear(middle: float) -> bool:
        """No other wire's lane at the height of one of the cores."""
        own = {key: _at(gland, middle).y_of(key) for key in gland.order}
        return all(other == key or abs(y - at) > 2 for key, y in own.items() for other, at in tracks.items())

    if straight is not None and frame.top + 20 + half <= straight <= frame.bottom - 12 - half and clear(straight):
        spots.append((straight - half, straight + half))
        return _at(gland, straight)
    aligned = sorted(
        {tracks[k] - _at(gland, 0.0).y_of(k) for k in gland.order},
        key=lambda m: (-_straight_cores(_at(gland, m), tracks), abs(m - wish), m),
    )
    # Else the cores pass between the lanes of the channels, never at the height of one.
    between = round((wish - half) / PITCH) * PITCH + PITCH / 2 + half
    tries = [between + sign * n * PITCH for n in range(400) for sign in ((1, -1) if n else (1,))]
    free = [m for m in aligned if fits(m) and clear(m)] or [m for m in tries if fits(m)]
    middle = (free or [max([frame.top + 20 + half, *(b + _APART + half for _, b in spots)])])[0]
    spots.append((middle - half, middle + half))
    return _at(gland, middle)


def _straight_cores(gland: Gland, tracks: Mapping[EndKey, float]) -> int:
    return sum(gland.y_of(key) == tracks[key] for key in gland.order)


def _at(gland: Gland, middle: float) -> Gland:
    return Gland(gland.bundle, gland.frame, gland.side, gland.gutter, middle, gland.order)


def margin_paths(frame: Frame, own: Sequence[Gland], side: str) -> tuple[float, dict[EndKey, tuple[float, float, float]]]:
    """The wires between a frame's channels and its glands on one side: the margin's width, and for each wire the y it comes at,
    how far from the frame's content its lane is, and the y it leaves at.
    """
    keys = [(key, gland) for gland in own if gland.side == side for key in gland.order]
    legs = [(key, frame.top + frame.layout.exits[key][1], gland.y_of(key)) for key, gland in keys]
    bent = [leg for leg in legs if leg[1] != leg[2]]
    found = lanes([Stretch(((y, -1), (gland_y, 1))) for _, y, gland_y in bent])
    lane = {key: n for (key, _, _), n in zip(bent, found, strict=True)}
    width = PITCH * (max(found, default=-1) + 1) + _MARGIN_EDGE * 2 if legs else 0.0
    return width, {key: (y, _MARGIN_EDGE + PITCH * lane.get(key, 0), gland_y) for key, y, gland_y in legs}


@dataclass(slots=True)
class Gutter:
    """One gutter with the lanes of its bundles: the middle of each bundle, counted from the gutter's left."""

    width: float
    middles: dict[int, float] = field(default_factory=dict)


def gutter(number: int, pairs: Sequence[tuple[Gland, Gland]], street_y: float) -> Gutter:
    """Lanes for the bundles of one gutter. A bundle that goes on to another gutter runs down to the street."""
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
            half = (len(first.order) - 1) / 2 * PITCH
            runs.append((index, _widened(ends, half), half))
    order = lanes([stretch for _, stretch, _ in runs])
    out = Gutter(0.0)
    edges: list[tuple[Stretch, float]] = []
    for lane in sorted(set(order)):
        for n in [n for n, found in enumerate(order) if found == lane]:
            index, stretch, half = runs[n]
            left = max((edge for other, edge in edges if overlap(stretch, other)), default=0.0)
            out.middles[index] = LANDING + left + half + _MARGIN_EDGE
            edges.append((stretch, left + 2 * half + 2 * _MARGIN_EDGE + 2))
    widest = max((edge for _, edge in edges), default=0.0)
    out.width = LANDING * 2 + widest if runs or straight else 18.0
    return out


def _widened(ends: list[tuple[float, int]], half: float) -> Stretch:
    (a, way_a), (b, way_b) = ends
    grow = half if b >= a else -half
    return Stretch(((a - grow, way_a), (b + grow, way_b)))


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
