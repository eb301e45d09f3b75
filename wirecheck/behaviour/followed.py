"""The behaviour of a plan in which sneak paths act: coils held in or pulled in through other loads, inputs that act so."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from functools import partial

from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultedBehaviour, FaultedModel, FaultSet
from wirecheck.behaviour.faults import Fault
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.reach import Reach
from wirecheck.behaviour.sneaks import MAY_HOLD, PULLS_IN, UNCERTAIN, Finder, Sneak
from wirecheck.circuit.impedances import Impedance
from wirecheck.errors import TooLarge
from wirecheck.plan.model import Plan, Quantity, Terminal

MOST_ROUNDS = 12
"""So often what acts by a sneak path may lead to further ones. Each round adds states, so that in practice two or three do."""

Sort = tuple[str, str, frozenset[str]]
"""What is told of a sneak path but once: the device, the verdict, and the loads on the way."""


class Acting:
    """Where coils and inputs act by voltage through other loads, as far as that has been found.

    With `uncertain_pulls` a coil or input that may act at its voltage does.
    """

    def __init__(self, uncertain_pulls: bool) -> None:
        self.pulling = {PULLS_IN, UNCERTAIN} if uncertain_pulls else {PULLS_IN}
        self.pulls: dict[str, int] = {}
        self.holds: dict[str, int] = {}
        self.inputs: dict[Terminal, int] = {}
        self.moved = False

    def take(self, sneaks: Iterable[Sneak]) -> bool:
        """Take in what has been found; whether anything moves by it."""
        moved = False
        for sneak in sneaks:
            if sneak.kind == "load":
                continue
            if sneak.kind == "input" and sneak.verdict in self.pulling:
                end = sneak.ends[0]
                self.inputs[end] = self.inputs.get(end, 0) | sneak.states
            elif sneak.kind == "coil":
                self.holds[sneak.device] = self.holds.get(sneak.device, 0) | sneak.states
                if sneak.verdict in self.pulling:
                    self.pulls[sneak.device] = self.pulls.get(sneak.device, 0) | sneak.states
            moved = moved or sneak.verdict in {*self.pulling, MAY_HOLD}
        self.moved = self.moved or moved
        return moved

    def at(self, b: Behaviour, device: str) -> int:
        """The states at rest in which a coil is in, or an input acts, by a sneak path alone."""
        inputs = 0
        for end, states in self.inputs.items():
            inputs |= states if end.device == device else 0
        coil = b.within(device) & (self.holds.get(device, 0) | self.pulls.get(device, 0))
        return (coil | inputs) & b.reached


class ThroughModel(Model):
    """A model in which some coils and inputs act in more states than those with poles at both their ends."""

    through: Acting

    def coil(self, device: str, a: Terminal, b: Terminal, rated: Quantity | None) -> int:
        return super().coil(device, a, b, rated) | self.through.pulls.get(device, 0)

    def held(self, device: str) -> int:
        return self.through.holds.get(device, 0)

    def input_fed(self, terminal: Terminal) -> int:
        return self.through.inputs.get(terminal, 0)


class SneakModel(ThroughModel):
    """The model of a plan in which sneak paths act; it shares everything with the plain one but what moves.

    Parameters
    ----------
    plain : Model
        The model in which voltage through other loads does nothing.
    through : Acting
        What acts by such voltage.
    """

    def __init__(self, plain: Model, through: Acting) -> None:
        self.plan, self.dying, self.tripping = plain.plan, plain.dying, True
        self.parts, self.elements, self.sources, self.space = plain.parts, plain.elements, plain.sources, plain.space
        self.fits = plain.fits
        self.interlocks, self.network, self.supplies = plain.interlocks, plain.network, plain.supplies
        self._truths = plain._truths
        self.through = through


class SneakFaultedModel(ThroughModel, FaultedModel):
    """The model of a plan with a fault, in which sneak paths act."""

    def __init__(self, plain: FaultedModel, through: Acting) -> None:
        self.through = through
        super().__init__(plain.healthy, plain.fault)


class Followed:
    """A plan's behaviour with its sneak paths followed; with `uncertain_pulls` a coil that may pull in does.

    Attributes
    ----------
    behaviour : Behaviour
        What then happens.

    Notes
    -----
    A sneak path leads to states that are not reached without it, and these may have sneak paths of their own: the search goes on
    until no new state appears.

    Raises
    ------
    TooLarge
        There are too many different networks around one coil, or one sneak path leads to another one too often.
    """

    def __init__(self, plain: Behaviour, uncertain_pulls: bool, whole: Plan | None = None) -> None:
        finder, self._acting = Finder(plain.model, whole), Acting(uncertain_pulls)
        self.behaviour = plain
        seen = 0
        for _ in range(MOST_ROUNDS):
            fresh = self.behaviour.passed & ~seen
            if not fresh or not self._acting.take(finder.sneaks(fresh)):
                return
            seen |= fresh
            self.behaviour = Behaviour(plain.plan, plain.subjects, plain.free, Reach(SneakModel(plain.model, self._acting)))
        if self.behaviour.passed & ~seen:
            raise _too_often(plain.plan)

    def acts(self, device: str) -> int:
        """The states at rest in which a coil is in, or an input acts, by a sneak path alone."""
        return self._acting.at(self.behaviour, device)


class FollowedFault:
    """A plan's behaviour with a fault, and with the sneak paths followed that only the fault brings about.

    Parameters
    ----------
    faults : FaultSet
        The faulted models of one view.
    fault : Fault
        The fault.
    within : mapping of net to states
        The islands that the fault makes others.
    loads : sequence of Impedance
        All that takes current.
    mixed : set
        The states in which rails meet over loads without any fault. Where they are reached with the fault alone, they count too.
    known : collection
        The sneak paths that are there without any fault: these are told by themselves and do nothing here.
    uncertain_pulls : bool
        Whether a coil that may pull in does.

    Attributes
    ----------
    sneaks : list of Sneak
        What gets voltage through other loads by the fault.
    from_start, any_time : FaultedBehaviour
        What then happens, with the fault there from the start or coming at any moment.
    """

    def __init__(
        self,
        faults: FaultSet,
        fault: Fault,
        within: Mapping[Terminal, int],
        loads: Iterable[Impedance],
        mixed: int = 0,
        known: Collection[Sort] = frozenset(),
        uncertain_pulls: bool = False,
    ) -> None:
        self.acting, self.sneaks, plain = Acting(uncertain_pulls), list[Sneak](), faults.model(fault)
        self.finder = Finder(plain, loads=tuple(i for i in loads if i.kind != "coil" or i.device not in fault.coils))
        again = partial(FollowedFault, faults, fault, within, loads, mixed, known, uncertain_pulls)
        self.from_start = faults.behaviour(plain, from_start=True)
        self.any_time = faults.behaviour(plain, from_start=False, other=self.from_start)
        seen = 0
        for _ in range(MOST_ROUNDS):
            fresh = (self.from_start.passed | self.any_time.passed) & ~seen
            near = _looked_at(within, plain, self.finder.impedances, fresh & ~faults.healthy.passed & mixed)
            found = [s for s in self.finder.sneaks(fresh, near) if sort_of(s) not in known] if fresh and near else []
            self.sneaks += found
            if not self.acting.take(found):
                return
            seen |= fresh
            model = SneakFaultedModel(plain, self.acting)
            self.from_start = FaultedBehaviour(faults.healthy, model, from_start=True)
            self.any_time = FaultedBehaviour(faults.healthy, model, from_start=False)
            self.from_start.again, self.any_time.again = (lambda: again().from_start), (lambda: again().any_time)
        if (self.from_start.passed | self.any_time.passed) & ~seen:
            raise _too_often(plain.plan)


def _looked_at(
    within: Mapping[Terminal, int], plain: FaultedModel, loads: Iterable[Impedance], fresh: int
) -> Mapping[Terminal, int]:
    """The islands that are looked at: what the fault has made others, and in the states `fresh` all of them."""
    if not fresh:
        return within
    nets = {plain.network.net(end) for load in loads for end in (load.a, load.b)}
    return {net: within.get(net, 0) | fresh for net in nets}


def sort_of(sneak: Sneak) -> Sort:
    """What tells a sneak path from another one."""
    return (sneak.device, sneak.verdict, frozenset(sneak.through))


def _too_often(plan: Plan) -> TooLarge:
    return TooLarge(f"the sneak paths of {plan.machine.name}: each of {MOST_ROUNDS} leads to a further one")
