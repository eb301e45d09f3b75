"""The behaviour of a plan in which sneak paths act: coils held in or pulled in through other loads, inputs that act so."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.reach import Reach
from wirecheck.behaviour.sneaks import MAY_HOLD, PULLS_IN, UNCERTAIN, Finder, Sneak
from wirecheck.plan.model import Plan, Quantity, Terminal

MOST_ROUNDS = 12


class SneakModel(Model):
    """The model of a plan in which some coils and inputs act in more states than those with poles at both their ends.

    It shares everything with the plain one but what moves.

    Parameters
    ----------
    plain : Model
        The model in which voltage through other loads does nothing.
    pulls, holds : mapping of device to states
        Where coils pull in, and where they stay in.
    inputs : mapping of terminal to states
        Where inputs of drives act.
    """

    def __init__(self, plain: Model, pulls: dict[str, int], holds: dict[str, int], inputs: dict[Terminal, int]) -> None:
        self.plan, self.dying, self.tripping = plain.plan, plain.dying, True
        self.parts, self.elements, self.sources, self.space = plain.parts, plain.elements, plain.sources, plain.space
        self.fits = plain.fits
        self.interlocks, self.network, self.supplies = plain.interlocks, plain.network, plain.supplies
        self._truths = plain._truths
        self._pulls, self._holds, self._inputs = pulls, holds, inputs

    def coil(self, device: str, a: Terminal, b: Terminal, rated: Quantity | None) -> int:
        return super().coil(device, a, b, rated) | self._pulls.get(device, 0)

    def held(self, device: str) -> int:
        return self._holds.get(device, 0)

    def input_fed(self, terminal: Terminal) -> int:
        return self._inputs.get(terminal, 0)


class Followed:
    """A plan's behaviour with its sneak paths followed; with `uncertain_pulls` a coil that may pull in does.

    Attributes
    ----------
    behaviour : Behaviour
        What then happens.
    acts : mapping of device to states
        Where a coil or input acts by a sneak path alone.

    Notes
    -----
    A sneak path leads to states that are not reached without it, and these may have sneak paths of their own: the search goes on
    until no new state appears.
    """

    def __init__(self, plain: Behaviour, uncertain_pulls: bool, whole: Plan | None = None) -> None:
        self._finder, self._pulling = Finder(plain.model, whole), {PULLS_IN, UNCERTAIN} if uncertain_pulls else {PULLS_IN}
        self._pulls: dict[str, int] = {}
        self._holds: dict[str, int] = {}
        self._inputs: dict[Terminal, int] = {}
        self.behaviour = plain
        seen = 0
        for _ in range(MOST_ROUNDS):
            fresh = self.behaviour.passed & ~seen
            if not fresh or not self._take(self._finder.sneaks(fresh)):
                break
            seen |= fresh
            model = SneakModel(plain.model, self._pulls, self._holds, self._inputs)
            self.behaviour = Behaviour(plain.plan, plain.subjects, plain.free, Reach(model))

    def _take(self, sneaks: Iterable[Sneak]) -> bool:
        """Take in what has been found; whether anything moves by it."""
        moved = False
        for sneak in sneaks:
            if sneak.kind == "load":
                continue
            if sneak.kind == "input" and sneak.verdict in self._pulling:
                end = sneak.ends[0]
                self._inputs[end] = self._inputs.get(end, 0) | sneak.states
            elif sneak.kind == "coil":
                self._holds[sneak.device] = self._holds.get(sneak.device, 0) | sneak.states
                if sneak.verdict in self._pulling:
                    self._pulls[sneak.device] = self._pulls.get(sneak.device, 0) | sneak.states
            moved = moved or sneak.verdict in {*self._pulling, MAY_HOLD}
        return moved

    def acts(self, device: str) -> int:
        """The states at rest in which a coil is in, or an input acts, by a sneak path alone."""
        inputs = 0
        for end, states in self._inputs.items():
            inputs |= states if end.device == device else 0
        coil = self.behaviour.within(device) & (self._holds.get(device, 0) | self._pulls.get(device, 0))
        return (coil | inputs) & self.behaviour.reached
