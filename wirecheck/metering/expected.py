"""What a reading should be, in words: closed, open, or about so many ohms through which coil or winding."""

from __future__ import annotations

from collections.abc import Sequence

from wirecheck.circuit.impedances import Impedance
from wirecheck.circuit.resistive import solve_voltages
from wirecheck.circuit.sources import Source
from wirecheck.metering.choosing import Candidate
from wirecheck.metering.dead import CLOSED, OHMS, OPEN, Path, joins, states_in
from wirecheck.metering.matrix import Matrix, Reading
from wirecheck.plan.model import Terminal

SERIES_OHM = 1000.0
"""The meter is taken as one volt behind a known resistance."""

METER = (Terminal("*meter", "+"), Terminal("*meter", "-"))


def expected(matrix: Matrix, paths: Sequence[Path], candidate: Candidate) -> str:
    """What the meter should show."""
    levels = (candidate.least, candidate.most)
    if levels == (CLOSED, CLOSED):
        return "closed"
    if levels == (OPEN, OPEN):
        return "open"
    if levels == (OHMS, OPEN):
        return "not closed"
    ohm, through, sure = _through(matrix, paths, candidate.reading)
    words = " and ".join(dict.fromkeys(through))
    if levels == (CLOSED, OHMS):
        return f"no more than a few ohms, through {words}"
    return f"about {ohm:.3g} ohm through {words}" if sure else f"some ohms, not closed and not open, through {words}"


def _through(matrix: Matrix, paths: Sequence[Path], reading: Reading) -> tuple[float, list[str], bool]:
    """The resistance between two terminals, what current passes, and whether the plan tells all of its values."""
    states = states_in(matrix.plan, reading.setting, matrix.supply_on)
    there = [p for p in paths if joins(p, states)]
    joints = [p.element for p in there if p.most == CLOSED and p.element is not None]
    loads = [p for p in there if CLOSED < p.most < OPEN]
    impedances = [Impedance("resistor", p.ident, str(p.device), p.a, p.b, resistance_ohm=p.ohm or SERIES_OHM / 10) for p in loads]
    lead = Impedance("resistor", "lead", "*meter", METER[0], reading.a, resistance_ohm=SERIES_OHM)
    back = Impedance("resistor", "back", "*meter", METER[1], reading.b, resistance_ohm=1e-6)
    source = Source("*meter", "*meter", {METER[0]: 1 + 0j, METER[1]: 0j}, "DC")
    solution = solve_voltages(joints, [*impedances, lead, back], [source])
    volts = solution.volts(reading.a, reading.b, "DC")
    passed = [p for p in loads if solution.volts(p.a, p.b, "DC") > 1e-4]
    ohm = SERIES_OHM * volts / max(1e-9, 1 - volts)
    return ohm, [_name(p) for p in passed], bool(passed) and all(p.ohm is not None for p in passed)


def _name(path: Path) -> str:
    element = path.element
    if element is None:
        return f"a winding of {path.device}"
    if element.kind == "coil":
        return f"coil {path.device}"
    if element.kind == "winding":
        return f"the windings of {path.device}"
    return (
        f"the primary of {path.device}"
        if element.kind == "load" and element.rated is not None and not path.ohm
        else str(path.device)
    )
