"""The resistance of conductors whose size and length the plan states."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.electrics.number import Input
from wirecheck.electrics.tables import table
from wirecheck.plan.model import Plan, Wire

HOT = 1 + 0.00393 * (70 - 20)
"""Copper at 70 °C against 20 °C: IEC 60228 gives the resistance at 20 °C, and a loaded conductor is at most this warm."""

SOURCE = "IEC 60228:2004, tables 1 to 3"

RECKONING = (
    "A core has the ohm per km of its size at 20 °C (of 0.75 mm2 26, 1.5 mm2 13.3, 2.5 mm2 7.98, 4 mm2 4.95),"
    " times 1.197 at 70 °C, times its length"
)
"""How to follow a resistance with a calculator."""


def resistance_ohm(plan: Plan, wire: Wire) -> float | None:
    """The resistance of a flexible conductor at 70 °C; None where its size or length is not stated."""
    length = plan.cables[wire.cable].length_m if wire.cable else None
    if length is None or wire.size_mm2 is None:
        return None
    return ohm_per_km(wire.size_mm2) * HOT * length / 1000


def ohm_per_km(size_mm2: float) -> float:
    """At 20 °C, by the next smaller size of the table; outside the table in proportion to its end."""
    rows = table("conductor-resistance").rows
    row = next((row for row in reversed(rows) if float(row["size_mm2"]) <= size_mm2 * 1.01), rows[0])
    at_an_end = row is rows[0] or row is rows[-1]
    return float(row["flexible"]) * (float(row["size_mm2"]) / size_mm2 if at_an_end else 1.0)


def length_inputs(plan: Plan, wires: Iterable[Wire]) -> tuple[Input, ...]:
    """The cables with their lengths, as inputs."""
    names = dict.fromkeys(wire.cable for wire in wires if wire.cable)
    cables = [plan.cables[name] for name in names]
    return tuple(
        Input(f"{c.name} length", f"{c.length_m:g} m of {c.size_text}", c.spot) for c in cables if c.length_m is not None
    )
