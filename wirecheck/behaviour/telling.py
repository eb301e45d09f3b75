"""A single state in words: what every device does, what is live, which loads act, what the motors do, and at which voltages."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

from wirecheck.behaviour.coils import IN, CoilPart, NoVoltPart, ThermistorRelayPart
from wirecheck.behaviour.drives import DrivePart
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.motion import motion_of
from wirecheck.behaviour.one_state import StateModel
from wirecheck.behaviour.single import Single
from wirecheck.behaviour.sneaks import MAY_HOLD, PULLS_IN, UNCERTAIN, Sneak
from wirecheck.behaviour.supplies import ACTS_FROM, ACTS_TO
from wirecheck.circuit.elements import LOAD_KINDS
from wirecheck.plan.model import Event

Aspect = tuple[str, str]
"""A device and what of it is told; an empty second word is its position, or whether it is in."""

SELF, POWER, RUN, LAMP, DEAD, TRIPPED = "", "power", "run", "lamp", "dead", "tripped"

SENTENCES: Mapping[tuple[str, str], str] = {
    (SELF, "in"): "pulls in",
    (SELF, "out"): "drops out",
    (SELF, "on"): "is on",
    (SELF, "off"): "is off",
    (SELF, "blown"): "blows",
    (SELF, "tripped"): "trips",
    (SELF, "faulted"): "trips on a fault",
    (SELF, "healthy"): "is healthy again",
    (POWER, "yes"): "has power",
    (POWER, "no"): "has no power",
    (RUN, "runs"): "runs",
    (RUN, "waits"): "waits for a fresh run command",
    (RUN, "stopped"): "is stopped",
    (LAMP, "on"): "comes on",
    (LAMP, "off"): "goes off",
    (DEAD, "yes"): "is lost to a short that nothing clears",
    (DEAD, "no"): "can give voltage again",
    (TRIPPED, "yes"): "waits for its reset",
    (TRIPPED, "no"): "is reset",
}

TOO_MUCH = "far more than it is made for"


class Told:
    """What can be told of one state."""

    def __init__(self, single: Single, number: int) -> None:
        self.single, self.number = single, number
        self.codes = single.decode(number)

    @cached_property
    def _model(self) -> StateModel:
        return self.single.model(self.number)

    @cached_property
    def _through(self) -> tuple[Sneak, ...]:
        """What gets voltage through other loads."""
        return tuple(self._model.finder.sneaks(1))

    @cached_property
    def live(self) -> tuple[str, ...]:
        """The sources that are live."""
        return tuple(name for name, states in self._model.supplies.live.items() if states)

    @cached_property
    def aspects(self) -> Mapping[Aspect, str]:
        """All that is told of the devices, each in a word."""
        return dict(self._aspects())

    def _aspects(self) -> Iterator[tuple[Aspect, str]]:
        space = self._model.space
        for name, part in self.single.parts.items():
            if isinstance(part, NoVoltPart):
                yield (name, SELF), "on" if part.state(space, "on") else "off"
            elif isinstance(part, CoilPart):
                yield (name, SELF), "in" if part.state(space, IN) else "out"
            elif name in self.codes:
                yield (name, SELF), self.codes[name]
            if isinstance(part, DrivePart):
                yield (name, POWER), self.codes[f"{name} power"]
                waits = part.bit(space, "waiting")
                yield (name, RUN), "runs" if part.running(space) else "waits" if waits else "stopped"
            if isinstance(part, ThermistorRelayPart) and part.manual:
                yield (name, TRIPPED), self.codes[part.latch]
        for source in self.single.sources:
            if source.name in self.single.dying:
                yield (source.name, DEAD), self.codes[Model.dead(source.name)]
        acting = set(self._acting_loads())
        for e in self.single.elements:
            if e.kind == "load" and self._is_consumer(str(e.device)):
                yield (e.ident, LAMP), "on" if e.ident in acting else "off"

    def _is_consumer(self, device: str) -> bool:
        return self.single.plan.devices[device].kind in LOAD_KINDS | {"custom"}

    def _acting_loads(self) -> Iterator[str]:
        """Lamps and loads that get their voltage by contacts alone, or enough of it through other loads."""
        through = {s.ends for s in self._through if s.kind == "load" and ACTS_FROM <= s.share <= ACTS_TO}
        for e in self.single.elements:
            if e.kind == "load" and ((e.a, e.b) in through or self._model.supplies.energised(e.a, e.b, e.rated)):
                yield e.ident

    @cached_property
    def coils(self) -> tuple[str, ...]:
        """The coils that are in."""
        every = (e for e in self.single.elements if e.kind == "coil")
        return tuple(e.ident for e in every if self.aspects[str(e.device), SELF] in ("in", "on"))

    @cached_property
    def loads(self) -> tuple[str, ...]:
        """The lamps and loads that act."""
        return tuple(name for (name, aspect), word in self.aspects.items() if aspect == LAMP and word == "on")

    @cached_property
    def motion(self) -> Mapping[str, str]:
        """What every motor does: forward, reverse or stopped."""
        motions = {d.name: motion_of(self._model, d, 1) for d in self.single.plan.devices.values() if d.kind == "motor"}
        return {name: "forward" if m.forward else "reverse" if m.reverse else "stopped" for name, m in motions.items()}

    @cached_property
    def volts(self) -> Mapping[str, float]:
        """The voltage across every coil, load and winding."""
        solution = self._model.finder.solution(0)
        shown = (e for e in self.single.elements if e.kind in ("coil", "load", "winding"))
        return {e.ident: round(solution.volts(e.a, e.b), 1) for e in shown}

    def notes(self) -> Iterator[str]:
        """What else there is to say: delays that run, and voltages that come through other loads."""
        for name, part in self.single.parts.items():
            if any(mask for _, mask, _ in part.pending(self._model)):
                yield f"the delay of {name} is running; {name}=elapsed ends it"
        for sneak in self._through:
            yield in_words(sneak)


def in_words(sneak: Sneak) -> str:
    """A voltage that comes through other loads."""
    loads = " and ".join(sneak.through) or "two supplies that meet"
    name = str(sneak.ends[0]) if sneak.kind == "input" else sneak.device
    outcome = {
        PULLS_IN: "and acts",
        UNCERTAIN: "and may act or not: both are followed",
        MAY_HOLD: "and may stay in or drop out: both are followed",
    }.get(sneak.verdict, "too little to act" if sneak.share < ACTS_FROM else "and acts" if sneak.share <= ACTS_TO else TOO_MUCH)
    return f"{name} gets {sneak.volts:.1f} V of {sneak.rated:g} V through {loads}, {outcome}"


def changes(before: Told, now: Told, event: Event | None) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What is different between two states: the devices that moved, and all of it in sentences.

    The device that was operated is left out where it stands as it was put.
    """
    moved, sentences = [], []
    for (name, aspect), word in now.aspects.items():
        put = event is not None and aspect == SELF and (name, word) == event
        if word != before.aspects.get((name, aspect)) and not put:
            moved += [name] if aspect == SELF else []
            sentences.append(f"{name} {SENTENCES.get((aspect, word), f'goes to {word}')}")
    return tuple(moved), tuple(sentences)
