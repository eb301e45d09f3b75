"""Islands in one state, with union-find: what hangs together through loads, and which rails border it.

Written from DEVELOPERS.md and not from `wirecheck/behaviour/islands.py`. Of a model it asks only what conducts in the state and
which sources are live in it. A terminal is tied where metal and contacts join it to a pole of a live source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from wirecheck.behaviour.faulted import FaultedModel
from wirecheck.circuit import CONDUCTS
from wirecheck.circuit.impedances import Impedance
from wirecheck.plan.model import Terminal
from wirecheck.plan.potentials import Joined

RailName = tuple[str, complex]
"""A rail by its source and its voltage against the source's reference."""

End = tuple[str, int]
"""An end of a load: its ident, and 0 or 1."""


class PlainIsland(NamedTuple):
    """An island: for every end of its loads the rails there, and the ends that hang on it, itself among them."""

    ends: Mapping[End, tuple[frozenset[RailName], frozenset[End]]]

    @property
    def loads(self) -> frozenset[str]:
        """The loads of it."""
        return frozenset(ident for ident, _ in self.ends)

    @property
    def mixed(self) -> bool:
        """Whether rails of different voltage border it; the two of one source at one load alone make no island."""
        borders = {rails for rails, _ in self.ends.values() if rails}
        if len(self.loads) == 1 and all(rails for rails, _ in self.ends.values()):
            one, other = (rails for rails, _ in self.ends.values())
            return one != other and not {name for name, _ in one} & {name for name, _ in other}
        return len(borders) > 1

    def is_as(self, other: PlainIsland, strictly: bool = False) -> bool:
        """Whether it is as another one was: the same loads so joined, and at each end one of the rails that were there.

        Strictly all of them: where two rails are joined and one of them goes, the voltage may still be as it was.
        """
        pairs = [(*self.ends[end], *other.ends.get(end, (frozenset(), frozenset()))) for end in self.ends]
        alike = self.loads == other.loads and all(hangs == hung and bool(now) == bool(was) for now, hangs, was, hung in pairs)
        return alike and all(was <= now if strictly else was & now or not was for now, _, was, _ in pairs)


class PlainState:
    """One state of a model, with a fault or with none."""

    def __init__(self, model: FaultedModel, loads: Sequence[Impedance], number: int) -> None:
        self.joined = Joined()
        for e in model.elements:
            if e.kind in CONDUCTS and model.conducts(e) >> number & 1:
                self.joined.join((e.a, e.b))
        self.rails: dict[Terminal, frozenset[RailName]] = {}
        for source in model.sources:
            if model.supplies.live[source.name] >> number & 1:
                for pole, volts in source.poles.items():
                    root = self.joined.root(pole)
                    self.rails[root] = self.rails.get(root, frozenset()) | {
                        (source.name, complex(round(volts.real), round(volts.imag)))
                    }
        self.loads = [i for i in loads if i.kind != "coil" or i.device not in model.fault.coils]

    @property
    def shorted(self) -> bool:
        """Whether metal joins two rails of one source."""
        return any(len({name for name, _ in rails}) < len(rails) for rails in map(self._one_voltage, self.rails.values()))

    def tied(self, terminal: Terminal) -> frozenset[RailName]:
        """The rails at a terminal, and those that metal joins to them anywhere."""
        return self._one_voltage(self.rails.get(self.joined.root(terminal), frozenset()))

    def _one_voltage(self, rails: frozenset[RailName]) -> frozenset[RailName]:
        while (more := rails.union(*(at for at in self.rails.values() if at & rails))) != rails:
            rails = more
        return rails

    def islands(self) -> Iterator[PlainIsland]:
        """All islands. A load between two tied terminals is one by itself."""
        at = {(i.ident, side): end for i in self.loads for side, end in enumerate((i.a, i.b))}
        together = Joined()
        for i in self.loads:
            loose = [self.joined.root(end) for end in (i.a, i.b) if not self.tied(end)]
            together.join([Terminal("load", i.ident), *loose])
        groups: dict[Terminal, list[End]] = {}
        for end in at:
            groups.setdefault(together.root(Terminal("load", end[0])), []).append(end)
        for ends in groups.values():
            hanging: dict[Terminal, list[End]] = {}
            for end in ends:
                hanging.setdefault(self.joined.root(at[end]), []).append(end)
            yield PlainIsland({end: (self.tied(root), frozenset(each)) for root, each in hanging.items() for end in each})
