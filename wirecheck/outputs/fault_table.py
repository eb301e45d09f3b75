"""The table of faults as JSON, and as CSV for a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping

from wirecheck.findings import NOTICE, Evidence
from wirecheck.outputs.commands import rehearse_command
from wirecheck.outputs.csv_text import csv_text
from wirecheck.outputs.json import dump, evidence_keys
from wirecheck.rules.fault_table import FaultTable, Row


def render_faults_json(table: FaultTable) -> str:
    """The table as a JSON object."""
    return dump(
        {
            "wirecheck": 1,
            "plan": table.plan,
            "functions": list(table.functions),
            "summaries": [{"function": title, **summary} for title, summary in table.functions.items()],
            "faults": [_row(table, row) for row in table.rows],
            "excluded": list(table.excluded),
            "rests_on": [_row(table, row) for row in table.rests_on],
            "notice": NOTICE,
        }
    )


def _row(table: FaultTable, row: Row) -> dict[str, object]:
    first, *alike = row.faults
    return {
        "fault": first.text,
        "kind": first.kind,
        "alike": [fault.text for fault in alike],
        "effects": dict(row.effects),
        "starts": list(row.starts),
        "evidence": evidence_keys(row.evidence),
        "rehearse": {**_commands(table, row.lost), **{f"{motor} starts": c for motor, c in _commands(table, row.starts).items()}},
    }


def _commands(table: FaultTable, traces: Mapping[str, Evidence]) -> dict[str, str]:
    return {name: rehearse_command(table.plan, evidence, table.kinds) for name, evidence in traces.items()}


def render_faults_csv(table: FaultTable) -> str:
    """The table as CSV (RFC 4180): a row for each fault, those of one group act alike; the last row is the caution."""
    titles = list(table.functions)
    head = ["group", "fault", "kind", *titles, *(f"{motor} starts by itself" for motor in table.motors), "rehearse"]
    rows = [head]
    for number, row in enumerate(table.rows, start=1):
        effects = [*(row.effects[title] for title in titles), *("yes" if motor in row.starts else "" for motor in table.motors)]
        for fault in row.faults:
            trace = (
                rehearse_command(table.plan, row.evidence._replace(fault=fault.text), table.kinds) if row.evidence.fault else ""
            )
            rows.append([str(number), fault.text, fault.kind, *effects, trace])
    rows.append(["", NOTICE, *[""] * (len(head) - 2)])
    return csv_text(rows)
