"""A document as a record: what stands in it, and what every one of them carries."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from wirecheck.findings import NOTICE, Report, severity_rank
from wirecheck.plan.model import Plan

Row = tuple[str, ...]

TO_FILL = frozenset({"done", "reading", "name", "date", "manual page", "entered", "ohm", "cleared up"})
"""Columns that stay empty: somebody writes in them at the bench."""


@dataclass(frozen=True, slots=True)
class Table:
    """One document. `name` is the stem of its file; `notes` stand above the rows, one a paragraph.

    `groups` are the columns by whose value rows belong together: a page shows them with a rule between.
    """

    name: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()
    landscape: bool = False
    group: str = ""

    def __post_init__(self) -> None:
        """Hold that every row fits its columns: a value under the wrong head would mislead at the bench."""
        for row in self.rows:
            assert len(row) == len(self.columns), (self.name, row)


@dataclass(frozen=True, slots=True)
class Heading:
    """What every document carries: machine, revision, which text of the plan it was made from, what was found, the caution."""

    machine: str
    revision: str
    plan: str
    sha256: str
    found: str
    notice: str = NOTICE
    pairs: tuple[tuple[str, str], ...] = field(init=False)

    def __post_init__(self) -> None:
        pairs = (
            ("machine", self.machine),
            ("revision", self.revision),
            ("plan", self.plan),
            ("SHA-256 of the plan", self.sha256),
            ("findings", self.found),
            ("caution", self.notice),
        )
        object.__setattr__(self, "pairs", pairs)


def heading(plan: Plan, report: Report, sha256: str) -> Heading:
    """The heading of all documents of a plan."""
    values = plan.machine.values
    words = [str(values[key]) for key in ("drawing", "revision", "date", "author") if values.get(key)]
    return Heading(plan.machine.name, ", ".join(words) or "not stated", plan.file, sha256, found(report))


def found(report: Report) -> str:
    """What the check found, in a sentence that somebody with a screwdriver in hand reads."""
    if report.incomplete:
        return "The check could not decide everything, so nothing is claimed of this plan. Do not build from it yet."
    open_findings = [f for f in report.findings if not f.accepted]
    worst = max((f.severity for f in open_findings), key=severity_rank, default="")
    if worst and worst != "advice":
        number = sum(f.severity == worst for f in open_findings)
        return f"The check found {number} of severity {worst}. Clear what it found before you build from this plan."
    return "No rule found anything beyond advice." if worst else "No rule found anything."


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A key that puts 2 before 10.

    >>> sorted(["10", "L2", "2", "L10"], key=natural)
    ['2', '10', 'L2', 'L10']
    """
    parts = re.findall(r"[0-9]+|[^0-9]+", text)
    return tuple((0, int(part[:40]), "") if part[0] in "0123456789" else (1, 0, part) for part in parts)


def listed(items: Iterable[str], between: str = ", ") -> str:
    """Items in one cell, each once."""
    return between.join(dict.fromkeys(item for item in items if item))
