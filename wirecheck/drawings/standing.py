"""Where every device of a row stands, and where wires pass between them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from wirecheck.drawings.boxes import Box
from wirecheck.drawings.figures import TOP
from wirecheck.drawings.grid import GRID
from wirecheck.drawings.nets import SIDE, EndKey, NetKey, Vertical, Work
from wirecheck.drawings.placing import GAP

_FEED = 8.0
_CONFLICT = 1000.0
_NOTHING: frozenset[NetKey] = frozenset()


def row_room(work: Work, row: int) -> float:
    """The least width of a row with the wires that pass it."""
    feeds = sum(1 for (_, r) in work.feeds if r == row)
    return sum(b.width + GAP for b in work.rows[row]) + feeds * _FEED + 2 * SIDE


Item = Box | NetKey


def _items(work: Work, row: int) -> list[Item]:
    """Devices and passing wires of a row from left to right."""
    out: list[Item] = []
    for gap in range(len(work.rows[row]) + 1):
        passing = [(_wish(work, key, row), key) for (key, r), g in work.feeds.items() if r == row and g == gap]
        out += [key for _, key in sorted(passing)]
        out += work.rows[row][gap : gap + 1]
    return out


def _wish(work: Work, key: NetKey, row: int) -> float:
    """Where a passing wire would like to pass: below where it passed the row above, else between its ends."""
    if (key, row - 1) in work.feed_x:
        return work.feed_x[key, row - 1]
    return sum(work.end((key[0], side))[0] for side in key[1]) / 2


def place_row(work: Work, row: int, room: float) -> None:
    """Sets the x of a row's devices and passing wires: no vertical on one of the row above, straight ones where they can be."""
    above = _Above(_verticals(work, row - 1, up=False))
    below = {key: x for x, key in _verticals(work, row + 1, up=True)}
    slack = max(0.0, room - row_room(work, row))
    x = SIDE
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

    tries = [x + GRID * n for n in range(min(80, max(1, int(slack / GRID) + 1)))]
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


def _leaving(work: Work, box: Box, up: bool) -> list[Vertical]:
    """The wires that leave a device upwards, or downwards, counted from its left edge."""
    return [
        (dx, _net_of(work, key))
        for key, (dx, pin) in box.slots.items()
        if (pin.side == TOP) == up and not box.ends[key].stub
    ]  # fmt: skip


def _net_of(work: Work, key: EndKey) -> NetKey:
    return (key[0], "ab") if key[0] in work.whole else key


def _verticals(work: Work, row: int, up: bool) -> list[Vertical]:
    """What a row as it stands sends up, or down, into its channel."""
    if not 0 <= row < len(work.rows):
        return []
    out = [(x, key) for (key, r), x in work.feed_x.items() if r == row]
    return out + [(work.x[b.name] + dx, key) for b in work.rows[row] for dx, key in _leaving(work, b, up)]
