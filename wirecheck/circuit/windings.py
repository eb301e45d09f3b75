"""What a motor's windings really get: their connection, the voltage on each, and which way the motor turns.

The windings are taken as equal impedances; the terminals that are joined are one node, the nodes at a pole of the source have its
voltage, the rest follows by nodal analysis with phasors (Kirchhoff's current law at every floating node).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from wirecheck.circuit.elements import windings_of
from wirecheck.plan.model import Device

SMALL_V = 1e-6

A = cmath.rect(1.0, math.radians(120.0))
"""The operator that turns a phasor by a third of a turn."""


class Windings(NamedTuple):
    """The windings of a motor in one state.

    `volts` has the phasor over each winding, from its first to its second mark, `connection` a word: delta, star, double-star,
    `delta (low speed)`, or what is wrong in plain words; `right` says whether it is a proper connection.
    """

    volts: Mapping[tuple[str, str], complex]
    connection: str
    right: bool
    direction: str

    @property
    def moving(self) -> bool:
        """Whether any winding carries current."""
        return any(abs(v) > SMALL_V for v in self.volts.values())


def solve(fixed: Mapping[int, complex], edges: Sequence[tuple[int, int]]) -> dict[int, complex]:
    """Node voltages of a network of equal impedances.

    Parameters
    ----------
    fixed : mapping of node to phasor, V
        The nodes held by the source.
    edges : pairs of nodes
        The impedances, all equal.

    Returns
    -------
    dict
        The phasor of every node that a path joins to a fixed one; a part of the network without any is left at 0 V.

    Notes
    -----
    Gaussian elimination with partial pivoting on the floating nodes; they are a handful.
    """
    nodes = sorted({n for edge in edges for n in edge} - set(fixed))
    place = {node: i for i, node in enumerate(nodes)}
    rows = [[0j] * (len(nodes) + 1) for _ in nodes]
    for a, b in edges:
        for here, there in ((a, b), (b, a)):
            if here in place and here != there:
                row = rows[place[here]]
                row[place[here]] += 1
                if there in place:
                    row[place[there]] -= 1
                else:
                    row[-1] += fixed[there]
    for i in range(len(nodes)):
        pivot = max(range(i, len(nodes)), key=lambda r: abs(rows[r][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        if abs(rows[i][i]) < 1e-9:
            continue  # a part of the network that floats free: no current, taken as 0 V
        rows[i] = [value / rows[i][i] for value in rows[i]]
        for r, row in enumerate(rows):
            if r != i and row[i]:
                rows[r] = [value - row[i] * own for value, own in zip(row, rows[i], strict=True)]
    found = dict(fixed)
    for i, node in enumerate(nodes):
        found[node] = rows[i][-1] if abs(rows[i][i]) > 1e-9 else 0j
    return found


def energise(motor: Device, groups: Mapping[str, int], poles: Mapping[int, complex]) -> Windings:
    """The windings of a motor whose terminals are joined in groups, some of them held at a pole of one source.

    Parameters
    ----------
    motor : Device
        A device of kind motor.
    groups : mapping of mark to group number
        Terminals with the same number are joined.
    poles : mapping of group number to phasor, V
        The groups that a pole of the source reaches.
    """
    marks = dict(groups)
    for pair in windings_of(motor):
        for mark in pair:
            marks.setdefault(mark, 1000 + len(marks))
    edges = [(marks[a], marks[b]) for a, b in windings_of(motor)]
    held = {group: volts for group, volts in poles.items() if any(group in edge for edge in edges)}
    node = solve(held, edges) if held else {}
    volts = {pair: _between(node, a, b, edges, held) for pair, (a, b) in zip(windings_of(motor), edges, strict=True)}
    connection, right = connection_of(motor, marks, poles)
    return Windings(volts, connection, right, _direction(motor, volts))


def _between(
    node: Mapping[int, complex], a: int, b: int, edges: Sequence[tuple[int, int]], held: Mapping[int, complex]
) -> complex:
    """The voltage over a winding; none where no path joins it to two different poles."""
    if a == b or a not in node or b not in node:
        return 0j
    reach = {a, b}
    grown = True
    while grown:
        grown = False
        for p, q in edges:
            if (p in reach) != (q in reach) and not ({p, q} & reach & set(held)):
                reach |= {p, q}
                grown = True
    live = {held[n] for n in reach if n in held}
    return node[a] - node[b] if len(live) > 1 else 0j


def _phase_voltages(motor: Device, volts: Mapping[tuple[str, str], complex]) -> tuple[complex, complex, complex]:
    """The voltages over the windings of the three phases, in the order U V W."""
    windings = windings_of(motor)
    if len(windings) == 3:
        u, v, w = (volts[pair] for pair in windings)
    elif motor.values.get("windings") == "dahlander":  # corner to corner, over both halves; in double star from middle to corner
        halves = [volts[pair] for pair in windings]
        u, v, w = (halves[i] + halves[i + 1] for i in (0, 2, 4))
        if max(map(abs, (u, v, w))) < SMALL_V * 10:
            u, v, w = (-halves[i] + halves[i + 1] for i in (0, 2, 4))
    else:
        live = 0 if any(abs(volts[pair]) > SMALL_V for pair in windings[:3]) else 3
        u, v, w = (volts[pair] for pair in windings[live : live + 3])
    return u, v, w


def _direction(motor: Device, volts: Mapping[tuple[str, str], complex]) -> str:
    """`forward` for the positive sequence (symmetrical components), `reverse` for the negative, `stopped` without current.

    A motor on one phase may hum or turn either way; it is given as forward.
    """
    if not any(abs(v) > SMALL_V for v in volts.values()):
        return "stopped"
    u, v, w = _phase_voltages(motor, volts)
    positive, negative = abs(u + A * v + A * A * w), abs(u + A * A * v + A * w)
    return "reverse" if negative > positive * (1 + 1e-9) + SMALL_V else "forward"


def connection_of(motor: Device, marks: Mapping[str, int], poles: Mapping[int, complex]) -> tuple[str, bool]:
    """The connection in a word, and whether it is a proper one.

    Parameters
    ----------
    motor : Device
        The motor.
    marks : mapping of mark to group number
        Which terminals are joined.
    poles : mapping of group number to phasor
        Which groups the supply reaches.
    """
    kind = motor.values.get("windings")
    if kind == "dahlander":
        return _dahlander(marks, poles)
    if kind == "separate":
        fed = [n for n in "12" if all(marks[f"{p}{n}"] in poles for p in "UVW")]
        return (
            (("low speed" if fed == ["1"] else "high speed"), True) if len(fed) == 1 else ("no speed or both speeds fed", False)
        )
    firsts, seconds = [marks[f"{p}1"] for p in "UVW"], [marks[f"{p}2"] for p in "UVW"]
    if any(a == b for a, b in zip(firsts, seconds, strict=True)):
        shorted = [p for p, a, b in zip("UVW", firsts, seconds, strict=True) if a == b]
        return f"the winding {' and '.join(f'{p}1-{p}2' for p in shorted)} is bridged at both its ends", False
    if (
        len(set(firsts) | set(seconds)) == 3
        and all(set(firsts) == set(ends) for ends in (firsts, seconds))
        and len(set(firsts)) == 3
    ):
        return "delta", True
    for star, lines in ((seconds, firsts), (firsts, seconds)):
        if len(set(star)) == 1 and len(set(lines)) == 3:
            return ("star", True) if star[0] not in poles else ("star, with the star point joined to the supply", False)
    ends = [(f"{p}1", a) for p, a in zip("UVW", firsts, strict=True)] + [
        (f"{p}2", b) for p, b in zip("UVW", seconds, strict=True)
    ]
    return _what_is_wrong(ends, poles)


def _what_is_wrong(ends: Sequence[tuple[str, int]], poles: Mapping[int, complex]) -> tuple[str, bool]:
    alone = [mark for mark, group in ends if sum(g == group for _, g in ends) == 1 and group not in poles]
    if alone:
        return f"neither star nor delta: {' and '.join(alone)} {'is' if len(alone) == 1 else 'are'} joined to nothing", False
    star = next((g for _, g in ends if sum(h == g for _, h in ends) == 3), None)
    if star is not None:
        marks = [mark for mark, group in ends if group == star]
        return f"a star with a winding the wrong way round: {', '.join(marks)} are joined", False
    return "neither star nor delta: the links join the windings in no proper way", False


def _dahlander(marks: Mapping[str, int], poles: Mapping[int, complex]) -> tuple[str, bool]:
    corners, middles = [marks[f"{p}1"] for p in "UVW"], [marks[f"{p}2"] for p in "UVW"]
    if len(set(corners)) == 1 and len(set(middles)) == 3 and corners[0] not in poles:
        return "double-star", True
    if len(set(corners)) == 3 and not set(middles) & set(poles):
        return "delta", True
    return "both sets of ends are fed or joined", False
