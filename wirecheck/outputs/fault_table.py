"""The table of faults as JSON, and as CSV for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

from wirecheck.errors import visible
from wirecheck.findings import NOTICE, Evidence
from wirecheck.outputs.commands import rehearse_command
from wirecheck.outputs.json import dump, evidence_keys
from wirecheck.rules.fault_table import FaultTable, Row

FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
"""How a cell begins that a spreadsheet may take for a formula, or hide one behind."""


def render_faults_json(table: FaultTable) -> str:
    """The table as a JSON object."""
    return dump(
        {
            "wirecheck": 1,
            "plan": table.plan,
            "functions": list(table.functions),
            "summaries": [{"function": title, **summary} for title, summary in table.functions.items()],
            "faults": [_row(table.plan, row) for row in table.rows],
            "excluded": list(table.excluded),
            "rests_on": [_row(table.plan, row) for row in table.rests_on],
            "notice": NOTICE,
        }
    )


def _row(plan: str, row: Row) -> dict[str, object]:
    first, *alike = row.faults
    return {
        "fault": first.text,
        "kind": first.kind,
        "alike": [fault.text for fault in alike],
        "effects": dict(row.effects),
        "starts": list(row.starts),
        "evidence": evidence_keys(row.evidence),
        "rehearse": {**_commands(plan, row.lost), **{f"{motor} starts": c for motor, c in _commands(plan, row.starts).items()}},
    }


def _commands(plan: str, traces: Mapping[str, Evidence]) -> dict[str, str]:
    return {name: rehearse_command(plan, evidence) for name, evidence in traces.items()}


def render_faults_csv(table: FaultTable) -> str:
    """The table as CSV (RFC 4180): a row for each fault, those of one group act alike; the last row is the caution."""
    titles = list(table.functions)
    head = ["group", "fault", "kind", *titles, *(f"{motor} starts by itself" for motor in table.motors), "rehearse"]
    rows = [head]
    for number, row in enumerate(table.rows, start=1):
        effects = [*(row.effects[title] for title in titles), *("yes" if motor in row.starts else "" for motor in table.motors)]
        for fault in row.faults:
            trace = rehearse_command(table.plan, row.evidence._replace(fault=fault.text)) if row.evidence.fault else ""
            rows.append([str(number), fault.text, fault.kind, *effects, trace])
    rows.append(["", NOTICE, *[""] * (len(head) - 2)])
    return csv_text(rows)


def csv_text(rows: Iterable[Sequence[str]]) -> str:
    """Rows as CSV that no spreadsheet takes for anything but text."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerows([cell(text) for text in row] for row in rows)
    return stream.getvalue()


def cell(text: str) -> str:
    """A cell: a text that a spreadsheet could take for a formula gets an apostrophe in front; control characters are shown."""
    return visible(f"'{text}" if text.startswith(FORMULA) else text)
