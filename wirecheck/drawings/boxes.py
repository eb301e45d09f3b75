"""A figure with room made for its wires: where its columns, terminals and words are, relative to its upper left corner."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from wirecheck.drawings.captions import key_data
from wirecheck.drawings.figures import BOTTOM, TOP, Figure, Pin
from wirecheck.drawings.grid import GRID, PITCH, up_to
from wirecheck.drawings.lettering import SMALLEST, clean, width, wrap
from wirecheck.drawings.wiring import End

NAME_SIZE, TITLE_SIZE, DATA_SIZE = 9.0, 6.2, SMALLEST
COMB = 3.0
"""How far outside the outline the bar runs that joins several wires to one terminal."""
_MOST_CAPTION = 56.0
_EDGE = 4.0


@dataclass(frozen=True, slots=True)
class CaptionLine:
    """One line of the words beside a device."""

    text: str
    size: float
    bold: bool
    baseline: float


@dataclass(frozen=True, slots=True)
class Box:
    """A device that has its size. `slots` tells for each wire end how far from the left it leaves, and at which pin."""

    figure: Figure
    width: float
    height: float
    caption: tuple[CaptionLine, ...]
    caption_width: float
    columns: tuple[float, ...]
    slots: Mapping[tuple[int, str], tuple[float, Pin]]
    ends: Mapping[tuple[int, str], End]

    @property
    def name(self) -> str:
        """The device's designation."""
        return self.figure.device.name


def box(figure: Figure, ends: Mapping[Pin, Sequence[End]]) -> Box:
    """Makes room for the words, the actuator and every column with the wires at its terminals."""
    caption = _caption(figure)
    caption_width = max(width(c.text, c.size, c.bold) for c in caption)
    x = _EDGE + caption_width + 2 + (figure.head.width if figure.head else 0)
    columns: list[float] = []
    column = 0
    for element in figure.elements:
        x = up_to(x + element.left, GRID)
        for n in range(element.columns):
            columns.append(x)
            room = max(_rooms(ends, column, TOP), _rooms(ends, column, BOTTOM))
            last = n == element.columns - 1
            x += up_to(max(room, element.right if last else element.pitch), GRID)
            column += 1
    slots = {end.key: (at, pin) for pin, some in ends.items() for end, at in _slots(columns[pin.column], some)}
    across = max(1, int((caption_width + 4) // 9))
    words_below = caption[-1].baseline + 6 + 9 * -(-len(figure.findings) // across)
    height = max(figure.height, words_below)
    known = {end.key: end for some in ends.values() for end in some}
    return Box(figure, up_to(x, GRID), up_to(height, PITCH), caption, caption_width, tuple(columns), slots, known)


def _rooms(ends: Mapping[Pin, Sequence[End]], column: int, side: str) -> float:
    return sum(end.room for pin, some in ends.items() if pin.column == column and pin.side == side for end in some)


def _slots(x: float, ends: Sequence[End]) -> list[tuple[End, float]]:
    out = []
    for end in ends:
        out.append((end, x))
        x += end.room
    return out


def _caption(figure: Figure) -> tuple[CaptionLine, ...]:
    device = figure.device
    texts = [(line, NAME_SIZE, True) for line in wrap(device.name, NAME_SIZE, _MOST_CAPTION, 2, True)]
    title = device.title or str(device.values.get("guards") or "")
    texts += [(line, TITLE_SIZE, False) for line in wrap(title, TITLE_SIZE, _MOST_CAPTION, 4)]
    kind = "" if title else device.kind.replace("-", " ")
    texts += [(line, TITLE_SIZE, False) for line in wrap(kind, TITLE_SIZE, _MOST_CAPTION, 3)]
    for data in key_data(device)[:6]:
        texts += [(line, DATA_SIZE, False) for line in wrap(data, DATA_SIZE, _MOST_CAPTION, 2)]
    out: list[CaptionLine] = []
    y = 3.0
    for text, size, bold in texts or [(clean(device.name) or "?", NAME_SIZE, True)]:
        y += size * 1.12
        out.append(CaptionLine(text, size, bold, y))
    return tuple(out)
