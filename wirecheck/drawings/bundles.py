"""Wires between places: what runs together, from which frame to which, and where it passes their sides.

Frames stand in columns with a gutter at the right of each column and one street below all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wirecheck.drawings.grid import PITCH
from wirecheck.drawings.nets import EndKey, PlaceLayout


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
    return Sides("right", "left", a, b - 1)  # frames are numbered from left to right


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

    @property
    def half(self) -> float:
        """Half its height, from the middle of the first core to that of the last."""
        return (len(self.order) - 1) / 2 * PITCH

    def y_of(self, key: EndKey) -> float:
        """The y at which one wire passes."""
        return self.middle + (self.order.index(key) - (len(self.order) - 1) / 2) * PITCH
