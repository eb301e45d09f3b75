"""A diagnosis for somebody with the meter still in hand: what is wrong, what explains it, what to measure next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecheck.findings import NOTICE
from wirecheck.metering.dead import CLOSED, OHMS, OPEN
from wirecheck.metering.diagnosing import Diagnosis
from wirecheck.outputs.csv_text import csv_text
from wirecheck.outputs.text import Page
from wirecheck.sheets.dead_test import COLUMNS, operated

MOST_SHOWN = 12
"""So many explanations are listed; below them only how many more there are."""

SHOWS = {
    frozenset({CLOSED}): "closed",
    frozenset({OHMS}): "some ohms",
    frozenset({OPEN}): "open",
    frozenset({CLOSED, OHMS}): "closed or some ohms",
    frozenset({OHMS, OPEN}): "not closed",
    frozenset({CLOSED, OHMS, OPEN}): "anything",
}


def render_diagnosis(plan: str, found: Diagnosis, steps: Sequence[str], old: bool, colour: bool = False, width: int = 100) -> str:
    """The diagnosis as text. `steps` are the readings taken; `old` says that the plan has changed since the sheet was made."""
    page = Page(width, colour)
    page.paragraph(f"{plan}: {_verdict(found, steps)}", "strong")
    if old:
        page.paragraph("The sheet was made from another text of this plan (its SHA-256 differs): the plan has changed since.")
    for label, line in _explanations(found):
        page.labelled(label, line)
    page.blank()
    common = set.intersection(*(set(e.wires) for e in found.errors)) if found.errors and not found.healthy else set()
    if common and len(found.errors) > 1:
        page.paragraph(f"All of them are about wire {' and '.join(sorted(common))}: look at its ends first.")
    for line in _next(found, len(steps)):
        page.paragraph(line)
    page.paragraph(
        "Only with the supply isolated and locked off, as the sheet says. After any change all of it is measured again."
    )
    page.blank()
    page.paragraph(NOTICE, "strong")
    return "\n".join(page.lines) + "\n"


def _verdict(found: Diagnosis, steps: Sequence[str]) -> str:
    taken = f"{len(steps)} reading{'s' if len(steps) != 1 else ''}"
    if found.healthy:
        left = f" {len(found.errors)} wiring errors are not ruled out by them." if found.errors else ""
        return f"{taken}, all as they should be.{left}"
    wrong = (
        f"{len(found.wrong)} not as {'they' if len(found.wrong) != 1 else 'it'} should be"
        if found.wrong
        else "each as it could be"
    )
    if not found.errors:
        return f"{taken}, {wrong}. No single wiring error explains them: there are two at least, or a reading is wrong."
    many = f"{len(found.errors)} single wiring errors explain" if len(found.errors) > 1 else "one single wiring error explains"
    return f"{taken}, {wrong}; {many} all of them."


def _explanations(found: Diagnosis) -> Iterator[tuple[str, str]]:
    for observed in found.wrong:
        reading = observed.reading
        yield "wrong", f"{operated(reading.setting)}: {reading.a} to {reading.b} read {SHOWS[observed.levels]}"
    for place, error in enumerate(found.errors[:MOST_SHOWN] if not found.healthy else (), start=1):
        yield str(place), error.text
    if len(found.errors) > MOST_SHOWN and not found.healthy:
        yield "", f"and {len(found.errors) - MOST_SHOWN} more"


def _next(found: Diagnosis, taken: int) -> Iterator[str]:
    if found.healthy:
        return
    if found.next is None:
        if len(found.errors) > 1:
            yield "No further reading tells these apart: look at the wires and their numbers."
        elif not found.errors:
            yield "Measure the wrong ones again, then follow their wires from end to end."
        return
    reading = found.next
    yield f"Next: with {operated(reading.setting)}, from {reading.a} to {reading.b}."
    for levels, places in found.then:
        shown = [str(place + 1) for place in places if place < MOST_SHOWN]
        more = f"{' and ' if shown else ''}{len(places) - len(shown)} more" if len(places) > len(shown) else ""
        yield f"If it reads {SHOWS[levels]}: {', '.join(shown)}{more}."
    cells = {"step": str(taken + 1), "operate": operated(reading.setting), "from": str(reading.a), "to": str(reading.b)}
    line = csv_text([[cells.get(column, "") for column in COLUMNS]]).strip()
    yield f"As a further line of the file, with what it reads: {line}"
