"""What a conductor may carry for long: by its size, how it is laid, what lies beside it, and the region's table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from wirecheck.electrics.number import Input, Missing, figure
from wirecheck.electrics.tables import Table, table
from wirecheck.plan.model import Cable, Plan, Wire

METHODS = {
    "B1": "in trunking",
    "B2": "as a cable in trunking",
    "C": "as a cable on a surface",
    "E": "in free air",
}
FEW_CORES = 3
"""The table holds for three loaded cores."""

USUAL_C = 40.0
"""The temperature of the air for which the table holds, taken where the plan states no other."""

SMALLEST_MM2 = 0.75
"""Thinner conductors stand in a table of their own."""

DECIDES = "whether it can carry the current that it may get: by how it is laid a cable carries more or less"


class Capacity(NamedTuple):
    """The current in A that a conductor carries: `low` as laid in the worst way that the plan allows, `high` in the best."""

    low: float
    high: float
    words: str
    inputs: tuple[Input, ...]
    source: str
    missing: tuple[Missing, ...] = ()


def capacity(plan: Plan, wire: Wire, loaded_cores: int = 3, loaded_cables: int = 1) -> Capacity | None:
    """The capacity of a wire; None where its size is not stated or no table has it.

    Parameters
    ----------
    plan : Plan
        The plan that the wire is in.
    wire : Wire
        The conductor.
    loaded_cores : int
        How many cores of its cable are loaded by more than 30 %.
    loaded_cables : int
        How many cables of its route have such cores.
    """
    if wire.size_mm2 is None:
        return None
    if plan.machine.region == "NA":
        return _na(wire, max(loaded_cores, 3 * (loaded_cables > 1) * loaded_cables))
    found = _row(wire.size_mm2)
    if found is None:
        return None
    row, rows = found
    cable = plan.cables.get(wire.cable) if wire.cable else None
    methods = _methods(cable)
    many = cable is not None and loaded_cores > FEW_CORES
    cores = at_least(table("loaded-cores-factor"), "cores", loaded_cores, "factor") if many else 1.0
    warm, (insulation, better) = _ambient(plan, wire), _insulation(cable)
    air = at_least(table("ambient-factor"), "degrees_c", warm, "factor") if warm > USUAL_C else 1.0
    factors = [air * better * cores * _grouping(method, loaded_cables if cable else 1) for method in methods]
    each = [float(row[m]) * factor for m, factor in zip(methods, factors, strict=True)]
    lying = ", ".join(f"{figure(a)} A {METHODS[m]} (method {m})" for m, a in zip(methods, each, strict=True))
    by = _corrections(cores, factors[0] / cores / air / better, loaded_cores, loaded_cables)
    by += f", times {figure(better)} for {insulation}" if better > 1 else ""
    by += f", times {figure(air)} for {figure(warm)} °C" if air < 1 else ""
    laid = (Input(f"{cable.name} method", methods[0], cable.spot),) if cable and cable.method else ()
    asked = (Missing(f"{cable.name} method", cable.spot, DECIDES),) if cable and not cable.method else ()
    where = f"{wire.size_text} with {insulation} insulation{' in air of 40 °C' if air == 1 else ''}"
    words = f"{where} carries {lying}{f' ({by[2:]})' if by else ''}"
    return Capacity(min(each), max(each), words, (*_size(wire), *laid), rows.cite(), asked)


def _methods(cable: Cable | None) -> tuple[str, ...]:
    """How a conductor may be laid, worst first: without a cable it lies in a box, in trunking or free."""
    if cable is None:
        return ("B1", "E")
    return (cable.method,) if cable.method in METHODS else ("B2", "E")


def _insulation(cable: Cable | None) -> tuple[str, float]:
    """The insulation of a cable and how much more it lets a conductor carry than PVC, as which all that is not known counts."""
    stated = cable.insulation.upper() if cable and cable.insulation else "PVC"
    row = None if "PVC" in stated else table("insulation-factor").row(insulation=stated)
    return ("PVC", 1.0) if row is None else (stated, float(row["factor"]))


def _ambient(plan: Plan, wire: Wire) -> float:
    """The temperature of the air around a wire in °C: inside a place what is stated of it."""
    places = [plan.places.get(plan.devices[end.device].place or "") for end in (wire.a, wire.b)] if wire.cable is None else []
    return max((place.ambient_c for place in places if place and place.ambient_c is not None), default=USUAL_C)


def _row(size_mm2: float) -> tuple[Mapping[str, float | str], Table] | None:
    """The row of a size; that of the next smaller one where the table does not have it."""
    rows = table("conductor-capacity" if size_mm2 >= SMALLEST_MM2 else "conductor-capacity-electronics")
    fitting = [row for row in rows.rows if float(row["size_mm2"]) <= size_mm2 * 1.01]
    return (fitting[-1], rows) if fitting else None


def _grouping(method: str, cables: int) -> float:
    return 1.0 if cables < 2 else at_least(table("grouping-factor"), "cables", cables, method)


def at_least(rows: Table, key: str, value: float, column: str) -> float:
    """A column of the first row whose key reaches a value, of the last row beyond that; rows stand in rising order."""
    row = next((row for row in rows.rows if float(row[key]) >= value), rows.rows[-1])
    return float(row[column])


def _corrections(cores: float, cables: float, loaded_cores: int, loaded_cables: int) -> str:
    words = f", times {figure(cores)} for {loaded_cores} loaded cores in one cable" if cores < 1 else ""
    return words + (f", times {figure(cables)} for {loaded_cables} loaded cables in one route" if cables < 1 else "")


def _size(wire: Wire) -> tuple[Input, ...]:
    return (Input(f"wire {wire.number} size", wire.size_text, wire.spot),)


def _na(wire: Wire, loaded: int) -> Capacity | None:
    rows = table("conductor-capacity-na")
    fitting = [row for row in rows.rows if gauge_mm2(float(row["awg"])) <= (wire.size_mm2 or 0) * 1.01]
    if not fitting:
        return None
    factor = at_least(table("loaded-cores-factor-na"), "cores", loaded, "factor") if wire.cable else 1.0
    amps = float(fitting[-1]["ampacity"]) * factor
    words = f"{wire.size_text} copper carries {figure(amps)} A{_corrections(factor, 1.0, loaded, 1)}"
    return Capacity(amps, amps, words, _size(wire), rows.cite())


def gauge_mm2(gauge: float) -> float:
    """The area of an American wire gauge in mm2 (ASTM B258)."""
    diameter_mm: float = 0.127 * 92 ** ((36 - gauge) / 39)
    return 3.141592653589793 / 4 * diameter_mm**2


def next_size(plan: Plan, wire: Wire, amps: float) -> str:
    """The smallest size that carries a current laid as this wire is, in the plan's way of writing; empty beyond the table."""
    if plan.machine.region == "NA":
        rows = table("conductor-capacity-na").rows
        return next((f"{row['awg']:.0f} AWG" for row in rows if float(row["ampacity"]) >= amps), "")
    cable = plan.cables.get(wire.cable) if wire.cable else None
    rows = table("conductor-capacity").rows
    return next((f"{row['size_mm2']:g} mm2" for row in rows if float(row[_methods(cable)[0]]) >= amps), "")


def next_rating(amps: float) -> str:
    """The largest usual rated current up to a current; empty where there is none."""
    rows = table("protective-device-ratings").rows
    return next((f"{row['rating_a']:g} A" for row in reversed(rows) if float(row["rating_a"]) <= amps), "")
