"""Terminals whose voltages differ by what is known: nothing where they are joined, the voltage of a source at its poles."""

from __future__ import annotations

from typing import NamedTuple

from wirecheck.plan.model import Terminal

SMALL_V = 1e-6


class Short(NamedTuple):
    """Two terminals held at different voltages and joined without any load between: nothing to solve, a short."""

    a: Terminal
    b: Terminal
    volts: float


class Potentials:
    """Terminals in rigid groups: within one, every difference of voltage is known, by joints and by ideal sources."""

    def __init__(self) -> None:
        self._up: dict[Terminal, tuple[Terminal, complex]] = {}

    def find(self, terminal: Terminal) -> tuple[Terminal, complex]:
        """The terminal that stands for the group, and the voltage against it."""
        way = []
        here = terminal
        while (up := self._up.setdefault(here, (here, 0j)))[0] != here:
            way.append(here)
            here = up[0]
        volts = 0j
        for step in reversed(way):  # from the root down, so that every step then hangs on the root itself
            volts += self._up[step][1]
            self._up[step] = (here, volts)
        return here, volts

    def hold(self, a: Terminal, b: Terminal, volts: complex) -> Short | None:
        """Let `a` be `volts` above `b`; the short where it cannot be."""
        (root_a, above_a), (root_b, above_b) = self.find(a), self.find(b)
        if root_a != root_b:
            self._up[root_a] = (root_b, above_b + volts - above_a)
            return None
        wrong = abs(above_a - above_b - volts)
        return Short(a, b, wrong) if wrong > SMALL_V else None

    def terminals(self) -> list[Terminal]:
        """All terminals that were ever asked for."""
        return list(self._up)
