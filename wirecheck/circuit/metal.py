"""What metal alone joins, whatever any contact does: wires, links, earth bars, and the poles of a plug that is mated."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.plan.model import Device, Plan, Terminal, Wire
from wirecheck.plan.potentials import Joined, always_joined

NO_METAL_PART = frozenset({"mains", "earth-bar", "terminal-block", "plug-connector"})
"""Kinds whose PE terminal leads the protective conductor on and is no exposed metal of its own."""


def exposed_parts(plan: Plan) -> tuple[Device, ...]:
    """The devices with metal that a hand can touch: those with a PE terminal of their own."""
    return tuple(d for d in plan.devices.values() if "PE" in d.marks and d.kind not in NO_METAL_PART)


def is_earth_terminal(plan: Plan, terminal: Terminal) -> bool:
    """Whether a terminal is there for the protective conductor alone: of an earth bar, or a PE terminal."""
    device = plan.devices[terminal.device]
    return device.kind == "earth-bar" or (terminal.mark == "PE" and device.kind != "terminal-block")


class Metal:
    """The nets of a plan. Two terminals of one net are joined for good."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._joined = always_joined(plan.devices.values(), plan.wires)
        bars = [t for t in plan_terminals(plan) if is_earth_terminal(plan, t)]
        supplies = [t for t in bars if plan.devices[t.device].kind == "mains"]
        self.earth = frozenset(self.net(t) for t in supplies)
        """The nets of the supply's protective conductor."""
        self.any_earth = frozenset(self.net(t) for t in bars)
        """The same with all that is meant to be earth: every earth bar and PE terminal."""

    def net(self, terminal: Terminal) -> Terminal:
        """The terminal that stands for the whole net."""
        return self._joined.root(terminal)

    def same(self, a: Terminal, b: Terminal) -> bool:
        """Whether two terminals are one piece of metal."""
        return self.net(a) == self.net(b)

    def is_earthed(self, terminal: Terminal) -> bool:
        """Whether metal alone joins a terminal to the supply's protective conductor."""
        return self.net(terminal) in self.earth

    def without_earth(self) -> Joined:
        """The nets when earth bars and PE terminals join nothing: the current's own way back."""
        kept = [w for w in self._plan.wires if not any(is_earth_terminal(self._plan, t) for t in (w.a, w.b))]
        return always_joined((d for d in self._plan.devices.values() if d.kind != "earth-bar"), kept)


def plan_terminals(plan: Plan) -> Iterable[Terminal]:
    """Every terminal of every device."""
    return (Terminal(device.name, mark) for device in plan.devices.values() for mark in device.marks)


def bonds_of(plan: Plan, nets: Joined, poles: Iterable[Terminal]) -> tuple[Wire, ...]:
    """The wires that lead from a circuit, given by poles of it, to earth. `nets` are those without earth."""
    own = {nets.root(pole) for pole in poles}

    def crosses(a: Terminal, b: Terminal) -> bool:
        return is_earth_terminal(plan, b) and not is_earth_terminal(plan, a) and nets.root(a) in own

    return tuple(w for w in plan.wires if crosses(w.a, w.b) or crosses(w.b, w.a))
