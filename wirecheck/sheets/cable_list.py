"""The cable list: what each cable is, where it goes, and which wires its cores are."""

from __future__ import annotations

from wirecheck.plan.model import Cable, Plan, Wire
from wirecheck.sheets.table import Row, Table, listed, natural
from wirecheck.sheets.wiring import place_of

COLUMNS = (
    "cable", "between", "cores", "spare", "size", "length", "screen", "insulation", "rated for", "laid", "route", "wires", "done",
)  # fmt: skip


def cable_list(plan: Plan) -> Table:
    """All cables by designation."""
    rows = [_row(plan, plan.cables[name]) for name in sorted(plan.cables, key=natural)]
    notes = (
        "Laid: how, by the letters of IEC 60204-1 (B1, B2 conduit or duct, C on a wall, E free in air).",
        "What is empty is not stated in the plan.",
    )
    return Table("cable-list", "Cable list", COLUMNS, tuple(rows), notes, landscape=True)


def _row(plan: Plan, cable: Cable) -> Row:
    wires = [w for w in plan.wires if w.cable == cable.name]
    between = listed(sorted(place_of(plan, end) or f"at {end.device}" for w in wires for end in (w.a, w.b)), " and ")
    spare = "" if cable.cores is None else str(cable.cores - sum(not w.is_screen for w in wires))
    return (
        cable.name,
        between,
        "" if cable.cores is None else str(cable.cores),
        spare,
        cable.size_text,
        "" if cable.length_m is None else f"{cable.length_m:g} m",
        "" if cable.screened is None else "screened" if cable.screened else "no",
        cable.insulation or "",
        "" if cable.voltage_rating_v is None else f"{cable.voltage_rating_v:g} V",
        cable.method or "",
        cable.route or "",
        "; ".join(_core(w) for w in wires),
        "",
    )


def _core(wire: Wire) -> str:
    which = listed((f"core {wire.core}" if wire.core else "", wire.colour))
    return f"{wire.number} {wire.a} to {wire.b}" + (f" ({which})" if which else "")
