"""The filled-in dead-test sheet read back: what was measured, between which terminals, with what operated."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from wirecheck.errors import PlanError, PlanErrors, nearest_word
from wirecheck.metering.dead import CLOSED, CLOSED_OHM, OHMS, OPEN, OPEN_OHM
from wirecheck.metering.diagnosing import Observed
from wirecheck.metering.matrix import Reading, Setting
from wirecheck.plan.model import Event, Plan, Terminal
from wirecheck.sheets.dead_test import REST

NEEDED = ("operate", "from", "to", "reading")

WORDS: Mapping[str, int] = {
    **dict.fromkeys(("closed", "short", "beep", "beeps", "0"), CLOSED),
    **dict.fromkeys(("open", "ol", "o.l", "o.l.", "0l", "0.l", "over", "inf", "infinite", "infinity", "\u221e", "no"), OPEN),
}
"""What somebody writes instead of ohms."""

NUMBER = re.compile(r"(?P<number>[0-9]+(?:[.,][0-9]+)?)\s*(?P<prefix>[mkM]?)\s*(?:ohms?|\u03a9|\u2126|R)?")
PREFIX = {"": 1.0, "m": 1e-3, "k": 1e3, "M": 1e6}

BORDER = 2.0
"""Within this factor of a border between closed, ohms and open a reading may be either."""


class Filled(NamedTuple):
    """The readings of a file, with the step each has on its sheet; `sha256` is that of the plan the sheet was made from."""

    observed: tuple[Observed, ...]
    steps: tuple[str, ...]
    sha256: str


def read_filled(plan: Plan, text: str, file: str) -> Filled:
    """The readings in the text of a filled-in sheet; lines without a reading are passed over.

    Raises
    ------
    PlanErrors
        Everything in it that cannot be understood, with its line.
    """
    reader = _Reader(plan, file, text.removeprefix("\ufeff"))
    return reader.read()


class _Reader:
    def __init__(self, plan: Plan, file: str, text: str) -> None:
        self.plan, self.file, self.text = plan, file, text
        self.lines = text.splitlines()
        self.errors: list[PlanError] = []
        self.line = 1

    def read(self) -> Filled:
        first = self.lines[0] if self.lines else ""
        between = ";" if first.count(";") > first.count(",") else "\t" if first.count("\t") > first.count(",") else ","
        rows = csv.reader(io.StringIO(self.text, newline=""), delimiter=between)
        head = [cell.strip().lower() for cell in next(rows, [])]
        missing = [name for name in NEEDED if name not in head]
        if missing:
            words = "a line of columns with operate, from, to and reading, as `wirecheck sheets` writes it"
            raise PlanErrors([self._error(f"this is no dead-test sheet: it has no column {', '.join(missing)}", words)])
        observed, steps, sha256 = [], [], ""
        try:
            for cells in rows:
                self.line = rows.line_num
                row = dict(zip(head, map(_plain, cells), strict=False))
                if row.get("step", "") == "SHA-256 of the plan":
                    sha256 = cells[1]
                if row.get("reading"):
                    observed.append(self._observed(row))
                    steps.append(row.get("step") or f"line {self.line}")
        except csv.Error as bad:
            self.errors.append(self._error(f"this line is no CSV: {bad}", "cells with a comma between them"))
        if not observed and not self.errors:
            self.line = 1
            self.errors.append(self._error("no reading is filled in", "what the meter read, in the column reading"))
        if self.errors:
            raise PlanErrors(self.errors)
        return Filled(tuple(o for o in observed if o), tuple(steps), sha256)

    def _observed(self, row: Mapping[str, str]) -> Observed | None:
        setting, ends = self._setting(row["operate"]), [self._terminal(row[key]) for key in ("from", "to")]
        levels = levels_of(row["reading"])
        if not levels:
            self.errors.append(
                self._error(f"`{row['reading']}` is no reading", "ohms, such as 0.3, 570 or 4.7k, or closed, or open")
            )
        if setting is None or ends[0] is None or ends[1] is None or not levels:
            return None
        return Observed(Reading(setting, ends[0], ends[1]), levels)

    def _setting(self, text: str) -> Setting | None:
        events = []
        for word in () if text in (REST, "") else text.split():
            name, _, position = word.partition("=")
            device = self.plan.devices.get(name)
            if device is None or position not in device.positions:
                known = [f"{d.name}={p}" for d in self.plan.devices.values() for p in d.positions]
                self.errors.append(self._unknown(word, "the plan has no", known))
                return None
            events.append(Event(name, position))
        return tuple(events)

    def _terminal(self, text: str) -> Terminal | None:
        name, _, mark = text.partition(":")
        if name in self.plan.devices and mark in self.plan.devices[name].marks:
            return Terminal(name, mark)
        known = [str(d.terminal(m)) for d in self.plan.devices.values() for m in d.marks]
        self.errors.append(self._unknown(text, "the plan has no terminal", known))
        return None

    def _unknown(self, word: str, what: str, known: Sequence[str]) -> PlanError:
        return self._error(f"{what} `{word}`", "")._replace(nearest=nearest_word(word, known))

    def _error(self, message: str, wanted: str) -> PlanError:
        line = self.lines[self.line - 1] if self.line <= len(self.lines) else ""
        return PlanError(self.file, self.line, 1, message, wanted, text=line)


def _plain(cell: str) -> str:
    """A cell without what keeps a spreadsheet from taking it for a formula."""
    return cell.strip().removeprefix("'")


def levels_of(text: str) -> frozenset[int]:
    """What the meter may have meant; empty where nobody knows.

    >>> sorted(levels_of("0,3 ohm")), sorted(levels_of("4.7k")), sorted(levels_of("OL")), sorted(levels_of("2.5"))
    ([0], [1], [2], [0, 1])
    """
    words = text.strip()
    if words.lower() in WORDS:
        return frozenset({WORDS[words.lower()]})
    match = NUMBER.fullmatch(words.lstrip("<>~ "))
    if not match:
        return frozenset()
    ohm = float(match["number"].replace(",", ".")) * PREFIX[match["prefix"]]
    least, most = ohm / BORDER, ohm * BORDER
    return frozenset(
        level
        for level, possible in (
            (CLOSED, least < CLOSED_OHM),
            (OHMS, most > CLOSED_OHM and least < OPEN_OHM),
            (OPEN, most > OPEN_OHM),
        )
        if possible
    )
