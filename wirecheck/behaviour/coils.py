"""The devices with a coil and a memory: relays, contactors, timers, safety relays, thermistor relays, no-volt releases."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from wirecheck.behaviour.parts import EventRule, Part
from wirecheck.behaviour.space import Move, Space, minus, sum_of
from wirecheck.circuit import Element
from wirecheck.circuit.elements import coil_ends, coil_rating, marks_of
from wirecheck.plan.model import Device, Event, Terminal

if TYPE_CHECKING:
    from wirecheck.behaviour.model import Model

OUT, IN, GOING_IN, GOING_OUT = "out", "in", "going in", "going out"

PRESSING = "pressing"
"""The moment in which the start of a no-volt release goes down and closes its poles, whatever its coil does."""


class CoilPart(Part):
    """A device that is `out` or `in`. With a change-over contact it takes a moment between, with both halves open."""

    def __init__(self, device: Device) -> None:
        super().__init__(device)
        self.between = None  # what passes between positions is for hand-operated devices
        self.ends = (Terminal(self.name, coil_ends(device)[0]), Terminal(self.name, coil_ends(device)[1]))
        self.rated = coil_rating(device)
        self.three = device.kind in ("relay", "contactor") and any(c.changeover for c in device.contacts)

    def variables(self) -> Mapping[str, Sequence[str]]:
        codes = (OUT, GOING_IN, IN, GOING_OUT) if self.three else (OUT, IN)
        return {self.name: codes, **{k: v for k, v in super().variables().items() if k != self.name}}

    def state(self, space: Space, state: str) -> int:
        return space.at(self.name, state) if state in (OUT, IN) else 0

    def at_once(self, space: Space, element: Element) -> int:
        found = super().at_once(space, element)
        contact = element.contact
        if self.three and contact is not None and contact.changeover is None:  # the others stay as in the state that it leaves
            found |= space.at(self.name, GOING_IN) if OUT in contact.closed_in else 0
            found |= space.at(self.name, GOING_OUT) if IN in contact.closed_in else 0
        return found

    def wants_in(self, model: Model) -> int:
        """The states in which the coil is energised and nothing keeps the device from going in."""
        return self._energised(model) & ~self._blocked(model)

    def holds(self, model: Model) -> int:
        """The states in which the device, being in, stays in."""
        return self._energised(model) | model.held(self.name)

    def _energised(self, model: Model) -> int:
        return model.coil(self.name, *self.ends, self.rated)

    def told(self, model: Model) -> tuple[object, ...]:
        return (self._energised(model), model.held(self.name), model.stays_in(self.name))

    def _blocked(self, model: Model) -> int:
        """A mechanical interlock works both ways, whichever of the two names it."""
        blocked = 0
        for other in model.interlocks.get(self.name, ()):
            if other in model.space.variables:
                blocked |= model.space.full & ~model.space.at(other, OUT)
        return blocked

    def moves(self, model: Model) -> list[Move]:
        space, found = model.space, super().moves(model)
        wants, holds = self.wants_in(model), self.holds(model)
        if model.stays_in(self.name):
            holds = space.full
        steps = [(OUT, IN, wants), (IN, OUT, ~holds)]
        if self.three:
            steps = [(OUT, GOING_IN, wants), (GOING_IN, IN, wants), (GOING_IN, OUT, ~holds)]
            steps += [(IN, GOING_OUT, ~holds), (GOING_OUT, OUT, ~holds), (GOING_OUT, IN, holds)]
        for old, new, when in steps:
            found += self.into(space, space.at(self.name, old) & when, new)
        return found


class TimerPart(CoilPart):
    """A timer relay: contacts with a unit digit from 5 to 8 are delayed, the others instant."""

    def __init__(self, device: Device) -> None:
        super().__init__(device)
        self.off_delay = device.values.get("mode") == "off-delay"
        self.clock = f"{self.name} delayed"

    def variables(self) -> Mapping[str, Sequence[str]]:
        return {**super().variables(), self.clock: (OUT, IN)}

    def at_once(self, space: Space, element: Element) -> int:
        contact = element.contact
        if contact is None or not is_delayed(contact.name):
            return super().at_once(space, element)
        return sum_of(space.at(self.clock, s) for s in (OUT, IN) if s in contact.closed_in)

    def moves(self, model: Model) -> list[Move]:
        space, clock = model.space, model.space.variables[self.clock].low
        found = []
        for move in super().moves(model):
            coil = space.variables[self.name].low
            if coil not in move.bits:
                found.append(move)
            elif self.off_delay:  # going in takes the delayed contacts along, going out leaves them
                going_in = move.mask & space.at(self.name, OUT)
                found += [Move(m.mask, (*move.bits, *m.bits)) for m in space.change(going_in, {clock: space.full})]
                rest = move.mask & ~(going_in & space.at(self.clock, OUT))
                found += [Move(rest, move.bits)] if rest else []
            else:  # going out takes the delayed contacts along
                going_out = move.mask & space.at(self.name, IN) & space.at(self.clock, IN)
                found += [Move(going_out, (*move.bits, clock))] if going_out else []
                rest = minus(move.mask, going_out)
                found += [Move(rest, move.bits)] if rest else []
        return found

    def pending(self, model: Model) -> list[tuple[float, int, list[Move]]]:
        space = model.space
        coil, clock = (OUT, IN) if self.off_delay else (IN, OUT)
        mask = space.at(self.name, coil) & space.at(self.clock, clock)
        delay = self.device.values.get("delay")
        seconds = float(getattr(delay, "value", 0.0))
        return [*super().pending(model), (seconds, mask, space.assign(mask, self.clock, coil))]


def is_delayed(name: str) -> bool:
    """Whether a timer's contact `17-18` is one of its delayed ones (EN 50005: 5 to 8 are special, here delayed)."""
    return all(mark[-1:] in "5678" for mark in name.split("-"))


