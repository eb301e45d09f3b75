"""What the documents rest on: what was assumed, what was accepted, what was not decided, and what no plan can show."""

from __future__ import annotations

from collections.abc import Mapping

from wirecheck.findings import Report, worst_first
from wirecheck.sheets.table import Table

COLUMNS = ("what", "in words", "cleared up", "name", "date")


def assumption_list(report: Report) -> Table:
    """The assumptions of a report and its limits; and what it found and is still open."""
    rows = [("not decided", line) for line in report.incomplete]
    rows += [(f"found: {f.severity}", f.message) for f in worst_first(report.findings) if not f.accepted]
    rows += [
        (f"accepted {f.severity}", f"{f.message} Because: {f.accepted.get('because', '')}") for f in report.findings if f.accepted
    ]
    rows += [("to be found out", line) for line in map(_question, report.questions)]
    rows += [("assumed", line) for line in report.assumed]
    rows += [("not checked", line) for line in report.not_checked]
    notes = (
        "Assumed: what the plan leaves out is taken at its worst; state it in the plan and check again.",
        "Not checked: no plan can show it; somebody competent has to look at the machine.",
    )
    return Table(
        "assumptions", "Assumed and not checked", COLUMNS, tuple((*row, "", "", "") for row in rows), notes, group="what"
    )


def _question(asked: Mapping[str, object]) -> str:
    decides = asked["decides"]
    reasons = "; ".join(map(str, decides)) if isinstance(decides, list) else str(decides)
    return f"{asked['field']} is not stated. It decides {reasons}."
