"""The whole diagram placed and routed: places as frames in columns, bundles between them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from wirecheck.drawings.bundles import Bundle, Frame, Gland, Sides, sides
from wirecheck.drawings.figures import Figure
from wirecheck.drawings.frames import Inside, lay_out_place
from wirecheck.drawings.glands import ABOVE, APART, BELOW, glands, margin_paths
from wirecheck.drawings.grid import PITCH, up_to
from wirecheck.drawings.gutters import Gutter, centre_line, core_lines, gutter
from wirecheck.drawings.headings import heading_room
from wirecheck.drawings.jackets import name_room, words_room
from wirecheck.drawings.measuring import crossings, length
from wirecheck.drawings.nets import EndKey, PlaceLayout
from wirecheck.drawings.shapes import Point, tidy
from wirecheck.drawings.wiring import End, by_terminal
from wirecheck.plan.model import Cable, Plan

FRAME_GAP = 15.0
_BESIDE_WORDS = 6.0
_CROSSING, _BEND, _HEIGHT = 60.0, 15.0, 8.0


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Which places stand in which column, and in how many rows each lays its devices."""

    columns: tuple[tuple[str | None, ...], ...]
    rows: Mapping[str | None, int]


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything placed and routed: frames, the course of every wire that is drawn through, and the bundles' middle lines."""

    frames: tuple[Frame, ...]
    wires: Mapping[int, tuple[Point, ...]]
    bundles: tuple[tuple[Bundle, tuple[Point, ...]], ...]
    size: tuple[float, float]
    detours: int = 0  # bundles that have to go round below all frames


Known = dict[tuple[tuple[tuple[str | None, ...], ...], str | None, int, int], PlaceLayout]
"""Places already laid out, by the columns (which say to which side each wire leaves), the place, its number of rows and tries."""


def lay_out(
    plan: Plan, figures: Mapping[str, Figure], ends: Sequence[End], arrangement: Arrangement, known: Known, tries: int = 0
) -> Layout:
    """Lays the plan out in the given arrangement; `known` keeps places from one arrangement to the next.

    With `tries`, each place is laid out so many times more, and the one that is best to follow is kept.
    """
    names = [name for column in arrangement.columns for name in column]
    column_of = [c for c, column in enumerate(arrangement.columns) for _ in column]
    frame_of = {d.name: names.index(d.place) for d in plan.devices.values()}
    bundles = _bundles(plan, ends, frame_of)
    ways = [sides(b, column_of) for b in bundles]
    exits = [_exits(n, bundles, ways) for n in range(len(names))]
    layouts = []
    for n, name in enumerate(names):
        key = (arrangement.columns, name, arrangement.rows[name], tries)
        if key not in known:
            inside = _inside(plan, name, figures, ends, exits[n])
            some = [lay_out_place(inside, arrangement.rows[name], seed) for seed in (None, *range(tries))]
            known[key] = min(some, key=_trouble)
        layouts.append(known[key])
    layouts = [_large_enough(layout, n, bundles, ways, heading_room(plan, names[n])) for n, layout in enumerate(layouts)]
    frames = _stacked(names, column_of, layouts)
    return _joined(frames, bundles, ways, plan.cables)


def _trouble(layout: PlaceLayout) -> float:
    """How hard a place is to follow: long wires, crossings, and height."""
    paths = layout.paths.values()
    return length(paths) + _CROSSING * crossings(paths) + _BEND * sum(map(len, paths)) + _HEIGHT * layout.height


def _bundles(plan: Plan, ends: Sequence[End], frame_of: Mapping[str, int]) -> list[Bundle]:
    """Cables, and loose wires between two places; a cable's cores that join other places are a bundle of their own."""
    gathered: dict[tuple[str, int, int], list[tuple[EndKey, EndKey]]] = {}
    for end in ends:
        if end.side != "a" or end.stub:
            continue
        wire = end.wire
        cable = wire.cable if wire.cable in plan.cables else None
        a, b = frame_of[wire.a.device], frame_of[wire.b.device]
        if a == b and cable is None:
            continue
        pair: tuple[EndKey, EndKey] = ((wire.index, "a"), (wire.index, "b"))
        gathered.setdefault((cable or "", min(a, b), max(a, b)), []).append(pair if a <= b else pair[::-1])
    return [
        Bundle(cable or None, a, b, tuple(p[0] for p in pairs), tuple(p[1] for p in pairs))
        for (cable, a, b), pairs in gathered.items()
    ]


def _exits(frame: int, bundles: Sequence[Bundle], ways: Sequence[Sides]) -> dict[EndKey, str]:
    out: dict[EndKey, str] = {}
    for bundle, way in zip(bundles, ways, strict=True):
        if bundle.first == frame:
            out.update(dict.fromkeys(bundle.starts, way.first_side))
        if bundle.second == frame:
            out.update(dict.fromkeys(bundle.finishes, way.second_side))
    return out


def _inside(
    plan: Plan, name: str | None, figures: Mapping[str, Figure], ends: Sequence[End], exits: Mapping[EndKey, str]
) -> Inside:
    mine = tuple(figures[d.name] for d in plan.devices.values() if d.place == name)
    known = {f.device.name for f in mine}
    return Inside(mine, by_terminal(end for end in ends if end.terminal.device in known), exits)