class ThermistorRelayPart(CoilPart):
    """In while supplied and the sensor is cold; with a manual reset a trip stays until the reset."""

    events_told = True

    def __init__(self, device: Device) -> None:
        super().__init__(device)
        self.manual = device.values.get("reset") == "manual"
        self.latch = f"{self.name} tripped"

    def variables(self) -> Mapping[str, Sequence[str]]:
        return {**super().variables(), **({self.latch: ("no", "yes")} if self.manual else {})}

    def _cold(self, model: Model) -> int:
        a, b = marks_of(self.device.values, "sensor", ("T1", "T2"))[:2]
        return model.network.joined(Terminal(self.name, a), Terminal(self.name, b))

    def told(self, model: Model) -> tuple[object, ...]:
        return (*super().told(model), self._cold(model))

    def wants_in(self, model: Model) -> int:
        latched = model.space.at(self.latch, "yes") if self.manual else 0
        return super().wants_in(model) & self._cold(model) & ~latched

    def holds(self, model: Model) -> int:
        latched = model.space.at(self.latch, "yes") if self.manual else 0
        return super().holds(model) & self._cold(model) & ~latched

    def moves(self, model: Model) -> list[Move]:
        found = super().moves(model)
        if self.manual:
            hot = super().wants_in(model) & ~self._cold(model)
            found = [Move(mask, move.bits) for move in found if (mask := move.mask & ~hot)]
            found += self._trip(model, hot)
        return found

    def _trip(self, model: Model, hot: int) -> list[Move]:
        """The trip drops it and is remembered in one, for it may cut its own supply; one that is stuck in only remembers."""
        space = model.space
        stuck = hot & space.at(self.name, IN) if model.stays_in(self.name) else 0
        dropping = self.into(space, hot & ~stuck, OUT, {space.variables[self.latch].low: space.full})
        return dropping + space.assign(stuck, self.latch, "yes")

    def events(self, model: Model) -> list[EventRule]:
        found = super().events(model)
        if self.manual:
            moves = model.space.assign(self._cold(model), self.latch, "no")
            found.append(EventRule(Event(self.name, "reset"), (tuple(moves),)))
        return found


