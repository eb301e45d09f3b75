"""The computed quantities as text: each with its value, limit, working, inputs and source, to be followed with a calculator."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from wirecheck.outputs.text import Page

STANDING = {"within": "within", "above": "TOO HIGH", "below": "TOO LOW", "unknown": "CANNOT TELL", "no limit": "no limit"}
STYLE = {"above": "malfunction", "below": "malfunction", "unknown": "strong"}


def number_lines(page: Page, numbers: Sequence[Mapping[str, object]]) -> None:
    """All numbers onto a page, in their order."""
    page.blank()
    page.paragraph("Numbers, each with its working:" if numbers else "No number could be worked out for this plan.", "strong")
    for number in numbers:
        _number(page, number)


def _number(page: Page, number: Mapping[str, object]) -> None:
    page.blank()
    page.paragraph(headline(number), STYLE.get(str(number["verdict"]), ""))
    if number["working"]:
        page.labelled("working", str(number["working"]))
    if inputs := _inputs(number):
        page.labelled("from", "; ".join(inputs))
    missing = number["missing"]
    if isinstance(missing, list) and missing:
        page.labelled("missing", ", ".join(map(str, missing)))
    if number["source"]:
        page.labelled("source", str(number["source"]))


def headline(number: Mapping[str, object]) -> str:
    """`M1: winding voltage in delta on T1: 230 V, allowed 207-253 V: within`."""
    case = f" {number['case']}" if number["case"] else ""
    limit = f", allowed {number['limit']}" if number["limit"] else ""
    return f"{number['device']}: {number['name']}{case}: {number['value']}{limit}: {STANDING[str(number['verdict'])]}"


def _inputs(number: Mapping[str, object]) -> list[str]:
    entries = number["inputs"]
    return [_input(entry) for entry in entries if isinstance(entry, Mapping)] if isinstance(entries, list) else []


def _input(entry: Mapping[str, object]) -> str:
    basis = "" if entry["basis"] == "stated" else f" ({entry['basis']})"
    # A plan is one file, named in the first line of the report: its line is enough.
    line = str(entry["at"]).rpartition(":")[2]
    return f"{entry['what']} {entry['value']}{basis}{f', line {line}' if line else ''}"
