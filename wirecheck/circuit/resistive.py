"""The resistive solution: the voltage of every terminal in one state, where paths run through coils, lamps and other loads."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from wirecheck.circuit.elements import CONDUCTS, Element
from wirecheck.circuit.impedances import Impedance
from wirecheck.circuit.potentials import SMALL_V, Potentials, Short
from wirecheck.circuit.sources import Source
from wirecheck.plan.model import Terminal

DIODE_ON_S, DIODE_OFF_S = 1e3, 1e-9
"""A diode that conducts is a milliohm, one that blocks a gigohm: next to ideal, and always solvable."""

MOST_DIODE_STEPS = 4096

Edge = tuple[Terminal, Terminal, complex]


class Solution(NamedTuple):
    """Voltages of one state. `dc` and `ac` are kept apart, for a coil is made for one of them.

    `dc` has volts, `ac` phasors (r.m.s.), both against earth where a path leads there, else against the reference of the source.
    """

    dc: Mapping[Terminal, complex]
    ac: Mapping[Terminal, complex]
    shorts: tuple[Short, ...] = ()

    def between(self, a: Terminal, b: Terminal) -> tuple[complex, complex]:
        """The d.c. and the a.c. voltage from `a` to `b`; nothing for a terminal that nothing reaches."""
        dc, ac = (side.get(a, 0j) - side.get(b, 0j) for side in (self.dc, self.ac))
        return dc, ac

    def volts(self, a: Terminal, b: Terminal, current: str | None = None) -> float:
        """The size of the voltage between two terminals: its d.c. or a.c. part alone, or both together (r.m.s.)."""
        dc, ac = (abs(part) for part in self.between(a, b))
        return dc if current == "DC" else ac if current == "AC" else math.hypot(dc, ac)


def solve_voltages(
    conducting: Iterable[Element], impedances: Iterable[Impedance], sources: Iterable[Source], frequency_hz: float = 50.0
) -> Solution:
    """The voltage of every terminal in one state of the circuit.

    Parameters
    ----------
    conducting : iterable of Element
        What conducts in this state: wires, links, closed contacts, diodes (in their direction).
    impedances : iterable of Impedance
        What takes current.
    sources : iterable of Source
        The live sources, ideal at their poles. A source that is not live is no path.
    frequency_hz : float
        The frequency of the a.c. sources, Hz.

    Returns
    -------
    Solution
        Voltages against earth; a part without any source is at 0 V.

    Notes
    -----
    Nodal analysis over rigid groups: terminals that are joined, or held apart by an ideal source, have known differences, and
    each group has one unknown voltage and one equation of Kirchhoff's current law. D.c. and a.c. are solved one after the other,
    each with the sources of the other kind at zero (superposition). All a.c. sources are taken as of one frequency and with the
    phase that their poles state. Equations are solved by Gaussian elimination with partial pivoting, every part of the network
    that hangs together without passing a known voltage by itself, so they stay small. Of a singular system (a part that floats
    free) the rest is solved and the part is left at 0 V.

    A diode conducts or blocks for d.c.; which one is found by turning over the first one that is wrong until none is
    (Murty's least-index method, which ends because such networks have one solution). For a.c. it passes both ways, since it lets
    half the waves through.

    References
    ----------
    C. W. Ho, A. E. Ruehli, P. A. Brennan, The modified nodal approach to network analysis, IEEE Trans. CAS-22 (1975).
    K. G. Murty, Note on a Bard-type scheme for solving the complementarity problem, Opsearch 11 (1974).
    """
    joints, loads, live = [e for e in conducting if e.kind in CONDUCTS], list(impedances), list(sources)
    sides: dict[str, dict[Terminal, complex]] = {}
    shorts: list[Short] = []
    for kind, hertz in (("DC", 0.0), ("AC", frequency_hz)):
        sides[kind] = {}
        if any(source.kind == kind for source in live):
            edges = [(i.a, i.b, y) for i in loads if (y := i.admittance_s(hertz))]
            sides[kind], wrong = _solve_kind(kind, joints, edges, live)
            shorts += wrong
    return Solution(sides["DC"], sides["AC"], tuple(shorts))


def _solve_kind(
    kind: str, joints: Sequence[Element], edges: list[Edge], sources: Sequence[Source]
) -> tuple[dict[Terminal, complex], list[Short]]:
    """The voltages that the sources of one kind bring about."""
    potentials, shorts = Potentials(), []
    for a, b, _ in edges:
        potentials.find(a), potentials.find(b)
    for joint in joints:
        if joint.kind != "diode" or kind == "AC":
            potentials.hold(joint.a, joint.b, 0j)
    for source in sources:
        poles = {pole: volts if source.kind == kind else 0j for pole, volts in source.poles.items()}
        for p, q in zip(poles, list(poles)[1:], strict=False):
            wrong = potentials.hold(p, q, poles[p] - poles[q])
            shorts += [wrong] if wrong and source.kind == kind else []
    diodes = [joint for joint in joints if joint.kind == "diode"] if kind == "DC" else []
    shorts += [short for diode in diodes if (short := _shorted_by(diode, potentials)) is not None]
    known = _references(kind, potentials, sources)
    return _with_diodes(potentials, edges, diodes, known), shorts


def _shorted_by(diode: Element, potentials: Potentials) -> Short | None:
    """The short that a diode makes: it lies forward across what sources hold apart."""
    (root_a, above_a), (root_b, above_b) = potentials.find(diode.a), potentials.find(diode.b)
    forward = (above_a - above_b).real if root_a == root_b else 0.0
    return Short(diode.a, diode.b, forward) if forward > SMALL_V else None


def _references(kind: str, potentials: Potentials, sources: Iterable[Source]) -> list[tuple[Terminal, complex]]:
    """For each source its group, and the group's voltage where the source's own reference is at 0 V; earthed sources first."""
    found = []
    for source in sorted(sources, key=lambda s: not any(pole.mark == "PE" for pole in s.poles)):
        pole, volts = next(iter(source.poles.items()))
        root, above = potentials.find(pole)
        found.append((root, (volts if source.kind == kind else 0j) - above))
    return found


def _with_diodes(
    potentials: Potentials, edges: list[Edge], diodes: Sequence[Element], known: list[tuple[Terminal, complex]]
) -> dict[Terminal, complex]:
    conducts = [False] * len(diodes)
    for _ in range(MOST_DIODE_STEPS):
        more = [(d.a, d.b, complex(DIODE_ON_S if on else DIODE_OFF_S)) for d, on in zip(diodes, conducts, strict=True)]
        volts = _voltages(potentials, edges + more, known)
        forward = [(volts[d.a] - volts[d.b]).real > 0 for d in diodes]
        wrong = next((i for i, (on, ahead) in enumerate(zip(conducts, forward, strict=True)) if on != ahead), None)
        if wrong is None or not _matters(volts, diodes[wrong], conducts[wrong]):
            break
        conducts[wrong] = not conducts[wrong]
    return volts


def _matters(volts: Mapping[Terminal, complex], diode: Element, on: bool) -> bool:
    """Whether a diode is in the wrong state by more than rounding."""
    return abs(volts[diode.a] - volts[diode.b]) > (1e-12 if on else 1e-9)


def _voltages(potentials: Potentials, edges: Iterable[Edge], known: list[tuple[Terminal, complex]]) -> dict[Terminal, complex]:
    """The voltage of every terminal, from those of the groups."""
    near: dict[Terminal, list[tuple[Terminal, complex, complex]]] = {}
    for a, b, admittance in edges:
        (root_a, above_a), (root_b, above_b) = potentials.find(a), potentials.find(b)
        if root_a != root_b:  # current flows there too, but changes nothing
            drive = admittance * (above_a - above_b)
            near.setdefault(root_a, []).append((root_b, admittance, -drive))
            near.setdefault(root_b, []).append((root_a, admittance, drive))
    groups = _grounded(near, known)
    for root in list(near):
        if root not in groups:
            part = _part(root, near, groups)
            groups |= _solved(part, near, groups)
    found = {}
    for terminal in potentials.terminals():
        root, above = potentials.find(terminal)
        found[terminal] = groups.get(root, 0j) + above
    return found


def _grounded(
    near: Mapping[Terminal, list[tuple[Terminal, complex, complex]]], known: list[tuple[Terminal, complex]]
) -> dict[Terminal, complex]:
    """One group in every part that hangs together gets its voltage from a source; the others then float or follow."""
    groups: dict[Terminal, complex] = {}
    seen: set[Terminal] = set()
    for root, volts in known:
        if root not in seen:
            groups[root] = volts
            waiting = [root]
            seen.add(root)
            for here in waiting:
                fresh = [other for other, _, _ in near.get(here, ()) if other not in seen]
                seen.update(fresh)
                waiting += dict.fromkeys(fresh)
    return groups


def _part(
    root: Terminal, near: Mapping[Terminal, list[tuple[Terminal, complex, complex]]], groups: Mapping[Terminal, complex]
) -> list[Terminal]:
    """The unknown groups that hang together with one without passing a known one."""
    found = {root: None}
    waiting = [root]
    for here in waiting:
        for other, _, _ in near[here]:
            if other not in groups and other not in found:
                found[other] = None
                waiting.append(other)
    return waiting


def _solved(
    part: Sequence[Terminal],
    near: Mapping[Terminal, list[tuple[Terminal, complex, complex]]],
    groups: Mapping[Terminal, complex],
) -> dict[Terminal, complex]:
    """The voltages of a part: Kirchhoff's current law at each of its groups."""
    place = {root: i for i, root in enumerate(part)}
    rows = [[0j] * (len(part) + 1) for _ in part]
    for root, row in zip(part, rows, strict=True):
        for other, admittance, drive in near[root]:
            row[place[root]] += admittance
            row[-1] += drive
            if other in place:
                row[place[other]] -= admittance
            else:
                row[-1] += admittance * groups[other]
    return dict(zip(part, eliminate(rows), strict=True))


def eliminate(rows: list[list[complex]]) -> list[complex]:
    """The solution of linear equations, each row its coefficients and its right side; 0 for an unknown that is left free.

    >>> [round(x.real, 6) for x in eliminate([[2 + 0j, 1 + 0j, 4 + 0j], [1 + 0j, 3 + 0j, 7 + 0j]])]
    [1.0, 2.0]
    """
    size = len(rows)
    largest = max((abs(value) for row in rows for value in row[:-1]), default=0.0)
    for i in range(size):
        pivot = max(range(i, size), key=lambda r: abs(rows[r][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        if abs(rows[i][i]) <= 1e-14 * largest:
            rows[i] = [0j] * (size + 1)
            continue
        rows[i] = [value / rows[i][i] for value in rows[i]]
        for r in range(i + 1, size):
            factor = rows[r][i]
            if factor:
                rows[r] = [value - factor * own for value, own in zip(rows[r], rows[i], strict=True)]
    found = [0j] * size
    for i in range(size - 1, -1, -1):
        found[i] = rows[i][-1] - sum(rows[i][c] * found[c] for c in range(i + 1, size))
    return found
