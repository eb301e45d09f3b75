"""The way of the current to a load that gets its voltage through other loads, in one solved state."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from wirecheck.behaviour.model import Model
from wirecheck.circuit import CONDUCTS
from wirecheck.circuit.impedances import Impedance
from wirecheck.circuit.resistive import Solution
from wirecheck.plan.model import Terminal

Steps = Mapping[Terminal, list[tuple[Terminal, Impedance | None]]]

SMALL = 1e-6
"""A step through a load counts where it is more than this part of the voltage over the load in question."""


def current_walk(
    model: Model, impedances: Iterable[Impedance], solution: Solution, number: int, load: Impedance
) -> tuple[tuple[Terminal, ...], tuple[str, ...]]:
    """The terminals from pole to pole through a load, and the devices whose loads lie on the way, itself left out.

    From each end of the load the way goes upstream (at the other end downstream) through joints and loads, by the fewest loads.
    """
    steps = _steps(model, impedances, number, load)
    dc, ac = solution.between(load.a, load.b)
    unit_dc, unit_ac = dc.conjugate(), ac.conjugate()
    size = abs(dc) ** 2 + abs(ac) ** 2

    def height(terminal: Terminal) -> float:
        """The voltage of a terminal above the far end of the load, as a part of the voltage over the load."""
        to_dc, to_ac = solution.between(terminal, load.b)
        return ((to_dc * unit_dc).real + (to_ac * unit_ac).real) / size

    live = {pole for s in model.sources if model.supplies.live[s.name] >> number & 1 for pole in s.poles}
    up, above = _way(steps, load.a, live, lambda a, b: height(b) > height(a) + SMALL)
    down, below = _way(steps, load.b, live, lambda a, b: height(b) < height(a) - SMALL)
    return (*reversed(up), *down), tuple(dict.fromkeys(i.device for i in (*reversed(above), *below)))


def _steps(model: Model, impedances: Iterable[Impedance], number: int, load: Impedance) -> Steps:
    found: dict[Terminal, list[tuple[Terminal, Impedance | None]]] = {}
    for e in model.elements:
        if e.kind in CONDUCTS and model.conducts(e) >> number & 1:
            found.setdefault(e.a, []).append((e.b, None))
            found.setdefault(e.b, []).append((e.a, None))
    for i in impedances:
        if i.ident != load.ident or i.kind != load.kind:
            found.setdefault(i.a, []).append((i.b, i))
            found.setdefault(i.b, []).append((i.a, i))
    return found


def _way(
    steps: Steps, start: Terminal, goals: set[Terminal], passes: Callable[[Terminal, Terminal], bool]
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
                elif passes(here, there):
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
