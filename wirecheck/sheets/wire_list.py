"""The wire list: one row for each conductor from terminal to terminal."""

from __future__ import annotations

from wirecheck.plan.model import Plan
from wirecheck.sheets.table import Table, natural
from wirecheck.sheets.wiring import size_of

COLUMNS = ("number", "from", "to", "size", "colour", "cable", "core", "length", "done")


def wire_list(plan: Plan) -> Table:
    """All wires by number."""
    rows = []
    for wire in sorted(plan.wires, key=lambda w: (natural(w.number), w.index)):
        cable = plan.cables.get(wire.cable or "")
        length = f"{cable.length_m:g} m" if cable and cable.length_m is not None else ""
        size = size_of(plan, wire)
        rows.append((wire.number, str(wire.a), str(wire.b), size, wire.colour, wire.cable or "", wire.core or "", length, ""))
    notes = (
        f"{len(rows)} wires. Equal numbers are one potential. A length is the cable's; wires inside a box are cut on the spot.",
    )
    return Table("wire-list", "Wire list", COLUMNS, tuple(rows), notes)
