"""The wires of one place: through which gaps they pass, where every device then stands, and the course of each wire."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

from wirecheck.drawings.boxes import COMB, GRID, Box
from wirecheck.drawings.figures import TOP
from wirecheck.drawings.placing import GAP
from wirecheck.drawings.shapes import Point
from wirecheck.drawings.tracks import Stretch, lanes

PITCH = 6.0
HEADER = 24.0
_SIDE = 10.0
_FEED = 8.0
_CONFLICT = 1000.0
_NOTHING: frozenset[NetKey] = frozenset()
_SWEEPS = 3
EndKey = tuple[int, str]
NetKey = tuple[int, str]
Vertical = tuple[float, NetKey]
"""The x of an upright stretch of wire, and whose it is."""


@dataclass(frozen=True, slots=True)
class Net:
    """What is to be routed: a wire between two ends in this place, or from one end out of it (`exit` is `left` or `right`)."""

    key: NetKey
    ends: tuple[EndKey, ...]
    exit: str = ""


@dataclass(frozen=True, slots=True)
class Placed:
    """A device in its place: the upper left corner and the y of its lower terminals."""

    box: Box
    x: float
    top: float
    bottom: float
    row: int


@dataclass(frozen=True, slots=True)
class PlaceLayout:
    """One place laid out, in its own coordinates. `paths` are the courses of nets from their first end; those in `exits` stop
    at the side of the place at the given y.
    """

    width: float
    height: float
    placed: tuple[Placed, ...]
    paths: Mapping[NetKey, tuple[Point, ...]]
    exits: Mapping[NetKey, tuple[str, float]]


@dataclass(slots=True)
class _Work:
    """What is found out step by step while one place is laid out."""

    rows: Sequence[Sequence[Box]]
    nets: Sequence[Net]
    x: dict[str, float] = field(default_factory=dict)
    feeds: dict[tuple[NetKey, int], int] = field(default_factory=dict)  # net and row -> the gap it passes
    feed_x: dict[tuple[NetKey, int], float] = field(default_factory=dict)
    where: dict[EndKey, tuple[Box, int]] = field(default_factory=dict)
    whole: frozenset[int] = frozenset()  # the wires that run from end to end inside this place

    def end(self, key: EndKey) -> tuple[float, int, int]:
        """x, channel and direction (-1 up out of the channel, +1 down) of a wire end."""
        box, row = self.where[key]
        dx, pin = box.slots[key]
        return self.x[box.name] + dx, row + (pin.side != TOP), 1 if pin.side == TOP else -1


def lay_out(rows: Sequence[Sequence[Box]], nets: Sequence[Net]) -> PlaceLayout:
    """Places the devices of the rows and routes the nets."""
    work = _Work(rows, nets, whole=frozenset(n.key[0] for n in nets if not n.exit))
    for number, row in enumerate(rows):
        x = _SIDE
        for box in row:
            work.x[box.name] = x
            x += box.width + GAP
            work.where.update(dict.fromkeys(box.slots, (box, number)))
    _choose_gaps(work)
    room = max((_row_room(work, n) for n in range(len(rows))), default=0.0)
    for _ in range(_SWEEPS):
        for number in range(len(rows)):
            _place_row(work, number, room)
    return _Course(work).layout()


def _gap_positions(work: _Work, row: int) -> list[float]:
    boxes = work.rows[row]
    return [work.x[b.name] - GAP / 2 for b in boxes] + [work.x[boxes[-1].name] + boxes[-1].width + GAP / 2]


def _choose_gaps(work: _Work) -> None:
    """For every wire that must cross rows the gaps with the shortest way, the longest wires last."""
    used: dict[tuple[int, int], int] = {}
    for net in work.nets:
        if net.exit:
            continue
        (xa, ca, _), (xb, cb, _) = sorted((work.end(k) for k in net.ends), key=lambda e: e[1])
        ways: dict[int, tuple[float, tuple[int, ...]]] = {}
        for row in range(ca, cb):
            gaps = _gap_positions(work, row)
            before = [(cost, way, _gap_positions(work, row - 1)[gap]) for gap, (cost, way) in ways.items()] or [(0.0, (), xa)]
            ways = {}
            for gap, x in enumerate(gaps):
                crowd = 3.0 * used.get((row, gap), 0)
                cost, way = min((c + abs(x - at) + crowd, w) for c, w, at in before)
                ways[gap] = (cost + (abs(x - xb) if row == cb - 1 else 0.0), (*way, gap))
        if ways:
            for row, gap in zip(range(ca, cb), min(ways.values())[1], strict=True):
                work.feeds[net.key, row] = gap
                used[row, gap] = used.get((row, gap), 0) + 1


def _row_room(work: _Work, row: int) -> float:
    feeds = sum(1 for (_, r) in work.feeds if r == row)
    return sum(b.width + GAP for b in work.rows[row]) + feeds * _FEED + 2 * _SIDE


Item = Box | NetKey


def _items(work: _Work, row: int) -> list[Item]:
    """Devices and passing wires of a row from left to right."""
    out: list[Item] = []
    for gap in range(len(work.rows[row]) + 1):
        passing = [(_wish(work, key, row), key) for (key, r), g in work.feeds.items() if r == row and g == gap]
        out += [key for _, key in sorted(passing)]
        out += work.rows[row][gap : gap + 1]
    return out


def _wish(work: _Work, key: NetKey, row: int) -> float:
    """Where a passing wire would like to pass: below where it passed the row above, else between its ends."""
    if (key, row - 1) in work.feed_x:
        return work.feed_x[key, row - 1]
    return sum(work.end((key[0], side))[0] for side in key[1]) / 2


def _place_row(work: _Work, row: int, room: float) -> None:
    """Sets the x of a row's devices and passing wires: no vertical on one of the row above, straight ones where they can be."""
    above = _Above(_verticals(work, row - 1, up=False))
    below = {key: x for x, key in _verticals(work, row + 1, up=True)}
    slack = max(0.0, room - _row_room(work, row))
    x = _SIDE
    for item in _items(work, row):
        if isinstance(item, Box):
            ups, downs = _leaving(work, item, up=True), _leaving(work, item, up=False)
        else:
            ups = downs = [(GRID, item)]
        best = _best_x(x, slack, above, ups, partial(_bends, points=downs, ends=below))
        slack = max(0.0, slack - (best - x))
        if isinstance(item, Box):
            work.x[item.name] = best
            x = best + item.width + GAP
        else:
            work.feed_x[item, row] = best + GRID
            x = best + _FEED


