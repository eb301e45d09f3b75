"""Which device stands in which row and in what order, so that wires are short."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import exp
from random import Random

GAP = 12.0
_FIRST = (
    "mains",
    "plug-connector",
    "isolator",
    "residual-current-device",
    "circuit-breaker",
    "fuse",
    "line-filter",
    "line-reactor",
)
_FIRST_TOO = ("earth-bar", "transformer", "dc-supply")
_SECOND = ("drive", "contactor", "overload-relay", "no-volt-release", "safety-relay", "braking-resistor", "motor")
_ROW_COST, _RANK_COST = 45.0, 25.0
_HOT, _COLD = 120.0, 3.0
_ROOM_TO_PLAY = 1.02
SMALL_PLACE = 45
"""Up to this many devices every pair is tried for a better place; above it only neighbours are."""


@dataclass(frozen=True, slots=True)
class Link:
    """A wire as the placing sees it: from a point of one device to a point of another, or out of the frame to one side.

    `dx` counts from the device's left edge, `below` is whether it leaves at the lower side. `other` is None for a wire that
    leaves the frame; `exit_right` then tells where to.
    """

    name: str
    dx: float
    below: bool
    other: str | None
    other_dx: float = 0.0
    other_below: bool = False
    exit_right: bool = True


def rank(kind: str) -> int:
    """0 for what brings the supply in, 1 for what switches power, 2 for the rest: the rows from above."""
    return 0 if kind in _FIRST or kind in _FIRST_TOO else 1 if kind in _SECOND else 2


def split(names: Sequence[str], widths: Mapping[str, float], rows: int) -> list[list[str]]:
    """The names in rows, in their order, with the widest row as narrow as can be."""
    low = max((widths[n] for n in names), default=0.0)
    high = sum(widths[n] + GAP for n in names)
    while high - low > 1:
        middle = (low + high) / 2
        if len(_filled(names, widths, middle)) <= rows:
            high = middle
        else:
            low = middle
    return _filled(names, widths, high)


def _filled(names: Sequence[str], widths: Mapping[str, float], room: float) -> list[list[str]]:
    out: list[list[str]] = []
    used = 0.0
    for name in names:
        if not out or used + widths[name] > room:
            out.append([])
            used = 0.0
        out[-1].append(name)
        used += widths[name] + GAP
    return out


class _Trial:
    """Rows that are being improved; the cost is the length of all wires, counted over devices' places only."""

    def __init__(
        self, rows: list[list[str]], widths: Mapping[str, float], links: Sequence[Link], ranks: Mapping[str, int]
    ) -> None:
        self.rows, self.widths, self.links, self.ranks = rows, widths, links, ranks
        self.room = max((self.row_width(r) for r in rows), default=0.0)

    def row_width(self, row: Sequence[str]) -> float:
        return sum(self.widths[n] + GAP for n in row)

    def positions(self) -> dict[str, tuple[float, int]]:
        out: dict[str, tuple[float, int]] = {}
        for index, row in enumerate(self.rows):
            x = (self.room - self.row_width(row)) * 0.2
            for name in row:
                out[name] = (x, index)
                x += self.widths[name] + GAP
        return out

    def cost(self) -> float:
        places = self.positions()
        wanted = sum(_RANK_COST * abs(places[n][1] - min(rank, len(self.rows) - 1)) for n, rank in self.ranks.items())
        return wanted + sum(self.length(link, places) for link in self.links)

    def length(self, link: Link, places: Mapping[str, tuple[float, int]]) -> float:
        x, row = places[link.name]
        if link.other is None:
            return (self.room - x - link.dx) if link.exit_right else x + link.dx
        other_x, other_row = places[link.other]
        channels = abs(row + link.below - other_row - link.other_below)
        return abs(x + link.dx - other_x - link.other_dx) + _ROW_COST * channels


def arrange(
    rows: list[list[str]], widths: Mapping[str, float], links: Sequence[Link], ranks: Mapping[str, int]
) -> list[list[str]]:
    """The rows with their devices in a better order: neighbours of a wire come nearer to each other."""
    trial = _Trial([list(r) for r in rows], widths, links, ranks)
    best, cost = [list(r) for r in trial.rows], trial.cost()
    for _ in range(6):
        _sort_by_neighbours(trial)
        now = trial.cost()
        if now < cost:
            best, cost = [list(r) for r in trial.rows], now
    trial.rows = best
    count = sum(map(len, rows))
    for _ in range(4 if count <= SMALL_PLACE else 0):
        if not _try_swaps(trial):
            break
    return trial.rows


