"""What can be wrong with an input, as records that carry their place, and the exceptions that bring them to the caller."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

WIDEST_EXCERPT = 110
"""Characters of a plan's line that an error shows; a longer line is cut around the place."""


class PlanError(NamedTuple):
    """One thing in an input file that cannot be read or does not fit.

    `line` and `column` count from 1; `text` is the whole line as it stands in the file. `expected` says what would have been
    right, `nearest` the known word that comes closest to a misspelt one; both are empty where there is nothing to say.
    """

    file: str
    line: int
    column: int
    message: str
    expected: str = ""
    nearest: str = ""
    text: str = ""

    def __str__(self) -> str:
        """The error as a few lines of plain text: place and message, the line with a mark under it, what was expected."""
        rows = [f"{visible(self.file)}:{self.line}:{self.column}: {visible(self.message)}"]
        if self.text.strip():
            rows += _excerpt(self)
        if self.nearest:
            rows.append(f"    did you mean `{visible(self.nearest)}`?")
        if self.expected:
            rows.append(f"    expected: {visible(self.expected)}")
        return "\n".join(rows)


def _excerpt(error: PlanError) -> list[str]:
    """The line with its number, and a mark below the column."""
    start = max(0, error.column - 1 - WIDEST_EXCERPT // 2) if len(error.text) > WIDEST_EXCERPT else 0
    shown = error.text[start : start + WIDEST_EXCERPT]
    before = visible(error.text[start : error.column - 1])
    left, right = "... " if start else "", " ..." if start + WIDEST_EXCERPT < len(error.text) else ""
    gutter = f"{error.line:5d} | "
    return [gutter + left + visible(shown).rstrip() + right, " " * (len(gutter) - 2) + "| " + " " * len(left + before) + "^"]


class WirecheckError(Exception):
    """Everything that wirecheck raises on purpose."""


class PlanErrors(WirecheckError):
    """All that is wrong with one or more input files, in the order of the file."""

    def __init__(self, errors: Iterable[PlanError]) -> None:
        self.errors: tuple[PlanError, ...] = tuple(errors)
        super().__init__(self.errors)

    def __str__(self) -> str:
        return render_errors(self.errors)


class NotInPlan(WirecheckError):
    """A call names events or a fault that the plan does not have; the text says all of it, one a line."""


class TooLarge(WirecheckError):
    """A bound stopped the analysis; the text says which and at what. Nothing is claimed then."""


def render_errors(errors: Sequence[PlanError]) -> str:
    """All errors as plain text, with their count at the end where there are several."""
    blocks = [str(error) for error in errors]
    if len(blocks) > 1:
        blocks.append(f"{len(blocks)} errors")
    return "\n".join(blocks)


def visible(text: str) -> str:
    """Text with every character that could drive a terminal, or hide, written as an escape."""
    if text.isprintable():
        return text
    return "".join(
        c if c.isprintable() else "    " if c == "\t" else f"\\x{ord(c):02x}" if ord(c) < 256 else f"\\u{ord(c):04x}"
        for c in text
    )


def nearest_word(word: str, known: Iterable[str]) -> str:
    """The known word closest to a misspelt one, empty where none is close.

    >>> nearest_word("Push_Button", ["push-button", "lamp"])
    'push-button'
    """
    words = list(dict.fromkeys(known))
    folded = _folded(word)
    for candidate in words:
        if _folded(candidate) == folded:
            return candidate
    cutoff = 0.6 if len(word) > 3 else 0.5  # one wrong letter in a designation such as S9
    near = _nearest(word[:80], words, cutoff)
    if near < 0:
        near = _nearest(folded[:80], [_folded(w) for w in words], cutoff)
    return words[near] if near >= 0 else ""


def _nearest(word: str, words: Sequence[str], cutoff: float) -> int:
    """Which of the words is nearest, the first of those equally near: for U of a motor U1, not U2. -1 where none is."""
    from difflib import SequenceMatcher  # late: only an input with errors needs it

    matcher = SequenceMatcher(b=word)

    def likeness(other: str) -> float:
        matcher.set_seq1(other)
        return matcher.ratio() if min(matcher.real_quick_ratio(), matcher.quick_ratio()) >= cutoff else 0.0

    ratios = [likeness(other) for other in words]
    best = max(ratios, default=0.0)
    return ratios.index(best) if best >= cutoff else -1


def _folded(word: str) -> str:
    return word.casefold().replace("_", "-").replace(" ", "-")
