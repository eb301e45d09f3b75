"""Which lane each stretch of wire takes in a channel, so that wires do not lie on each other and cross as seldom as can be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_BLOCKED = 1000
_APART = 5.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run along a channel. `ends` are its two ends: how far along, and whether it leaves the channel there towards lower
    lanes (-1), higher lanes (+1) or not at all (0).
    """

    ends: tuple[tuple[float, int], tuple[float, int]]

    @property
    def low(self) -> float:
        """The nearer end."""
        return min(self.ends[0][0], self.ends[1][0])

    @property
    def high(self) -> float:
        """The farther end."""
        return max(self.ends[0][0], self.ends[1][0])


def lanes(stretches: Sequence[Stretch]) -> list[int]:
    """A lane number for each stretch, counted from 0; stretches that overlap never share one."""
    order = _ordered(stretches)
    lane = [0] * len(stretches)
    for n, index in enumerate(order):
        below = [lane[other] for other in order[:n] if overlap(stretches[index], stretches[other])]
        lane[index] = max(below, default=-1) + 1
    return lane


def overlap(a: Stretch, b: Stretch) -> bool:
    """Whether two stretches would touch in one lane."""
    return a.low < b.high + _APART and b.low < a.high + _APART


def _ordered(stretches: Sequence[Stretch]) -> list[int]:
    """The order of lanes with few crossings: by how much each wants to be first, then neighbours changed while that helps."""
    count = range(len(stretches))
    gain = [[_crossings(stretches[i], stretches[j]) - _crossings(stretches[j], stretches[i]) for j in count] for i in count]
    order = sorted(count, key=lambda i: (sum(gain[i]), stretches[i].low, stretches[i].high, i))
    for _ in count:
        changed = False
        for n in range(len(order) - 1):
            first, second = order[n], order[n + 1]
            if gain[first][second] > 0:
                order[n], order[n + 1] = second, first
                changed = True
        if not changed:
            break
    return order


def _crossings(first: Stretch, second: Stretch) -> int:
    """How often the two cross when `first` has the lower lane; very often where they would lie on each other."""
    total = 0
    for along, way in first.ends:
        total += way > 0 and second.low < along < second.high
        total += _BLOCKED * any(way > 0 and other < 0 and abs(along - at) < _APART / 2 for at, other in second.ends)
    for along, way in second.ends:
        total += way < 0 and first.low < along < first.high
    return total
