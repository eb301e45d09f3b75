"""Lanes in the channels between the rows, from them the heights, from those the course of every wire."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from wirecheck.drawings.boxes import COMB
from wirecheck.drawings.figures import TOP
from wirecheck.drawings.grid import GRID, PITCH, up_to
from wirecheck.drawings.nets import HEADER, SIDE, EndKey, Net, NetKey, Placed, PlaceLayout, Work
from wirecheck.drawings.placing import GAP
from wirecheck.drawings.shapes import Point
from wirecheck.drawings.tracks import Stretch, lanes


class Course:
    """Lanes in the channels, then heights, then the course of every wire."""

    def __init__(self, work: Work) -> None:
        self.work = work
        self.width = max(
            [work.x[b.name] + b.width for row in work.rows for b in row] + [x + GRID for x in work.feed_x.values()], default=0.0
        )
        self.width += SIDE
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
        """The finished place."""
        y = HEADER
        placed: list[Placed] = []
        first_lane: list[float] = []
        for row, boxes in enumerate([*self.work.rows, []]):
            y += self._band(row - 1, False)
            first_lane.append(y)
            y += PITCH * max(0, self.count[row] - 1) + self._band(row, True)
            height = max((b.height for b in boxes), default=0.0)
            placed += [Placed(b, self.work.x[b.name], y, y + height, row) for b in boxes]
            y += height
        at = {p.box.name: p for p in placed}
        paths = {net.key: self._path(net, at, first_lane) for net in self.work.nets}
        exits = {net.key: (net.exit, paths[net.key][-1][1]) for net in self.work.nets if net.exit}
        return PlaceLayout(self.width, y, tuple(placed), paths, exits)

    def _band(self, row: int, upper: bool) -> float:
        """The room for words beside the wires at one side of a row: the first lane runs where it ends."""
        if not 0 <= row < len(self.work.rows):
            return PITCH
        ends = [b.ends[key] for b in self.work.rows[row] for key, (_, pin) in b.slots.items() if (pin.side == TOP) == upper]
        return up_to(max((e.height for e in ends), default=PITCH), PITCH)

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