READY, ARMED = READY_CODES = "ready", "armed"


class SafetyRelayPart(CoilPart):
    """Channels, a reset, and a memory that both channels have been open together; taken as free of faults inside.

    It is out, in, ready (out, and the reset takes it in) or, with a monitored reset, armed (ready, and the reset is pressed).
    One variable does for that: while it is in there is nothing to remember.
    """

    def __init__(self, device: Device) -> None:
        super().__init__(device)
        self.monitored = device.values.get("reset") == "monitored"
        given = device.values.get("channels")
        self.channels = [tuple(map(str, c)) for c in given] if isinstance(given, list | tuple) else []
        self.loop = marks_of(device.values, "reset_loop", ())

    def variables(self) -> Mapping[str, Sequence[str]]:
        codes = (OUT, IN, READY, ARMED) if self.monitored else (OUT, IN, READY)
        return {self.name: codes, **{k: v for k, v in super().variables().items() if k != self.name}}

    def state(self, space: Space, state: str) -> int:
        return minus(space.full, space.at(self.name, IN)) if state == OUT else super().state(space, state)

    def _channel(self, model: Model, marks: tuple[str, ...]) -> int:
        return model.network.joined(Terminal(self.name, marks[0]), Terminal(self.name, marks[1]))

    def told(self, model: Model) -> tuple[object, ...]:
        loops = [*self.channels, self.loop] if self.loop else self.channels
        return (*super().told(model), *(self._channel(model, marks) for marks in loops))

    def moves(self, model: Model) -> list[Move]:
        space = model.space
        powered = super().holds(model)
        channels = [self._channel(model, marks) for marks in self.channels]
        closed, none = space.full, space.full
        for channel in channels:
            closed &= channel
            none &= ~channel
        loop = self._channel(model, self.loop) if self.loop else space.full
        healthy = powered & closed
        armed = space.at(self.name, ARMED) if self.monitored else 0
        ready = space.at(self.name, READY) | armed
        start = healthy & ready
        found = Part.moves(self, model)
        if self.monitored:
            found += space.assign(start & loop, self.name, ARMED)
            found += self.into(space, start & armed & ~loop, IN)
        else:
            found += self.into(space, start & loop, IN)
        again = {space.variables[self.name].low + 1: ready | minus(space.full, powered) | (none if channels else 0)}
        return found + self.into(space, minus(space.full, healthy), OUT, again)  # in one: it may cut its own supply, or short it


class NoVoltPart(CoilPart):
    """A no-volt release with its own start and stop: its coil alone keeps its poles closed, but for the moment of pressing start.

    Start that stays held closes nothing: it must be let go and pressed again.
    """

    def __init__(self, device: Device) -> None:
        super().__init__(device)
        self.latch = f"{self.name} latched"

    def variables(self) -> Mapping[str, Sequence[str]]:
        return {self.name: (*self.device.positions, PRESSING), self.latch: (OUT, IN)}

    def state(self, space: Space, state: str) -> int:
        closed = space.at(self.name, PRESSING) | (space.at(self.latch, IN) & ~space.at(self.name, "stop"))
        return {"on": closed, "off": space.full & ~closed}.get(state, 0)

    def _stages(self, space: Space, to: str) -> tuple[tuple[Move, ...], ...]:
        if to != "start":
            return super()._stages(space, to)
        others = (p for p in self.device.positions if p != to)
        down = tuple(m for p in others for m in space.assign(space.at(self.name, p), self.name, PRESSING))
        return (down, tuple(space.assign(space.at(self.name, PRESSING), self.name, to)))

    def moves(self, model: Model) -> list[Move]:
        space = model.space
        energised = CoilPart.holds(self, model)
        found = space.assign(space.at(self.name, PRESSING) & energised, self.latch, IN)
        found += space.assign(space.full & ~energised | space.at(self.name, "stop"), self.latch, OUT)
        return found
