"""One state at a time: what a plan does from a single state, whatever the number of states it has.

Settling goes from state to state, in every order that matters (`wirecheck.behaviour.orders`); what moves in a state is asked of
its model (`wirecheck.behaviour.one_state`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from wirecheck.behaviour.coils import CoilPart, TimerPart
from wirecheck.behaviour.drives import DrivePart
from wirecheck.behaviour.faulted import NOTHING
from wirecheck.behaviour.faults import Fault, fault_elements
from wirecheck.behaviour.model import Model, bits_of, part_of, width_of
from wirecheck.behaviour.network import Network
from wirecheck.behaviour.one_state import StateModel, StateSpace, enabled
from wirecheck.behaviour.orders import Joints, Orders
from wirecheck.behaviour.parts import EventRule, Part
from wirecheck.behaviour.reach import explore
from wirecheck.behaviour.space import Variable
from wirecheck.behaviour.supplies import Fits
from wirecheck.behaviour.views import WHOLE_BITS
from wirecheck.circuit import CONDUCTS, Element, elements_of, sources_of
from wirecheck.circuit.impedances import impedances_of
from wirecheck.errors import TooLarge
from wirecheck.plan.model import Event, Plan

MOST_PASSED = 2000
"""So many states may be passed while the circuit settles once; some three seconds on a large plan."""

ELAPSED = "elapsed"
"""The event that ends a delay."""


@dataclass(frozen=True, slots=True)
class Settled:
    """How the circuit settles from a state, or from several.

    `rests` are the states in which it can come to rest, in the order in which they were found; `swings` the states that were
    passed and from which no order comes to rest; `came` leads from each state passed to the one before it, None at the origin.
    `partly` says that so much moved that not every order was followed.
    """

    rests: tuple[int, ...]
    swings: tuple[int, ...]
    came: Mapping[int, int | None]
    partly: bool = False

    def way(self, number: int) -> list[int]:
        """The states passed on the way to one of them, it included."""
        found: list[int] = []
        here: int | None = number
        while here is not None:
            found.append(here)
            here = self.came.get(here)
        return found[::-1]


class Single:
    """The behaviour of one plan, with a fault in it or with none, one state at a time.

    Parameters
    ----------
    plan : Plan
        The plan.
    fault : Fault
        The fault in it.
    sneaking : bool
        Whether coils and inputs act by voltage that comes through other loads. Where such a voltage is between enough and too
        little, both are tried.

    Attributes
    ----------
    at_rest : int
        The state before anything was done; a relay that is stuck is in.
    variables : mapping
        The variables of a state. State numbers mean the same with and without a fault.
    """

    def __init__(self, plan: Plan, fault: Fault = NOTHING, sneaking: bool = True) -> None:
        self.plan, self.fault, self.sneaking = plan, fault, sneaking
        self.parts = {d.name: part_of(d) for d in plan.devices.values()}
        self.elements = fault_elements(elements_of(plan), fault)
        self.sources = sources_of(plan)
        self.fits = Fits(self.sources)
        self.dying = frozenset(s.name for s in self.sources if s.role != "output")
        self.variables = self._variables()
        always = [e for e in self.elements if e.kind in CONDUCTS and e.kind != "diode" and self._always(e)]
        self.fixed = Network(always, lambda _: 1, 1, (pole for source in self.sources for pole in source.poles))
        kept = {e.key for e in always}
        self.switched = tuple(e for e in self.elements if e.kind in CONDUCTS and e.key not in kept)
        self.loads = tuple(i for i in impedances_of(plan) if i.kind != "coil" or i.device not in fault.coils)
        self.at_rest = self.encode(self.model(0).stuck_at_rest)
        self.movable = frozenset(name for name, part in self.parts.items() if moves_itself(part))
        self._orders: dict[int, Orders] = {}

    def _always(self, element: Element) -> bool:
        return element.closed_in is None or element.ident in self.fault.closed

    def _variables(self) -> dict[str, Variable]:
        codes = {name: tuple(c) for part in self.parts.values() for name, c in part.variables().items()}
        codes |= {Model.dead(name): ("no", "yes") for name in sorted(self.dying)}
        found, low = {}, 0
        for name, names in codes.items():
            found[name] = Variable(name, names, low)
            low += width_of(names)
        return found

    @cached_property
    def mortal(self) -> frozenset[str]:
        """The sources that a short takes away for good without any fault; a plan too large to explore is taken to have none."""
        if bits_of(self.plan) > WHOLE_BITS:
            return frozenset()
        return explore(self.plan).model.dying

    # states

    def encode(self, codes: Mapping[str, str]) -> int:
        """The number of the state with these codes; variables that are not named are at rest."""
        return sum(self.variables[name].codes.index(code) << self.variables[name].low for name, code in codes.items())

    def decode(self, number: int) -> dict[str, str]:
        """The code of every variable in a state."""
        return {v.name: v.codes[number >> v.low & (1 << v.width) - 1] for v in self.variables.values()}

    def model(self, number: int) -> StateModel:
        """All that can be asked of one state."""
        return StateModel(self, number)

    # settling

    def settle(self, origins: Sequence[int], every_order: bool = False) -> Settled:
        """From states just after an event to those of rest.

        Orders that cannot matter are left out, unless something is met on the way that could make them matter after all. If then
        so much moves that not all can be followed, what was found without them is given, and said not to be all.

        Raises
        ------
        TooLarge
            More than `MOST_PASSED` states are passed, even in the orders that matter for certain.
        """
        found, doubtful = (None, True) if every_order else self._settle(origins, every_order=False)
        if found is not None and not doubtful:
            return found
        try:
            return self._settle(origins, every_order=True)[0]
        except TooLarge:
            if found is None:
                raise
            return replace(found, partly=True)

    def _settle(self, origins: Sequence[int], every_order: bool) -> tuple[Settled, bool]:
        """How it settles, and whether orders that were left out could matter after all."""
        came: dict[int, int | None] = dict.fromkeys(origins)
        onward: dict[int, list[int]] = {}
        rests: list[int] = []
        doubtful = False
        for number in (waiting := list(came)):
            model = self.model(number)
            doubtful = doubtful or bool(model.trips or model.through_loads or self._passing_short(model))
            onward[number], resting = self._onward(model, every_order)
            rests += [number] if resting else []
            for there in onward[number]:
                if there not in came:
                    came[there] = number
                    waiting.append(there)
            if len(came) > MOST_PASSED:
                raise TooLarge(f"one step of {self.plan.machine.name}: more than {MOST_PASSED} states are passed, so much moves")
        swings = _without_rest(onward, rests)
        return Settled(tuple(rests), swings, came), doubtful or bool(swings)

    def _passing_short(self, model: StateModel) -> bool:
        """Whether there is a short that what moves by itself could end; one that stands for good only takes a voltage away."""
        if not model.shorted:
            return False
        standing = self._orders_at(model).standing
        return any(name not in standing or name not in model.collapsed for name in model.shorted)

    def _onward(self, model: StateModel, every_order: bool) -> tuple[list[int], bool]:
        """The states after any one move, of all devices or of as many as matter to each other; and whether all can stay."""
        perceived = model.perceived
        noticing = bool(perceived.must)
        steps = perceived if noticing else model.moving
        trips = [] if noticing else model.trips
        chosen: Collection[str] = steps.must
        if len(steps.must) > 1 and not every_order:
            chosen = self._orders_at(model).needed(steps.must, lambda e: bool(model.conducts(e)), drives=noticing)
        moves = [move for name, able in steps.must.items() if name in chosen for move in able]
        moves += trips
        resting = not moves
        for more in (perceived.may, steps.may):
            moves += [move for able in more.values() for move in able]
        return list(dict.fromkeys(model.space.moved(move.bits) for move in moves)), resting

    def _orders_at(self, model: StateModel) -> Orders:
        """What moving devices can tell each other, as all else stands in a state."""
        number = model.space.number
        fixed = sum(
            (number >> v.low & (1 << v.width) - 1) << v.low
            for name, part in self.parts.items()
            if name not in self.movable
            for v in map(self.variables.__getitem__, part.variables())
        )
        if fixed not in self._orders:
            joints = Joints(self.elements, lambda e: bool(model.conducts(e)), self.movable)
            self._orders[fixed] = Orders(self.plan, joints, self.sources, self.movable, model.interlocks)
        return self._orders[fixed]

    # events

    def fire(self, event: Event, number: int) -> Settled | None:
        """Let an event happen in a state at rest: how the circuit settles, None where the event can do nothing there.

        Where it does not come to rest in the moment between two positions, it goes on from what was passed.
        """
        states: Sequence[int] = (number,)
        came: dict[int, int | None] = {}
        swings: list[int] = []
        partly = False
        settled = Settled((), (), came)
        rule = self._rule(event, number)
        for stage in range(len(rule.stages) if rule else 0):
            after = {there: here for here in states for there in self._made(event, stage, here)}
            settled = self.settle(list(after))
            came |= {**settled.came, **(after if stage else {})}
            swings += settled.swings
            partly = partly or settled.partly
            states = settled.rests or settled.swings
        return Settled(settled.rests, tuple(swings), came, partly) if came else None

    def _rule(self, event: Event, number: int) -> EventRule | None:
        rules = self.parts[event.device].events(self.model(number))
        return next((rule for rule in rules if rule.event == event), None)

    def _made(self, event: Event, stage: int, number: int) -> list[int]:
        """The states that one stage of an event makes of a state, before the circuit has answered."""
        rule = self._rule(event, number)
        space = StateSpace(self.variables, number)
        return [space.moved(move.bits) for move in enabled(rule.stages[stage])] if rule else []

    def events(self) -> tuple[Event, ...]:
        """All events of the plan, in its order of devices; those that are possible at some time only are among them."""
        model = self.model(self.at_rest)
        found = []
        for name, part in self.parts.items():
            found += [rule.event for rule in part.events(model)]
            if part.delayed or isinstance(part, TimerPart):
                found.append(Event(name, ELAPSED))
        return tuple(dict.fromkeys(found))


def moves_itself(part: Part) -> bool:
    """Whether a device can change its state while the circuit settles; what a short moves is left aside."""
    return isinstance(part, CoilPart | DrivePart) or bool(part.delayed)


def _without_rest(onward: Mapping[int, Sequence[int]], rests: Iterable[int]) -> tuple[int, ...]:
    """The states from which no way leads to one of rest."""
    back: dict[int, list[int]] = {}
    for here, others in onward.items():
        for there in others:
            back.setdefault(there, []).append(here)
    good = set(rests)
    for number in (waiting := list(good)):
        for before in back.get(number, ()):
            if before not in good:
                good.add(before)
                waiting.append(before)
    return tuple(n for n in onward if n not in good)
