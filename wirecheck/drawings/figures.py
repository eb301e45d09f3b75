"""A device as a figure: which symbols it is made of, where its terminals stand, and the words beside it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from wirecheck.drawings.shapes import Shape
from wirecheck.plan.model import Device

Draw = Callable[[Sequence[float], float, float], list[Shape]]
TOP, BOTTOM = "top", "bottom"
BODY_HEIGHT = 50.0


@dataclass(frozen=True, slots=True)
class Element:
    """One symbol of a device with the terminals above and below it, one column for each; None where a column has none.

    `draw` gets the columns' x, and the y of the upper and lower terminals. `left` and `right` are the room the symbol takes
    beyond its first and last column, `pitch` the least distance between columns. `labelled` says that `draw` writes the
    marks itself; `linked` that the device's actuator moves it.
    """

    tops: tuple[str | None, ...]
    bottoms: tuple[str | None, ...]
    draw: Draw
    kind: str = "part"
    name: str = ""
    data: Mapping[str, str] = field(default_factory=dict)
    left: float = 10.0
    right: float = 12.0
    pitch: float = 20.0
    labelled: bool = False
    linked: bool = False

    @property
    def columns(self) -> int:
        """How many columns it takes."""
        return max(len(self.tops), len(self.bottoms))


@dataclass(frozen=True, slots=True)
class Head:
    """What stands left of a device's contacts: a push-button's head, a roller, a motor's circle."""

    draw: Callable[[float, float], list[Shape]]
    width: float
    linked: bool = True


@dataclass(frozen=True, slots=True)
class Pin:
    """A terminal on the outline: the column counts over the whole figure."""

    mark: str
    side: str
    column: int


@dataclass(frozen=True, slots=True)
class Figure:
    """All that is needed to draw a device, not yet placed. `over` is drawn across all its columns."""

    device: Device
    elements: tuple[Element, ...]
    head: Head | None = None
    height: float = BODY_HEIGHT
    bars: tuple[tuple[Pin, Pin], ...] = ()
    findings: tuple[int, ...] = ()
    over: Draw | None = None

    def pins(self) -> list[Pin]:
        """Every terminal on the outline, upper side first; a mark that two elements share stands once on each side."""
        out: list[Pin] = []
        seen: set[tuple[str, str]] = set()
        for side in (TOP, BOTTOM):
            for column, mark in enumerate(self.marks(side)):
                if mark is not None and (mark, side) not in seen:
                    seen.add((mark, side))
                    out.append(Pin(mark, side, column))
        return out

    def marks(self, side: str) -> list[str | None]:
        """The marks of one side, by column."""
        out: list[str | None] = []
        for element in self.elements:
            marks = element.tops if side == TOP else element.bottoms
            out += [*marks, *[None] * (element.columns - len(marks))]
        return out
