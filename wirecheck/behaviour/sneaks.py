"""Sneak paths: coils, inputs and lamps that get voltage through other loads.

Only where a load's two ends are not both tied to poles, and paths through other loads lead to different voltages, does the
network matter. The states in which that is so are parted into classes in which the same things conduct; one of each is solved.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.behaviour.coils import CoilPart, NoVoltPart
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.soft import Soft, classes
from wirecheck.behaviour.space import has, lowest, sum_of
from wirecheck.behaviour.supplies import ACTS_FROM
from wirecheck.behaviour.walks import current_walk
from wirecheck.circuit import CONDUCTS
from wirecheck.circuit.elements import LOAD_KINDS, quantity, section
from wirecheck.circuit.impedances import Impedance, impedances_of, value_of
from wirecheck.circuit.resistive import Solution, solve_voltages
from wirecheck.errors import TooLarge
from wirecheck.plan.model import Plan, Quantity, Terminal

DROPS_OUT = {"AC": 0.20, "DC": 0.10}
"""Below this share of its rated voltage a coil drops out (IEC 60947-4-1, 8.2.1.2, value from memory)."""

GLOWS_FROM = 0.10
"""From this share of its rated voltage a lamp is seen to glow, or a load to do something. Common practice, no source."""

MOST_CLASSES = 3000
"""So many different networks around one coil are solved at most."""

PULLS_IN, MAY_HOLD, UNCERTAIN, GLOWS = "pulls in", "may hold in", "uncertain", "glows"


@dataclass(frozen=True, slots=True)
class Sneak:
    """A load that gets voltage through other loads.

    `verdict` is `pulls in` (from 85 % of rated), `may hold in` (a coil that is in, above drop-out), `uncertain` (a coil that is
    out, above drop-out), or `glows` for lamps and loads. `volts` are those of the state of `states` in which it gets most, with
    `walk` the way of the current there from pole to pole and `through` the loads on it, the load itself left out. `assumed` says
    what was taken for values of these that the plan does not state.
    """

    device: str
    ends: tuple[Terminal, Terminal]
    kind: str
    states: int
    volts: float
    rated: float
    verdict: str
    walk: tuple[Terminal, ...]
    through: tuple[str, ...]
    assumed: tuple[str, ...] = ()

    @property
    def share(self) -> float:
        """Its voltage as a part of the rated one."""
        return self.volts / self.rated

    @property
    def straight_from(self) -> str:
        """The device whose two poles it lies across with nothing between, and which is not made for it; else nothing."""
        ends = {terminal.device for terminal in (*self.walk[:1], *self.walk[-1:])}
        return ends.pop() if len(ends) == 1 and not self.through else ""


@dataclass(frozen=True, slots=True)
class Consumer:
    """What may act: a coil, an input, a lamp or load, with the states in which poles at both its ends make it act."""

    impedance: Impedance
    rated: Quantity | None
    acts: int

    @property
    def kind(self) -> str:
        """coil, input or load."""
        return self.impedance.kind


def consumers_of(model: Model, impedances: Iterable[Impedance]) -> Iterator[Consumer]:
    """All that may act, the plan's order."""
    rated = {e.ident: e.rated for e in model.elements if e.kind in ("coil", "load")}
    for i in impedances:
        device = model.plan.devices[i.device]
        if i.kind == "input" and device.kind == "drive":
            supply = section(device.values, "control", "supply")
            own, volts = f"{device.name} control supply", quantity(supply, "voltage")
            ends = (i.b, i.a) if i.b.mark == str(supply.get("plus")) else (i.a, i.b)
            yield Consumer(i, volts, model.supplies.acts(*ends, volts, own))
        elif i.ident in rated and (i.kind == "coil" or (i.kind == "load" and device.kind in LOAD_KINDS | {"custom"})):
            yield Consumer(i, rated[i.ident], model.supplies.energised(i.a, i.b, rated[i.ident]))