def _sort_by_neighbours(trial: _Trial) -> None:
    """Each row by the middle of what its devices are wired to."""
    for row in range(len(trial.rows)):
        places = trial.positions()
        wanted: dict[str, list[float]] = {}
        for link in trial.links:
            if link.other is None:
                wanted.setdefault(link.name, []).append(trial.room if link.exit_right else 0.0)
            elif link.other != link.name:
                wanted.setdefault(link.name, []).append(places[link.other][0] + link.other_dx - link.dx)
                wanted.setdefault(link.other, []).append(places[link.name][0] + link.dx - link.other_dx)
        trial.rows[row].sort(key=lambda n: sum(wanted[n]) / len(wanted[n]) if n in wanted else places[n][0])


def _try_swaps(trial: _Trial) -> bool:
    """Changes pairs of devices, and moves single ones, wherever that makes the wires shorter and no row too long."""
    cost, better = trial.cost(), False
    spots = [(r, n) for r, row in enumerate(trial.rows) for n in range(len(row))]
    for i, (row, n) in enumerate(spots):
        for other_row, m in spots[i + 1 :]:
            a, b = trial.rows[row], trial.rows[other_row]
            a[n], b[m] = b[m], a[n]
            if max(trial.row_width(a), trial.row_width(b)) <= trial.room * 1.02 and trial.cost() < cost - 1:
                cost, better = trial.cost(), True
            else:
                a[n], b[m] = b[m], a[n]
    return better | _try_moves(trial, cost)


def _try_moves(trial: _Trial, cost: float) -> bool:
    better = False
    for name in [n for row in trial.rows for n in row]:
        before = [list(r) for r in trial.rows]
        best = before
        for row in range(len(before)):
            for at in range(len(before[row]) + 1):
                rows = [[n for n in r if n != name] for r in before]
                rows[row].insert(at, name)
                trial.rows = rows
                if all(rows) and trial.row_width(rows[row]) <= trial.room * 1.02 and (now := trial.cost()) < cost - 1:
                    best, cost, better = rows, now, True
        trial.rows = best
    return better


def anneal(
    rows: list[list[str]], widths: Mapping[str, float], links: Sequence[Link], ranks: Mapping[str, int], seed: int, steps: int
) -> list[list[str]]:
    """The rows after many small changes at random, at first also for the worse, then less and less; a seed always gives the same.

    Notes
    -----
    Simulated annealing (Kirkpatrick, Gelatt, Vecchi 1983): a change for the worse by d is taken with probability exp(-d/t), where
    the temperature t falls geometrically. Only `random()` is drawn on, whose sequence Python keeps the same in all versions.
    """
    trial = _Trial([list(r) for r in rows], widths, links, ranks)
    draw = Random(seed).random  # noqa: S311 - nothing secret: the same seed must give the same drawing
    now = trial.cost()
    best, lowest = [list(r) for r in trial.rows], now
    heat, cooling = _HOT, (_COLD / _HOT) ** (1 / max(1, steps))
    for _ in range(steps):
        heat *= cooling
        before = trial.rows
        trial.rows = _changed(before, draw)
        if not all(trial.rows) or max(map(trial.row_width, trial.rows)) > trial.room * _ROOM_TO_PLAY:
            trial.rows = before
            continue
        cost = trial.cost()
        if cost > now and draw() >= exp((now - cost) / heat):
            trial.rows = before
            continue
        now = cost
        if now < lowest:
            best, lowest = trial.rows, now
    return best


def _changed(rows: list[list[str]], draw: Callable[[], float]) -> list[list[str]]:
    """The rows with two devices changed over, or one moved."""
    out = [list(r) for r in rows]
    spots = [(r, n) for r, row in enumerate(out) for n in range(len(row))]
    row, n = spots[int(draw() * len(spots))]
    if draw() < 0.5:
        other, m = spots[int(draw() * len(spots))]
        out[row][n], out[other][m] = out[other][m], out[row][n]
    else:
        name = out[row].pop(n)
        target = out[int(draw() * len(out))]
        target.insert(int(draw() * (len(target) + 1)), name)
    return out
