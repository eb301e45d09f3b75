"""Which lane each stretch of wire takes in a channel, so that wires do not lie on each other and cross as seldom as can be."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

_BLOCKED = 1000
_APART = 5.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run along a channel.

    `ends` are its two ends: how far along, and whether it leaves the channel there towards lower lanes (-1), higher lanes (+1) or
    not at all (0). A bundle reaches to both sides of that.
    """

    ends: tuple[tuple[float, int], tuple[float, int]]
    reach: float = 0.0

    @property
    def low(self) -> float:
        """The nearer end."""
        return min(self.ends[0][0], self.ends[1][0]) - self.reach

    @property
    def high(self) -> float:
        """The farther end."""
        return max(self.ends[0][0], self.ends[1][0]) + self.reach


def lanes(stretches: Sequence[Stretch]) -> list[int]:
    """A lane number for each stretch, counted from 0; stretches that overlap never share one."""
    near = _neighbours(stretches)
    order = _ordered(stretches, near)
    lane = [-1] * len(stretches)
    for index in order:
        lane[index] = max((lane[other] for other in near[index]), default=-1) + 1
    return lane


def overlap(a: Stretch, b: Stretch) -> bool:
    """Whether two stretches would touch in one lane."""
    return a.low < b.high + _APART and b.low < a.high + _APART


def _neighbours(stretches: Sequence[Stretch]) -> list[list[int]]:
    """For each stretch those that it overlaps: only their order matters."""
    spans = [(s.low, s.high) for s in stretches]
    by_low = sorted(range(len(spans)), key=lambda i: spans[i])
    lows = [spans[i][0] for i in by_low]
    out: list[list[int]] = [[] for _ in spans]
    for rank, i in enumerate(by_low):
        for j in by_low[rank + 1 : bisect_right(lows, spans[i][1] + _APART)]:
            if spans[j][0] < spans[i][1] + _APART:
                out[i].append(j)
                out[j].append(i)
    return out


def _ordered(stretches: Sequence[Stretch], near: Sequence[Sequence[int]]) -> list[int]:
    """The order of lanes with few crossings: by how much each wants to be first, then neighbours changed while that helps."""
    count = len(stretches)
    # What it costs more to have i before j than after it; nothing where they do not overlap.
    gain: list[dict[int, int]] = [{} for _ in range(count)]
    for i in range(count):
        for j in near[i]:
            if i < j:
                gain[i][j] = _crossings(stretches[i], stretches[j]) - _crossings(stretches[j], stretches[i])
                gain[j][i] = -gain[i][j]
    order = sorted(range(count), key=lambda i: (sum(gain[i].values()), stretches[i].low, stretches[i].high, i))
    for _ in range(count):
        changed = False
        for n in range(count - 1):
            first, second = order[n], order[n + 1]
            if gain[first].get(second, 0) > 0:
                order[n], order[n + 1] = second, first
                changed = True
        if not changed:
            break
    return _obeying(order, gain)


def _obeying(order: Sequence[int], gain: Sequence[dict[int, int]]) -> list[int]:
    """The order changed as little as can be so that nothing comes to lie on something else."""
    after = {i: {j for j, cost in gain[i].items() if cost > _BLOCKED / 2} for i in order}  # these must come before i
    out: list[int] = []
    left = list(order)
    while left:
        ready = next((i for i in left if not after[i].intersection(left)), left[0])
        out.append(ready)
        left.remove(ready)
    return out


def _crossings(first: Stretch, second: Stretch) -> int:
    """How often the two cross when `first` has the lower lane; very often where they would lie on each other."""
    (a1, way_a1), (a2, way_a2) = first.ends
    (b1, way_b1), (b2, way_b2) = second.ends
    low, high = (b1, b2) if b1 < b2 else (b2, b1)
    total = int(way_a1 > 0 and low < a1 < high) + int(way_a2 > 0 and low < a2 < high)
    low, high = (a1, a2) if a1 < a2 else (a2, a1)
    total += int(way_b1 < 0 and low < b1 < high) + int(way_b2 < 0 and low < b2 < high)
    apart = first.reach + second.reach + _APART / 2
    for along, way in first.ends:
        if way > 0:
            total += _BLOCKED * (way_b1 < 0 and abs(along - b1) < apart)
            total += _BLOCKED * (way_b2 < 0 and abs(along - b2) < apart)
    return total