class Finder:
    """The search for sneak paths in one model, its states solved as they are asked for.

    Where the model is of a part of a plan, `whole` is the plan: current goes through the loads of all of it. `loads` are these
    loads, where the caller has them.
    """

    def __init__(self, model: Model, whole: Plan | None = None, loads: tuple[Impedance, ...] | None = None) -> None:
        self.model = model
        self.impedances = impedances_of(whole or model.plan) if loads is None else loads
        self._solved: dict[int, Solution] = {}
        mains = next((d for d in model.plan.devices.values() if d.kind == "mains"), None)
        self._frequency_hz = (value_of(quantity(mains.values, "frequency")) if mains else None) or 50.0

    def solution(self, number: int) -> Solution:
        """The voltages of one state."""
        if number not in self._solved:
            conducting = [e for e in self.model.elements if e.kind in CONDUCTS and has(self.model.conducts(e), number)]
            live = [s for s in self.model.sources if has(self.model.supplies.live[s.name], number)]
            self._solved[number] = solve_voltages(conducting, self.impedances, live, self._frequency_hz)
        return self._solved[number]

    def volts(self, number: int) -> dict[str, float]:
        """The voltage across every coil, lamp, load and winding in one state, by device, windings as `M1:U1-U2`."""
        solution, kinds = self.solution(number), {e.ident: e.kind for e in self.model.elements}
        shown = [i for i in self.impedances if i.kind == kinds.get(i.ident) and i.kind in ("coil", "load", "winding")]
        return {i.ident: solution.volts(i.a, i.b) for i in shown}

    def sneaks(self, domain: int, within: Mapping[Terminal, int] | None = None) -> Iterator[Sneak]:
        """The sneak paths in the states of `domain`; only of loads at the nets `within`, in the states given there for each."""
        soft = Soft(self.model, self.impedances, domain)
        net, near = self.model.network.net, self.impedances
        if within is not None:
            near = tuple(i for i in near if net(i.a) in within or net(i.b) in within)
        for consumer in consumers_of(self.model, near) if len(soft.rails) > 1 else ():
            i = consumer.impedance
            states = soft.between(i.a, i.b) & domain & ~consumer.acts
            if within is not None:
                states &= within.get(net(i.a), 0) | within.get(net(i.b), 0)
            if states:
                yield from _merged(self._of(consumer, soft, states))

    def _of(self, consumer: Consumer, soft: Soft, states: int) -> Iterator[Sneak]:
        i, part = consumer.impedance, self.model.parts[consumer.impedance.device]
        telling = soft.telling(soft.block((i.a, i.b), states, i.ident))
        inside = part.state(self.model.space, "on" if isinstance(part, NoVoltPart) else "in") if isinstance(part, CoilPart) else 0
        parts = classes(states, [*telling, inside], MOST_CLASSES)
        if parts is None:
            raise TooLarge(f"the voltages at {i.device}: more than {MOST_CLASSES} networks of loads around it")
        for here in parts:
            number = lowest(here)
            found = self._judge(consumer, here, number, bool(here & inside))
            if found is not None:
                yield found

    def _judge(self, consumer: Consumer, states: int, number: int, inside: bool) -> Sneak | None:
        i, solution = consumer.impedance, self.solution(number)
        current = consumer.rated.current if consumer.rated else None
        volts, rated = solution.volts(i.a, i.b, current), self._rated(consumer)
        dc, ac = solution.between(i.a, i.b)
        word = verdict(self._acts_like_a_coil(i), volts / rated, current or ("DC" if abs(dc) > abs(ac) else "AC"), inside)
        if word is None:
            return None
        walk, loads = current_walk(self.model, self.impedances, solution, number, i, self._frequency_hz)
        through, assumed = (dict.fromkeys(load.device for load in loads), dict.fromkeys(load.assumed for load in (i, *loads)))
        return Sneak(
            i.device, (i.a, i.b), i.kind, states, volts, rated, word, walk, tuple(through), tuple(a for a in assumed if a)
        )

    def _acts_like_a_coil(self, impedance: Impedance) -> bool:
        return impedance.kind != "load" or self.model.plan.devices[impedance.device].kind == "solenoid"

    def _rated(self, consumer: Consumer) -> float:
        """The rated voltage; where it is not stated, that of the first source that makes it act."""
        if consumer.rated is not None:
            return consumer.rated.value
        i = consumer.impedance
        for source in self.model.sources:
            if self.model.supplies.energised(i.a, i.b, None, (source.name,)):
                return max(volts for _, _, volts in source.pairs())
        return 24.0


def verdict(coil: bool, share: float, current: str, inside: bool) -> str | None:
    """What a share of the rated voltage does: to something with a coil, which may be in already, or to a lamp or load."""
    if not coil:
        return GLOWS if share >= GLOWS_FROM else None
    if share >= ACTS_FROM:
        return PULLS_IN
    if share < DROPS_OUT[current]:
        return None
    return MAY_HOLD if inside else UNCERTAIN


def _merged(sneaks: Iterable[Sneak]) -> Iterator[Sneak]:
    """One for each verdict and each set of loads on the way, with the most voltage of all its states."""
    groups: dict[tuple[str, frozenset[str]], list[Sneak]] = {}
    for sneak in sneaks:
        groups.setdefault((sneak.verdict, frozenset(sneak.through)), []).append(sneak)
    for same in groups.values():
        yield replace(max(same, key=lambda s: s.volts), states=sum_of(s.states for s in same))


def sneaks_of(behaviour: Behaviour, whole: Plan | None = None) -> tuple[Sneak, ...]:
    """The sneak paths of a plan, in every state that is reached or passed.

    Parameters
    ----------
    behaviour : Behaviour
        The behaviour, in which such paths energise nothing.
    whole : Plan, optional
        The whole plan, where the behaviour is of a part of it.

    Returns
    -------
    tuple of Sneak
        In the plan's order of coils, loads and inputs.

    Raises
    ------
    TooLarge
        There are too many different networks around one coil.
    """
    return tuple(Finder(behaviour.model, whole).sneaks(behaviour.passed))
