"""The model of a plan in one single state: every set of states has that one or not, so it is 1 or 0.

The parts of a plan, and whatever asks for motion or for voltage through loads, work on sets of states. `StateSpace` answers for
its one state, and all that they say holds unchanged.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from wirecheck.behaviour.drives import DrivePart, Raw
from wirecheck.behaviour.faulted import NOTHING, FaultedModel
from wirecheck.behaviour.network import BOTH, MINUS, PLUS, Network
from wirecheck.behaviour.parts import Part
from wirecheck.behaviour.protection import trips, uncleared
from wirecheck.behaviour.sneaks import MAY_HOLD, PULLS_IN, UNCERTAIN, Finder, Sneak
from wirecheck.behaviour.space import Move, Space, Variable
from wirecheck.behaviour.supplies import Supplies
from wirecheck.circuit import Element
from wirecheck.plan.model import Quantity, Terminal

if TYPE_CHECKING:
    from wirecheck.behaviour.single import Single


class StateSpace(Space):
    """The space of a plan seen from one state: a set is 1 where that state is in it, else 0."""

    def __init__(self, variables: Mapping[str, Variable], number: int) -> None:
        self.variables, self.number = dict(variables), number
        self.bits = sum(v.width for v in variables.values())
        self.full = 1
        self._ones = [number >> bit & 1 for bit in range(self.bits)]
        self._zeros = [1 - one for one in self._ones]
        self._at = {}

    def flip(self, states: int, bits: Iterable[int]) -> int:
        """Leads out of the one state, so it has no answer here; `moved` has."""
        del states, bits
        raise TypeError("the only state of this space cannot be turned into another one")

    def moved(self, bits: Iterable[int]) -> int:
        """The number of the state that has these variable bits turned over."""
        return self.number ^ sum(1 << bit for bit in bits)


class StateNetwork(Network):
    """What is joined in one state. What always is, was put together once, in `fixed`."""

    def __init__(self, fixed: Network, closed: Iterable[Element]) -> None:
        self.full, self._fixed, self._floods, self._arcs = 1, fixed, {}, {}
        for element in closed:
            a, b = fixed.net(element.a), fixed.net(element.b)
            diode = element.kind == "diode"
            self._arcs.setdefault(a, []).append((b, 1, PLUS if diode else BOTH, element.ident))
            self._arcs.setdefault(b, []).append((a, 1, MINUS if diode else BOTH, element.ident))

    def net(self, terminal: Terminal) -> Terminal:
        return self._fixed.net(terminal)


@dataclass(frozen=True, slots=True)
class Steps:
    """The moves that can be made in one state, by device: those that will be, and those of which it cannot be told."""

    must: Mapping[str, list[Move]]
    may: Mapping[str, list[Move]]


class StateModel(FaultedModel):
    """The model of a plan, with a fault or with none, in one state: all its sets are 1 or 0."""

    def __init__(self, single: Single, number: int) -> None:
        self.plan, self.dying, self.tripping = single.plan, single.dying, True
        self.parts, self.sources, self.elements = single.parts, single.sources, single.elements
        self.fits = single.fits
        self.fault, self.interlocks = single.fault, self._interlocks()
        self.space: StateSpace = StateSpace(single.variables, number)
        self._truths = {}
        self._collapsed = {}
        self.network = StateNetwork(single.fixed, (e for e in single.switched if self.conducts(e)))
        self.supplies = self._supplied()
        self.shorted = tuple(s.name for s in self.sources if self.supplies.shorts(s))
        if self.shorted and self.fault is not NOTHING:
            self._collapse(single)
        self._loads = single.loads
        self.through_loads = self._find_sneaks() if single.sneaking else ()
        self._bold = False

    def _supplied(self) -> Supplies:
        return Supplies(self.fits, self.network, self.alive, self.fault.lost)

    def _collapse(self, single: Single) -> None:
        """A short by a fault takes the voltage away for as long as it lasts, where nothing clears it."""
        for source in self.sources:
            if source.role != "output" and uncleared(self, source) and source.name not in single.mortal:
                self._collapsed[source.name] = 1
        if self._collapsed:
            self.supplies = self._supplied()
            self._cleared.clear()  # what is shorted is something else now

    # voltage through other loads

    @cached_property
    def finder(self) -> Finder:
        """What solves the network of this state; its number in there is 0."""
        return Finder(self, loads=self._loads)

    def _find_sneaks(self) -> tuple[Sneak, ...]:
        return tuple(sneak for sneak in self.finder.sneaks(1) if sneak.kind != "load")

    def _through(self, verdicts: Collection[str], device: str, end: Terminal | None = None) -> int:
        """Whether a coil, or the input at `end`, gets voltage through other loads with one of these verdicts."""
        found = (s for s in self.through_loads if s.device == device and s.kind == ("coil" if end is None else "input"))
        return int(any(s.verdict in verdicts and end in (None, s.ends[0]) for s in found))

    @contextmanager
    def bold(self) -> Iterator[None]:
        """Meanwhile whatever may move at a voltage that is neither enough nor too little does move."""
        self._bold = True
        try:
            yield
        finally:
            self._bold = False

    def raw(self, drive: DrivePart) -> Raw:
        return drive.raw(self)  # while it is bold another one

    def coil(self, device: str, a: Terminal, b: Terminal, rated: Quantity | None) -> int:
        pulls = (PULLS_IN, UNCERTAIN) if self._bold else (PULLS_IN,)
        return super().coil(device, a, b, rated) | self._through(pulls, device)

    def held(self, device: str) -> int:
        return 0 if self._bold else self._through((MAY_HOLD,), device)

    def input_fed(self, terminal: Terminal) -> int:
        pulls = (PULLS_IN, UNCERTAIN) if self._bold else (PULLS_IN,)
        return self._through(pulls, terminal.device, terminal)

    # what moves

    @property
    def collapsed(self) -> Collection[str]:
        """The sources whose voltage a short takes away for as long as it lasts."""
        return self._collapsed.keys()

    @cached_property
    def trips(self) -> list[Move]:
        """What a short moves."""
        return enabled(trips(self))

    @cached_property
    def perceived(self) -> Steps:
        """What drives notice: it comes before all else."""
        return self._steps(lambda part: part.perceptions(self))

    @cached_property
    def moving(self) -> Steps:
        """What moves of itself once no drive has anything to notice."""
        return self._steps(lambda part: part.moves(self))

    def _steps(self, ask: Callable[[Part], Iterable[Move]]) -> Steps:
        meek = {name: able for name, part in self.parts.items() if (able := enabled(ask(part)))}
        if not any(sneak.verdict in (UNCERTAIN, MAY_HOLD) for sneak in self.through_loads):
            return Steps(meek, {})
        with self.bold():
            bold = {name: able for name, part in self.parts.items() if (able := enabled(ask(part)))}
        must: dict[str, list[Move]] = {}
        may: dict[str, list[Move]] = {}
        for name in self.parts:
            one, other = meek.get(name, []), bold.get(name, [])
            must |= {name: both} if (both := [move for move in one if move in other]) else {}
            may |= {name: either} if (either := [move for move in (*one, *other) if move not in both]) else {}
        return Steps(must, may)


def enabled(moves: Iterable[Move]) -> list[Move]:
    """The moves that can be made in the one state, each once."""
    return list(dict.fromkeys(move for move in moves if move.mask))