def _best_x(x: float, slack: float, above: _Above, ups: Sequence[Vertical], bends_below: Callable[[float], float]) -> float:
    """The x from `x` on where the item fits best under what is above it and over what was below it."""

    def misfit(at: float) -> float:
        return 0.35 * (at - x) + above.conflicts(at, ups) + _bends(at, ups, above.ends) + bends_below(at)

    tries = [x + GRID * n for n in range(min(80, max(12, int(slack / GRID) + 1)))]
    best = min(tries, key=misfit)
    if above.conflicts(best, ups) < _CONFLICT:
        return best
    far = (tries[-1] + GRID * n for n in range(1, 200))
    return next((at for at in far if above.conflicts(at, ups) < _CONFLICT), best)


class _Above:
    """The verticals that come down on a row, by their place on the grid."""

    def __init__(self, verticals: Sequence[Vertical]) -> None:
        self.ends = {key: x for x, key in verticals}
        self.at: dict[int, set[NetKey]] = {}
        for x, key in verticals:
            self.at.setdefault(round(x / GRID), set()).add(key)

    def conflicts(self, at: float, points: Sequence[Vertical]) -> float:
        """Very much for every vertical that would lie on another wire's, a little for one close beside it."""
        cost = 0.0
        for dx, key in points:
            cell = round((at + dx) / GRID)
            cost += _CONFLICT * len(self.at.get(cell, _NOTHING) - {key})
            cost += 4.0 * sum(len(self.at.get(cell + side, _NOTHING) - {key}) for side in (-1, 1))
        return cost


def _bends(at: float, points: Sequence[Vertical], ends: Mapping[NetKey, float]) -> float:
    """Little where wires go straight to their other end, more the farther that is aside."""
    asides = [abs(ends[key] - at - dx) for dx, key in points if key in ends]
    return sum(0.1 * aside if aside else -25.0 for aside in asides)


def _leaving(work: _Work, box: Box, up: bool) -> list[Vertical]:
    """The wires that leave a device upwards, or downwards, counted from its left edge."""
    return [
        (dx, _net_of(work, key))
        for key, (dx, pin) in box.slots.items()
        if (pin.side == TOP) == up and not box.ends[key].stub
    ]  # fmt: skip


