"""How wide a text is and where it breaks: what the layout must know before anything is drawn.

The widths are those of the common sans-serif metrics that Arimo, Liberation Sans, Helvetica and Arial share, in
thousandths of the text size, so that a text takes the same room in every viewer that has one of them.
"""

from __future__ import annotations

import unicodedata
from functools import cache

FONT = "Arimo"
FONT_STACK = "Arimo, 'Liberation Sans', Helvetica, Arial, sans-serif"

SMALLEST = 5.7
"""The smallest size of letters, from the top of a d to the foot of a p: 1.8 mm on a sheet at the smallest scale."""

_PLAIN = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 278 584 "
    "584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 667 944 667 667 "
    "611 278 278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 556 333 500 278 556 500 "
    "722 500 500 500 334 260 334 584"
)
_BOLD = (
    "278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 333 333 584 "
    "584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 667 778 722 667 611 722 667 944 667 667 "
    "611 333 278 333 584 556 333 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 611 611 389 556 333 611 556 "
    "778 556 556 500 389 280 389 584"
)
_WIDTHS = {bold: dict(enumerate(map(int, text.split()), 32)) for bold, text in ((False, _PLAIN), (True, _BOLD))}
_OTHER = 700  # letters with accents, signs: somewhat wider than most, so that a text is never taken for too short
_FULL = 1000
_SHOWN_AS_HOLE = {"Cc", "Cf", "Cs", "Co", "Cn"}


def clean(text: str) -> str:
    """The text on one line, with what cannot be printed (control and format characters) shown as a replacement mark."""
    line = " ".join(str(text).split())
    return "".join("\ufffd" if unicodedata.category(c) in _SHOWN_AS_HOLE else c for c in line)


@cache
def width(text: str, size: float, bold: bool = False) -> float:
    """Width of a text in the unit of its size."""
    table = _WIDTHS[bold]
    return sum(table.get(ord(c)) or (_FULL if unicodedata.east_asian_width(c) in "WF" else _OTHER) for c in text) * size / 1000


def shorten(text: str, size: float, room: float, bold: bool = False) -> str:
    """The text, or its beginning with an ellipsis where it is wider than the room."""
    if width(text, size, bold) <= room:
        return text
    while text and width(text + "\u2026", size, bold) > room:
        text = text[:-1]
    return text.rstrip() + "\u2026"


def wrap(text: str, size: float, room: float, lines: int = 99, bold: bool = False) -> list[str]:
    """Lines no wider than the room; a word that is wider by itself is cut into pieces, and what exceeds `lines` is shortened."""
    out: list[str] = []
    for word in _fitting(clean(text).split(), size, room, bold):
        if out and width(f"{out[-1]} {word}", size, bold) <= room:
            out[-1] = f"{out[-1]} {word}"
        else:
            out.append(word)
    if len(out) > lines:
        out = [*out[: lines - 1], shorten(" ".join(out[lines - 1 :]), size, room, bold)]
    return out


def _fitting(words: list[str], size: float, room: float, bold: bool) -> list[str]:
    pieces: list[str] = []
    for word in words:
        left = word
        while width(left, size, bold) > room and len(left) > 1:
            cut = next((n for n in range(len(left) - 1, 1, -1) if width(left[:n], size, bold) <= room), 1)
            pieces.append(left[:cut])
            left = left[cut:]
        pieces.append(left)
    return pieces
