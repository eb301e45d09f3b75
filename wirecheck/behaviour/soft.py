"""Where a voltage can come through a load: the search for states that the resistive solution must look at.

A terminal is *tied* where it is joined to a pole of a live source: its voltage is then known, whatever else hangs on it. From
tied terminals voltage spreads through loads into what is not tied. All sets are sets of states, never one state after the other.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from itertools import combinations
from typing import NamedTuple

from wirecheck.behaviour.model import Model
from wirecheck.behaviour.network import NEVER
from wirecheck.behaviour.space import sum_of
from wirecheck.behaviour.supplies import polarity_of
from wirecheck.circuit import CONDUCTS, Source
from wirecheck.circuit.impedances import Impedance
from wirecheck.plan.model import Terminal


class Rail(NamedTuple):
    """The poles of one source that have the same voltage: N and PE are one."""

    source: Source
    poles: tuple[Terminal, ...]


def way_of(source: Source, pole: Terminal) -> str:
    """How far a pole's voltage is known: a.c. is not known behind a diode, which passes it one way only."""
    return NEVER if source.kind == "AC" else polarity_of(source, pole)


class Arc(NamedTuple):
    """A way from one net to another: a contact in the states in which it conducts, or a load at any time."""

    to: Terminal
    states: int
    through: str | None = None


def rails_of(source: Source) -> list[Rail]:
    """The rails of a source."""
    groups: dict[complex, list[Terminal]] = {}
    for pole, volts in source.poles.items():
        groups.setdefault(complex(round(volts.real, 6), round(volts.imag, 6)), []).append(pole)
    return [Rail(source, tuple(poles)) for poles in groups.values()]