def _large_enough(
    layout: PlaceLayout, frame: int, bundles: Sequence[Bundle], ways: Sequence[Sides], heading: float
) -> PlaceLayout:
    """The layout with room for its heading, at its sides for all its glands, and for what passes beside it."""
    need = dict.fromkeys(("left", "right"), ABOVE + BELOW)
    for bundle, way in zip(bundles, ways, strict=True):
        for where, side in ((bundle.first, way.first_side), (bundle.second, way.second_side)):
            if where == frame:
                need[side] += len(bundle.starts) * PITCH + APART + 2 * PITCH
    height = max(layout.height, up_to(max(need.values()), PITCH))
    return replace(layout, width=max(layout.width, heading), height=height)


def _stacked(names: Sequence[str | None], column_of: Sequence[int], layouts: Sequence[PlaceLayout]) -> list[Frame]:
    out: list[Frame] = []
    tops: dict[int, float] = {}
    for name, column, layout in zip(names, column_of, layouts, strict=True):
        top = tops.get(column, 0.0)
        out.append(Frame(name, layout, column, top))
        tops[column] = top + layout.height + FRAME_GAP
    return out


def _joined(frames: Sequence[Frame], bundles: Sequence[Bundle], ways: Sequence[Sides], cables: Mapping[str, Cable]) -> Layout:
    """Glands, margins and gutters, then the frames' places and every wire from end to end."""
    pairs = glands(bundles, ways, frames)
    floor = max(f.bottom for f in frames)
    streets = _streets(pairs, floor)
    margins = [_margins(frame, [g for pair in pairs for g in pair if g.frame == n]) for n, frame in enumerate(frames)]
    columns = max(f.column for f in frames) + 1
    gutters = {n: gutter(n, pairs, floor, _landings(n, bundles, pairs, cables)) for n in range(columns)}
    frames, lefts, right = _spread(frames, margins, gutters)
    wires: dict[int, tuple[Point, ...]] = {}
    centres: list[tuple[Bundle, tuple[Point, ...]]] = []
    for number, (bundle, pair) in enumerate(zip(bundles, pairs, strict=True)):
        centre = centre_line(pair, frames, gutters, lefts, streets.get(number, floor))
        centres.append((bundle, centre))
        cores = core_lines(pair, centre)
        for start, finish in zip(bundle.starts, bundle.finishes, strict=True):
            head = _to_gland(frames[bundle.first], margins[bundle.first], pair[0], start)
            tail = _to_gland(frames[bundle.second], margins[bundle.second], pair[1], finish)
            course = tidy([*head, *cores[start[0]], *reversed(tail)])
            wires[start[0]] = course if start[1] == "a" else course[::-1]
    for frame in frames:
        for key, path in frame.layout.paths.items():
            if key[1] == "ab":
                wires[key[0]] = tidy((x + frame.content_left, y + frame.top) for x, y in path)
    height = max([floor, *(y + 20 for y in streets.values())])
    return Layout(tuple(frames), wires, tuple(centres), (right, height), len(streets))


def _landings(
    number: int, bundles: Sequence[Bundle], pairs: Sequence[tuple[Gland, Gland]], cables: Mapping[str, Cable]
) -> tuple[float, float]:
    """The room for the words left and right in a gutter. A frame's right side is on the left of the gutter."""
    rooms = {"right": 0.0, "left": 0.0}
    for bundle, pair in zip(bundles, pairs, strict=True):
        for gland, room in zip(pair, (words_room, name_room), strict=True):
            if gland.gutter == number and bundle.cable is not None:
                rooms[gland.side] = max(rooms[gland.side], room(cables[bundle.cable]))
    return rooms["right"] + _BESIDE_WORDS, rooms["left"] + _BESIDE_WORDS


def _streets(pairs: Sequence[tuple[Gland, Gland]], floor: float) -> dict[int, float]:
    """The height below all frames at which each bundle between distant gutters runs."""
    out: dict[int, float] = {}
    y = floor + FRAME_GAP
    for number, (first, second) in enumerate(pairs):
        if first.gutter != second.gutter:
            out[number] = y + first.half
            y += 2 * first.half + FRAME_GAP
    return out


Margins = Mapping[str, tuple[float, Mapping[EndKey, tuple[float, float, float]]]]


def _margins(frame: Frame, own: Sequence[Gland]) -> Margins:
    return {side: margin_paths(frame, own, side) for side in ("left", "right")}


def _spread(
    frames: Sequence[Frame], margins: Sequence[Margins], gutters: Mapping[int, Gutter]
) -> tuple[list[Frame], dict[int, float], float]:
    """The frames with their x, each column as wide as its widest; the left of every gutter; the right edge of all."""
    out = [replace(f, margins=(m["left"][0], m["right"][0])) for f, m in zip(frames, margins, strict=True)]
    lefts: dict[int, float] = {}
    x = 0.0
    for column in range(max(f.column for f in frames) + 1):
        widest = max(f.right - f.left for f in out if f.column == column)
        for n, frame in enumerate(out):
            if frame.column == column:
                room = widest - (frame.right - frame.left)
                out[n] = replace(frame, left=x, margins=(frame.margins[0], frame.margins[1] + room))
        lefts[column] = x + widest
        x += widest + gutters[column].width
    last = max(gutters)
    used = bool(gutters[last].middles)
    return out, lefts, x if used else x - gutters[last].width


def _to_gland(frame: Frame, margins: Margins, gland: Gland, key: EndKey) -> list[Point]:
    """From a wire end through the frame to the gland in its side."""
    path = [(x + frame.content_left, y + frame.top) for x, y in frame.layout.paths[key]]
    y, away, gland_y = margins[gland.side][1][key]
    left = gland.side == "left"
    lane = frame.content_left - away if left else frame.content_left + frame.layout.width + away
    return [*path[:-1], (lane, y), (lane, gland_y), (frame.left if left else frame.right, gland_y)]
