"""The table of faults for a machinist: what is lost first, each with the command that shows it; the rest in a few words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from textwrap import wrap

from wirecheck.behaviour.faults import Fault
from wirecheck.behaviour.verdicts import NO_EFFECT, SEEN, STOPS, UNSEEN
from wirecheck.errors import visible
from wirecheck.findings import NOTICE, Evidence
from wirecheck.outputs.commands import rehearse_command
from wirecheck.outputs.folding import folded, runs_of
from wirecheck.outputs.text import WIDTH_LEAST, WIDTH_MOST, Page
from wirecheck.rules.fault_table import FaultTable, Row

WIDEST_TITLE = 32
COUNTS = ("tried", "lost", "unseen")

LOSSES = (
    (UNSEEN, "danger", "LOST, AND NOTHING SHOWS IT: the machine starts and runs as ever, and this does not stop it."),
    (SEEN, "damage", "LOST WHEN THE FAULT COMES, BUT SEEN: the next start is prevented."),
)
STARTING = "STARTS BY ITSELF: the fault, or an event after it that is no start, sets this in motion."
STOPPING = "STOPS THE MACHINE OR KEEPS IT FROM STARTING: nothing is lost, and it shows."
QUIET = (
    "CHANGES NOTHING for any function: no stop is lost, nothing starts. That need not be harmless: metal may have lost its "
    "earth or the motor a phase, and a fault can lie unseen until a second one comes."
)


def render_faults_text(table: FaultTable, colour: bool = False, width: int = 100) -> str:
    """The table as text, lines at most `width` wide (60 to 120); commands to be pasted stand on one line, however long."""
    page = Page(max(WIDTH_LEAST, min(width, WIDTH_MOST)), colour)
    page.paragraph(_first_line(table), "strong")
    _summary(page, table)
    for verdict, style, words in LOSSES:
        lost = {title: [row for row in table.rows if row.effects[title] == verdict] for title in table.functions}
        _losses(
            page, table, (words, style), {_heading(table, title): [(r, r.lost[title]) for r in lost[title]] for title in lost}
        )
        if verdict == UNSEEN:
            begun = {motor: [(r, r.starts[motor]) for r in table.rows if motor in r.starts] for motor in table.motors}
            _losses(page, table, (STARTING, "danger"), begun)
    quiet = [row for row in table.rows if not row.lost and not row.starts]
    _folded(page, table, (STOPPING, "advice"), [row for row in quiet if STOPS in row.effects.values()])
    _folded(page, table, (QUIET, "strong"), [row for row in quiet if STOPS not in row.effects.values()])
    _excluded(page, table)
    page.blank()
    page.paragraph(NOTICE, "strong")
    return "\n".join(page.lines) + "\n"


def _runs(table: FaultTable) -> Mapping[str, int]:
    return runs_of(fault for row in table.rows for fault in row.faults)


def _first_line(table: FaultTable) -> str:
    tried = sum(len(row.faults) for row in table.rows)
    lost = sum(len(row.faults) for row in table.rows if row.lost)
    starts = sum(len(row.faults) for row in table.rows if row.starts)
    if not table.functions:
        return f"{table.plan}: {tried} single faults tried, but the plan has nothing that stops a motor or turns a load off."
    return f"{table.plan}: {tried} single faults tried; {lost} take a function away, {starts} start a motor by themselves."


def _heading(table: FaultTable, title: str) -> str:
    summary = table.functions[title]
    when, must = str(summary["when"]), str(summary["must"])
    return f"{title}: with {when}, {must}" if when not in title else f"{title}: {must}"


def _summary(page: Page, table: FaultTable) -> None:
    """A line for each function: how many faults were tried on it, how many take it away, what its structure supports."""
    if not table.functions:
        return
    wide = min(WIDEST_TITLE, max(map(len, (*table.functions, "function"))))
    page.blank()
    page.paragraph(f"{'function':<{wide}}  {'  '.join(COUNTS)}  structure", "faint")
    for title, summary in table.functions.items():
        tried, lost, unseen = (summary["faults_tried"], _size(summary["lost_by"]), _size(summary["lost_unseen_by"]))
        numbers = "  ".join(f"{n:>{len(word)}}" for n, word in zip((tried, lost, unseen), COUNTS, strict=True))
        names = wrap(visible(title), wide) or [""]
        room = page.width - wide - len(numbers) - 4
        words = wrap(visible(str(summary["structure"])), room, break_on_hyphens=False)
        for i in range(max(len(names), len(words))):
            name, word = (lines[i] if i < len(lines) else "" for lines in (names, words))
            page.lines.append(f"{name:<{wide}}  {numbers if i == 0 else ' ' * len(numbers)}  {word}".rstrip())


def _size(listed: object) -> int:
    return len(listed) if isinstance(listed, Sequence) else 0


Losses = Mapping[str, Sequence[tuple[Row, Evidence]]]


def _losses(page: Page, table: FaultTable, head: tuple[str, str], losses: Losses) -> None:
    """A section on what is lost, or on what starts: under each function or motor its rows, with the command that shows it."""
    if not any(losses.values()):
        return
    page.blank()
    page.paragraph(*head)
    runs = _runs(table)
    for heading, rows in losses.items():
        if rows:
            page.blank()
            page.paragraph(heading, "strong")
        for row, evidence in rows:
            page.labelled("by", folded(row.faults, runs))
            page.lines.append(f"{'try':>8} {rehearse_command(table.plan, evidence, table.kinds)}")


def _folded(page: Page, table: FaultTable, head: tuple[str, str], rows: Sequence[Row]) -> None:
    """A section on faults that take nothing away: those with the same effects in one list."""
    if not rows:
        return
    page.blank()
    page.paragraph(*head)
    runs = _runs(table)
    for row in rows:
        stopped = [title for title, verdict in row.effects.items() if verdict != NO_EFFECT]
        if stopped and len(stopped) < len(row.effects):
            things = dict.fromkeys(str(table.functions[title]["must"]).split(" ")[0] for title in stopped)
            page.paragraph(f"What these keep from running: {', '.join(things)}", "strong")
        for line in _lines(row.faults, runs):
            page.labelled("by", line)


def _lines(faults: Sequence[Fault], runs: Mapping[str, int]) -> Iterator[str]:
    """One line for each kind of fault."""
    for kind in dict.fromkeys(fault.kind for fault in faults):
        yield folded([fault for fault in faults if fault.kind == kind], runs)


def _excluded(page: Page, table: FaultTable) -> None:
    if table.excluded:
        page.blank()
        page.paragraph(f"Left out: {'; '.join(table.excluded)}.")
    for row in table.rests_on:
        names = [*row.lost, *(f"the rest of {motor}" for motor in row.starts)]
        page.labelled("but", f"{', '.join(fault.text for fault in row.faults)} would take away {', '.join(names)}")
