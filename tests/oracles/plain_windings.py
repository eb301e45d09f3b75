"""Whether a motor turns and which way, from the potentials at its winding ends."""

from __future__ import annotations

import cmath
from collections.abc import Hashable, Mapping
from typing import Any

TURN = cmath.rect(1, 2 * cmath.pi / 3)

Ends = Mapping[str, Hashable]
"""Winding end to the point it is joined to; ends joined to each other have one point."""


def halves(windings: str | None) -> list[tuple[str, str]]:
    """The windings, each from end to end. Ends with a star are inner points."""
    if windings == "dahlander":
        return [("U1", "U2"), ("U2", "V1"), ("V1", "V2"), ("V2", "W1"), ("W1", "W2"), ("W2", "U1")]
    if windings == "separate":
        return [(f"{p}{n}", f"star{n}") for n in "12" for p in "UVW"]
    return [(f"{p}1", f"{p}2") for p in "UVW"]


def potentials(windings: str | None, ends: Ends, fixed: Mapping[Hashable, complex]) -> dict[Hashable, complex]:
    """Potentials of all points that a winding current can reach, equal impedances taken, by relaxation."""
    edges = [(ends.get(a, a), ends.get(b, b)) for a, b in halves(windings)]
    edges = [(a, b) for a, b in edges if a != b]
    points = {p for edge in edges for p in edge}
    volts: dict[Hashable, complex] = {p: fixed[p] for p in points if p in fixed}
    free = [p for p in points if p not in fixed]
    change = 1.0
    while change > 1e-9:
        change = 0.0
        for p in free:
            near = [volts[q] for q in _neighbours(p, edges) if q in volts]
            if near:
                old, volts[p] = volts.get(p), sum(near) / len(near)
                change = max(change, abs(volts[p] - (old if old is not None else 1e9)))
    return volts


def _neighbours(point: Hashable, edges: list[tuple[Hashable, Hashable]]) -> list[Hashable]:
    return [b if a == point else a for a, b in edges if point in (a, b)]


def turning(windings: str | None, ends: Ends, fixed: Mapping[Any, complex]) -> str | None:
    """`forward`, `reverse`, or None where no current flows in the windings."""
    if len({fixed[p] for p in set(ends.values()) & set(fixed)}) < 2:
        return None
    volts = potentials(windings, ends, fixed)

    def at(end: str) -> complex | None:
        return volts.get(ends.get(end, end))

    across = []
    for a, b in halves(windings):
        va, vb = at(a), at(b)
        across.append(0j if va is None or vb is None else va - vb)
    largest = max(abs(v) for v in across)
    if largest < 1e-6:
        return None
    if windings == "dahlander":
        phases = _dahlander_phases([at(f"{p}{n}") or 0j for n in "12" for p in "UVW"])
    else:
        phases = [sum(across[i::3], 0j) for i in range(3)]
    forward = abs(phases[0] + TURN * phases[1] + TURN**2 * phases[2])
    reverse = abs(phases[0] + TURN**2 * phases[1] + TURN * phases[2])
    return "forward" if forward >= reverse - 1e-6 * largest else "reverse"


def _dahlander_phases(volts: list[complex]) -> list[complex]:
    corners, middles = volts[:3], volts[3:]
    joined = max(abs(a - b) for a in corners for b in corners) < 1e-6
    return middles if joined else corners
