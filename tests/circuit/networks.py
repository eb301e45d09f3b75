"""A plan with everything that conducts conducting and every source live, solved."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.circuit import CONDUCTS, elements_of, sources_of
from wirecheck.circuit.impedances import impedances_of
from wirecheck.circuit.resistive import Solution, solve_voltages
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal


def plan_text(devices: Iterable[str], runs: Iterable[str]) -> str:
    """A plan from its devices and its runs, a run being its terminals with blanks between."""
    wires = [
        f"  - {{number: {n}, run: [{', '.join(map(repr, run.split()))}]}}".replace("'", '"') for n, run in enumerate(runs, 1)
    ]
    head = ["wirecheck: 1", "machine: {name: network}", "devices:", *(f"  {d}" for d in devices)]
    return "\n".join([*head, "wires:" if wires else "wires: []", *wires]) + "\n"


def solved(devices: Iterable[str], runs: Iterable[str], without: Iterable[str] = (), dead: Iterable[str] = ()) -> Solution:
    """The voltages of a plan; the contacts of the devices `without` are open, the sources `dead` are not live."""
    made = read_plan_text(plan_text(devices, runs), "network")
    conducting = [e for e in elements_of(made) if e.kind in CONDUCTS and e.device not in set(without)]
    return solve_voltages(conducting, impedances_of(made), [s for s in sources_of(made) if s.name not in set(dead)])


def terminal(text: str) -> Terminal:
    """`K1:A1`."""
    device, _, mark = text.partition(":")
    return Terminal(device, mark)


def volts(solution: Solution, a: str, b: str, current: str | None = None) -> float:
    """Volts between two terminals."""
    return solution.volts(terminal(a), terminal(b), current)