class Soft:
    """What reaches what through loads, in the states of `domain`."""

    def __init__(self, model: Model, impedances: Iterable[Impedance], domain: int) -> None:
        self.model, self.net, live = model, model.network.net, model.supplies.live
        self.rails = [rail for source in model.sources if live[source.name] & domain for rail in rails_of(source)]
        self._at = [self._tied_to(rail, live[rail.source.name] & domain) for rail in self.rails]
        self.tied: dict[Terminal, int] = {}
        for at in self._at:
            for net, states in at.items():
                self.tied[net] = self.tied.get(net, 0) | states
        self.arcs: dict[Terminal, list[Arc]] = {}
        self._join(impedances)
        self.reached = [self._spread(at) for at in self._at]

    def _tied_to(self, rail: Rail, live: int) -> dict[Terminal, int]:
        found: dict[Terminal, int] = {}
        for pole in rail.poles:
            for net, states in self.model.network.flood(pole, way_of(rail.source, pole)).items():
                if states & live:
                    found[net] = found.get(net, 0) | (states & live)
        return found

    def _join(self, impedances: Iterable[Impedance]) -> None:
        full = self.model.space.full
        contacts = [(e.a, e.b, self.model.conducts(e), None) for e in self.model.elements if e.kind in CONDUCTS]
        for a, b, states, through in [*contacts, *((i.a, i.b, full, i.ident) for i in impedances)]:
            one, other = self.net(a), self.net(b)
            if one != other and states:
                self.arcs.setdefault(one, []).append(Arc(other, states, through))
                self.arcs.setdefault(other, []).append(Arc(one, states, through))

    def _spread(self, at: Mapping[Terminal, int]) -> dict[Terminal, int]:
        """From where a rail is, through loads and contacts, into all that is not tied."""
        reached = dict(at)
        waiting = list(at)
        while waiting:
            here = waiting.pop()
            for arc in self.arcs.get(here, ()):
                old = reached.get(arc.to, 0)
                new = old | (reached[here] & arc.states & ~self.tied.get(arc.to, 0))
                if new != old:
                    reached[arc.to] = new
                    waiting.append(arc.to)
        return reached

    def between(self, a: Terminal, b: Terminal) -> int:
        """The states in which two rails of different voltage reach two terminals that are not both tied to one source."""
        one, other = self.net(a), self.net(b)
        if one == other:
            return 0
        near = [reached.get(one, 0) | reached.get(other, 0) for reached in self.reached]
        found = 0
        for i, j in combinations([n for n, states in enumerate(near) if states], 2):
            both = near[i] & near[j]
            if both:
                found |= both & ~self._same(i, j)
        for i, j in combinations(range(len(self.rails)), 2) if found else ():
            found &= ~self._hard(i, j, one, other)
        return found

    def _same(self, i: int, j: int) -> int:
        """The states in which two rails are joined."""
        return sum_of(at for pole in self.rails[j].poles if (at := self._at[i].get(self.net(pole))))

    def _hard(self, i: int, j: int, a: Terminal, b: Terminal) -> int:
        """The states in which two rails of one source are at the two nets themselves: no load has a part in that."""
        if self.rails[i].source is not self.rails[j].source:
            return 0
        at, to = self._at[i], self._at[j]
        return at.get(a, 0) & to.get(b, 0) | at.get(b, 0) & to.get(a, 0)

    def block(self, ends: Iterable[Terminal], states: int, without: str) -> dict[Terminal, int]:
        """For every net that has a part in the voltage at `ends`, the states in which it has; the load `without` is left out."""
        reached = {self.net(end): states for end in ends}
        waiting = list(reached)
        while waiting:
            here = waiting.pop()
            going = reached[here] & ~self.tied.get(here, 0)
            for arc in self.arcs[here] if going else ():
                old = reached.get(arc.to, 0)
                new = old if arc.through == without else old | (going & arc.states)
                if new != old:
                    reached[arc.to] = new
                    waiting.append(arc.to)
        return reached

    def telling(self, block: Mapping[Terminal, int]) -> list[int]:
        """The sets that tell the states of a block apart: what conducts in it, and which rail is at its borders."""
        found: dict[int, None] = {}
        sources = self._tell(block, found)
        if len(sources) > 1:  # how high the one source stands against the other hangs on all that links them
            self._tell(self._linking(sources), found)
        return [states for states in found if states]

    def _tell(self, block: Mapping[Terminal, int], found: dict[int, None]) -> set[str]:
        """Add what tells the states of a block apart; the sources at its borders."""
        sources = set()
        for net, states in block.items():
            loose = states & ~self.tied.get(net, 0)
            for arc in self.arcs[net] if loose else ():
                if arc.through is None:
                    found[arc.states & loose] = None
            for rail, at in zip(self.rails, self._at, strict=True):
                if here := at.get(net, 0) & states:
                    found[here] = None
                    sources.add(rail.source.name)
        return sources

    def _linking(self, sources: Collection[str]) -> Mapping[Terminal, int]:
        """The nets by which loads and contacts link several sources, and those next to them, with the states in which they do."""
        twice: dict[Terminal, int] = {}
        for one, other in combinations([(self._of(name, self.reached), self._of(name, self._at)) for name in sorted(sources)], 2):
            for net, states in one[0].items():
                twice[net] = twice.get(net, 0) | states & other[0].get(net, 0)
            for (net, here), there in ((pair, b) for a, b in ((one[1], other[1]), (other[1], one[1])) for pair in a.items()):
                for arc in self.arcs.get(net, ()):  # a load with a pole of each at its two ends
                    twice[net] = twice.get(net, 0) | here & arc.states & there.get(arc.to, 0)
        found = {net: states for net, states in twice.items() if states}
        for net, states in list(found.items()):
            for arc in self.arcs.get(net, ()):
                found[arc.to] = found.get(arc.to, 0) | states & arc.states
        return found

    def _of(self, source: str, sets: Iterable[Mapping[Terminal, int]]) -> Mapping[Terminal, int]:
        """Of sets that stand for each rail, those of one source together."""
        found: dict[Terminal, int] = {}
        for rail, each in zip(self.rails, sets, strict=True):
            for net, states in each.items() if rail.source.name == source else ():
                found[net] = found.get(net, 0) | states
        return found


def classes(domain: int, telling: Iterable[int], most: int) -> list[int] | None:
    """The classes of states that no set tells apart; None where there are more than `most`."""
    found = [domain]
    for states in telling:
        found = [part for here in found for part in (here & ~states, here & states) if part]
        if len(found) > most:
            return None
    return found