def _net_of(work: _Work, key: EndKey) -> NetKey:
    return (key[0], "ab") if key[0] in work.whole else key


def _verticals(work: _Work, row: int, up: bool) -> list[Vertical]:
    """What a row as it stands sends up, or down, into its channel."""
    if not 0 <= row < len(work.rows):
        return []
    out = [(x, key) for (key, r), x in work.feed_x.items() if r == row]
    return out + [(work.x[b.name] + dx, key) for b in work.rows[row] for dx, key in _leaving(work, b, up)]


class _Course:
    """Lanes in the channels, then heights, then the course of every wire."""

    def __init__(self, work: _Work) -> None:
        self.work = work
        self.width = max(
            [work.x[b.name] + b.width for row in work.rows for b in row] + [x + GRID for x in work.feed_x.values()], default=0.0
        )
        self.width += _SIDE
        self.legs = {net.key: self._legs(net) for net in work.nets}
        self.lane = self._lanes()

    def _legs(self, net: Net) -> list[tuple[int, float, int, float, int]]:
        """Per channel that a net runs in: channel, x and direction where it comes in, x and direction where it leaves."""
        x, channel, way = self.work.end(net.ends[0])
        if net.exit:
            return [(channel, x, way, -GAP if net.exit == "left" else self.width + GAP, 0)]
        last_x, last_channel, last_way = self.work.end(net.ends[1])
        step = 1 if last_channel > channel else -1
        legs = []
        while channel != last_channel:
            feed = self.work.feed_x[net.key, channel if step > 0 else channel - 1]
            legs.append((channel, x, way, feed, step))
            x, way, channel = feed, -step, channel + step
        return [*legs, (channel, x, way, last_x, last_way)]

    def _lanes(self) -> dict[tuple[NetKey, int], int]:
        out: dict[tuple[NetKey, int], int] = {}
        self.count = [0] * (len(self.work.rows) + 1)
        for channel in range(len(self.count)):
            inside = [(key, leg) for key, legs in self.legs.items() for leg in legs if leg[0] == channel]
            inside = [(key, leg) for key, leg in inside if leg[1] != leg[3]]
            found = lanes([Stretch(((leg[1], leg[2]), (leg[3], leg[4]))) for _, leg in inside])
            out.update({(key, channel): lane for (key, _), lane in zip(inside, found, strict=True)})
            self.count[channel] = max(found, default=-1) + 1
        return out

    def layout(self) -> PlaceLayout:
        y = HEADER
        placed: list[Placed] = []
        first_lane: list[float] = []
        for row, boxes in enumerate([*self.work.rows, []]):
            y += self._band(row - 1, False)
            first_lane.append(y + PITCH)
            y += PITCH * (self.count[row] + 1) + self._band(row, True)
            height = max((b.height for b in boxes), default=0.0)
            placed += [Placed(b, self.work.x[b.name], y, y + height, row) for b in boxes]
            y += height
        at = {p.box.name: p for p in placed}
        paths = {net.key: self._path(net, at, first_lane) for net in self.work.nets}
        exits = {net.key: (net.exit, paths[net.key][-1][1]) for net in self.work.nets if net.exit}
        return PlaceLayout(self.width, y, tuple(placed), paths, exits)

    def _band(self, row: int, upper: bool) -> float:
        """The room for words beside the wires at one side of a row."""
        if not 0 <= row < len(self.work.rows):
            return 0.0
        ends = [b.ends[key] for b in self.work.rows[row] for key, (_, pin) in b.slots.items() if (pin.side == TOP) == upper]
        return -(-max((e.height for e in ends), default=0.0) // PITCH) * PITCH

    def _path(self, net: Net, at: Mapping[str, Placed], first_lane: Sequence[float]) -> tuple[Point, ...]:
        def edge(key: EndKey) -> Point:
            box, _ = self.work.where[key]
            place = at[box.name]
            dx, pin = box.slots[key]
            aside = COMB if dx != box.columns[pin.column] else 0.0  # all but the first wire of a terminal begin at its comb
            return (place.x + dx, place.top - aside if pin.side == TOP else place.bottom + aside)

        points = [edge(net.ends[0])]
        for channel, x1, _, x2, _ in self.legs[net.key]:
            if x1 != x2:
                y = first_lane[channel] + PITCH * self.lane[net.key, channel]
                points += [(x1, y), (x2, y)]
        if not net.exit:
            points.append(edge(net.ends[1]))
        return tuple(points)
