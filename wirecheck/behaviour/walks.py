"""The way of the current to a load that gets its voltage through other loads, in one solved state."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping

from wirecheck.behaviour.model import Model
from wirecheck.behaviour.space import has
from wirecheck.circuit import CONDUCTS
from wirecheck.circuit.impedances import Impedance
from wirecheck.circuit.resistive import Solution
from wirecheck.plan.model import Terminal

Steps = Mapping[Terminal, list[tuple[Terminal, Impedance | None]]]

Way = tuple[list[Terminal], list[Impedance]]
"""The terminals from an end of a load to a pole, and the loads between."""

SMALL = 1e-6
"""Current through another load counts where it is more than this part of the current through the load in question."""

DIODE_V = 0.01
"""A diode with more than this over it blocks."""


def current_walk(
    model: Model, impedances: Iterable[Impedance], solution: Solution, number: int, load: Impedance, frequency_hz: float
) -> tuple[tuple[Terminal, ...], tuple[Impedance, ...]]:
    """The terminals from pole to pole through a load, and the other loads on the way.

    From one end of the load the way goes upstream, from the other downstream, through joints and loads, by the fewest loads.
    """
    steps = _steps(model, impedances, solution, number, load)
    over = solution.between(load.a, load.b)
    least = SMALL * sum(abs(volts) ** 2 * abs(y) for volts, y in zip(over, _admittances(load, frequency_hz), strict=True))

    def flows(here: Terminal, there: Terminal, i: Impedance) -> bool:
        """Whether current flows so through another load, of what is in phase with the voltage over this one."""
        sides = zip(solution.between(here, there), _admittances(i, frequency_hz), over, strict=True)
        return sum((volts * y * mine.conjugate()).real for volts, y, mine in sides) > least

    def ways(
        goals: Collection[Terminal],
    ) -> tuple[Way, Way]:
        up = _way(steps, load.a, goals, lambda here, there, i: flows(there, here, i))
        return up, _way(steps, load.b, goals, flows)

    live = [s for s in model.sources if has(model.supplies.live[s.name], number)]
    (up, above), (down, below) = ways({pole for s in live for pole in s.poles})
    met = [s for s in live if up[-1] in s.poles or down[-1] in s.poles]
    if not any(up[-1] in s.poles and down[-1] in s.poles for s in met):
        for s in met:  # earth is a pole of the mains, and a current of another source may go on through it
            whole = ways(s.poles.keys())
            if all(way[-1] in s.poles for way, _ in whole):
                (up, above), (down, below) = whole
                break
    walk, loads = [*reversed(up), *down], [*reversed(above), *below]
    if any(walk[0] in s.returns and walk[-1] not in s.returns for s in model.sources):  # tell it from the live side
        walk, loads = walk[::-1], loads[::-1]
    return tuple(walk), tuple(loads)


def _admittances(impedance: Impedance, frequency_hz: float) -> tuple[complex, complex]:
    return impedance.admittance_s(0.0), impedance.admittance_s(frequency_hz)


def _steps(model: Model, impedances: Iterable[Impedance], solution: Solution, number: int, load: Impedance) -> Steps:
    found: dict[Terminal, list[tuple[Terminal, Impedance | None]]] = {}
    for e in model.elements:
        blocks = e.kind == "diode" and solution.volts(e.a, e.b) > DIODE_V
        if e.kind in CONDUCTS and has(model.conducts(e), number) and not blocks:
            found.setdefault(e.a, []).append((e.b, None))
            found.setdefault(e.b, []).append((e.a, None))
    for i in impedances:
        if i.ident != load.ident or i.kind != load.kind:
            found.setdefault(i.a, []).append((i.b, i))
            found.setdefault(i.b, []).append((i.a, i))
    return found


def _way(
    steps: Steps, start: Terminal, goals: Collection[Terminal], flows: Callable[[Terminal, Terminal, Impedance], bool]
) -> tuple[list[Terminal], list[Impedance]]:
    """A way from an end of the load to a live pole: first all that is joined to it, then through one load more, and so on."""
    came: dict[Terminal, tuple[Terminal, Impedance | None] | None] = {start: None}
    front = [start]
    while front:
        onward: list[tuple[Terminal, Terminal, Impedance]] = []
        for here in front:
            if here in goals:
                return _back(came, here)
            for there, load in steps.get(here, ()):
                if there in came:
                    continue
                if load is None:
                    came[there] = (here, None)
                    front.append(there)
                elif flows(here, there, load):
                    onward.append((here, there, load))
        front = []
        for here, there, load in onward:
            if there not in came:
                came[there] = (here, load)
                front.append(there)
    return [start], []


def _back(
    came: Mapping[Terminal, tuple[Terminal, Impedance | None] | None], end: Terminal
) -> tuple[list[Terminal], list[Impedance]]:
    walk, loads = [end], []
    while (step := came[walk[-1]]) is not None:
        walk.append(step[0])
        loads += [step[1]] if step[1] is not None else []
    return walk[::-1], loads[::-1]
