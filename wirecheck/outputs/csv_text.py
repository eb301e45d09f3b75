"""CSV (RFC 4180) that no spreadsheet takes for anything but text."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from wirecheck.errors import visible

FORMULA = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""How a cell begins that a spreadsheet may take for a formula; the last four are the wide forms of the others."""

HIDING = ("\t", "\r", "\n")
"""What a formula may hide behind."""


def csv_text(rows: Iterable[Sequence[str]]) -> str:
    """Rows as CSV that no spreadsheet takes for anything but text."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerows([cell(text) for text in row] for row in rows)
    return stream.getvalue()


def cell(text: str) -> str:
    """A cell: a text that a spreadsheet could take for a formula gets an apostrophe in front; control characters are shown."""
    return visible(f"'{text}" if text.startswith(HIDING) or text.lstrip().startswith(FORMULA) else text)
