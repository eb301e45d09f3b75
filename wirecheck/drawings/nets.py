"""What is routed in a place, what comes of it, and what is known on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from wirecheck.drawings.boxes import Box
from wirecheck.drawings.figures import TOP
from wirecheck.drawings.shapes import Point

HEADER = 15.0
"""The room at the top of a frame for the place's name."""
SIDE = 10.0
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
class Work:
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
