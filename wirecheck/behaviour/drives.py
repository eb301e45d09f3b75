"""A drive: what it notices of its inputs, what it remembers, when it runs and which way.

The names follow the description of behaviour in DEVELOPERS.md. Perceived bits: power, torque, permit, forward, reverse, jog.
Memory: `waiting` (a command that was already there is ignored until it has been off), `latched` and `backwards` (three-wire),
`keypad`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from wirecheck.behaviour.parts import EventRule, Part, setting
from wirecheck.behaviour.space import Move, Space, minus
from wirecheck.circuit import Element
from wirecheck.circuit.elements import marks_of, quantity, section
from wirecheck.circuit.sources import drive_feed
from wirecheck.plan.model import Device, Event, Terminal

if TYPE_CHECKING:
    from wirecheck.behaviour.model import Model

COMMANDS = {"run-forward": "forward", "run-reverse": "reverse", "jog": "jog"}
PERMITS = ("run-permit", "enable", "coast-stop")
NO_YES = ("no", "yes")


@dataclass(frozen=True, slots=True)
class Input:
    """An input terminal of a drive, what it does, and for a stopping function whether it stops when open."""

    mark: str
    does: str
    stops_when_open: bool = True


def inputs_of(device: Device) -> tuple[Input, ...]:
    """The inputs that a drive's control block lists."""
    found = []
    for mark, given in section(device.values, "control", "inputs").items():
        if isinstance(given, Mapping):
            found.append(Input(str(mark), str(given.get("does")), given.get("acts_when") != "closed"))
        else:
            found.append(Input(str(mark), str(given)))
    return tuple(found)


class Raw(NamedTuple):
    """What the circuit tells the drive, as sets of states."""

    power: int
    torque: int
    permit: int
    trip: int
    reset: int
    turned: int
    commands: Mapping[str, int]


class DrivePart(Part):
    """A drive with its perceived inputs and its memory."""

    def __init__(self, device: Device) -> None:
        super().__init__(device)
        self.inputs = inputs_of(device)
        control = section(device.values, "control")
        self.three_wire = control.get("mode") == "three-wire"
        self.source = setting(device, "command_source")
        does = {i.does for i in self.inputs}
        self.commands = tuple(c for word, c in COMMANDS.items() if word in does and self.source != "keypad")
        self.has_torque = bool(section(control, "safe_torque_off"))
        self.has_permit = bool(does & set(PERMITS))
        self.has_keypad = self.source != "terminals"
        self.both = setting(device, "both_directions")
        self.two_ways = "forward" in self.commands and "reverse" in self.commands
        self.restarts = setting(device, "restarts_itself_after_fault") is not False
        edge = self.three_wire and control.get("start_on") == "edge"
        self.waits = {
            key: edge or setting(device, f"after_{word}_with_run" if word != "power_up" else "on_power_up_with_run") == "waits"
            for key, word in {"power": "power_up", "torque": "safe_torque_off", "permit": "permit", "trip": "trip_reset"}.items()
        }

        self._first: dict[str, tuple[Space, tuple[int, ...], tuple[Move, ...]]] = {}
        self._wiring(control)

    def _wiring(self, control: Mapping[str, object]) -> None:
        """Which of its terminals tell it what."""
        at, supply, off = self.device.terminal, section(control, "supply"), section(control, "safe_torque_off")
        self._rated, self._own = quantity(supply, "voltage"), f"{self.name} control supply"
        self._plus, self._common = at(supply.get("plus")), at(supply.get("common"))
        self._sinking = control.get("logic") == "sinking"
        common = at(off.get("common") or supply.get("common"))
        self.torque_off = [(at(mark), common) for mark in marks_of(off, "channels", ())]
        self._sensor = [at(mark) for mark in marks_of(control, "thermistor", ())]
        self._feed = drive_feed(self.device)

    # what it remembers

    @property
    def _has_direction(self) -> bool:
        return self.two_ways and (self.three_wire or self.both != "stop")

    def variables(self) -> Mapping[str, Sequence[str]]:
        names = ["power", *self.commands]
        names += ["torque"] if self.has_torque else []
        names += ["permit"] if self.has_permit else []
        names += ["waiting"] if self.commands and (any(self.waits.values())) else []
        names += ["latched"] if self.three_wire and {"forward", "reverse"} & set(self.commands) else []
        names += ["backwards"] if self._has_direction else []
        names += ["keypad"] if self.has_keypad else []
        return {**super().variables(), **{f"{self.name} {n}": NO_YES for n in names}}

    def has(self, space: Space, bit: str) -> bool:
        """Whether the drive has this bit of memory."""
        return f"{self.name} {bit}" in space.variables

    def bit(self, space: Space, bit: str, missing: int = 0) -> int:
        """The states in which a bit is set; `missing` where the drive has no such bit."""
        return space.bit(f"{self.name} {bit}") if self.has(space, bit) else missing

    def low(self, space: Space, bit: str) -> int:
        """Where a bit stands in a state number."""
        return space.variables[f"{self.name} {bit}"].low

    # what it does

    def ready(self, space: Space) -> int:
        """Powered, healthy, torque and permit given: it would obey a new command."""
        good = self.bit(space, "power") & space.at(self.name, "healthy")
        return good & self.bit(space, "torque", space.full) & self.bit(space, "permit", space.full)

    def command(self, space: Space) -> int:
        """Any run command perceived."""
        found = 0
        for name in self.commands:
            found |= self.bit(space, name)
        return found

    def running(self, space: Space) -> int:
        """The states in which the output is live."""
        jog = self.bit(space, "jog") & ~self.bit(space, "waiting")
        return self.ready(space) & (self._by_terminals(space) | jog | self.bit(space, "keypad"))

    def _by_terminals(self, space: Space) -> int:
        """The states in which a run command at the terminals is obeyed, if the drive is ready."""
        forward, reverse = self.bit(space, "forward"), self.bit(space, "reverse")
        given = forward ^ reverse if self.both == "stop" else forward | reverse
        return (self.bit(space, "latched") if self.three_wire else given) & ~self.bit(space, "waiting")

    def backwards(self, model: Model) -> int:
        """The states in which, if it runs, it turns the output in reverse order."""
        space = model.space
        forward, reverse = self.bit(space, "forward"), self.bit(space, "reverse")
        remembered = self.bit(space, "backwards")
        if self.three_wire:
            found = remembered if self.two_ways else (space.full if self.commands == ("reverse",) else 0)
        elif self.two_ways and self.both != "stop":
            found = (reverse & ~forward) | (forward & reverse & remembered)
        else:
            found = reverse & ~forward
        found &= self._by_terminals(space)  # a jog, and a run from the keypad, is forward
        return found ^ model.raw(self).turned

    def state(self, space: Space, state: str) -> int:
        if state.startswith("not "):
            return space.full & ~self.state(space, state[4:])
        if state in ("running", "at-speed"):
            return self.running(space)
        power = self.bit(space, "power")
        if state == "fault":
            return power & space.at(self.name, "faulted")
        return power & space.at(self.name, "healthy") if state == "healthy" else 0

    # what it is told

    def input_ends(self, mark: str) -> tuple[Terminal, Terminal]:
        """The two terminals of an input, the one that must be joined to plus first."""
        own = self.device.terminal(mark)
        return (self._plus, own) if self._sinking else (own, self._common)

    def active(self, model: Model, mark: str) -> int:
        """The states in which an input acts."""
        own = self.device.terminal(mark)
        level = model.input_level(own)
        if level is not None:
            return model.space.full if level else 0
        return model.supplies.acts(*self.input_ends(mark), self._rated, self._own) | model.input_fed(own)

    def channel_active(self, model: Model, channel: Terminal, common: Terminal) -> int:
        """The states in which a torque-off channel lets the drive give torque."""
        return model.supplies.acts(channel, common, self._rated, self._own) | model.input_fed(channel)

    def raw(self, model: Model) -> Raw:
        """What the circuit gives the drive in every state."""
        full = model.space.full
        permit, trip, told = full, 0, dict.fromkeys((*self.commands, "fault-reset", "direction"), 0)
        for i in self.inputs:
            acts = self.active(model, i.mark)
            stops = full ^ acts if i.stops_when_open else acts
            if i.does in PERMITS:
                permit = minus(permit, stops)
            elif i.does == "external-trip":
                trip |= stops
            elif (word := COMMANDS.get(i.does, i.does)) in told:
                told[word] |= acts
        torque = full
        for end, common in self.torque_off:
            torque &= self.channel_active(model, end, common)
        if len(self._sensor) == 2 and any(map(model.is_wired, self._sensor)):
            trip |= full ^ model.network.joined(*self._sensor)
        power = model.supplies.fed(self._feed)
        return Raw(power, torque, permit, trip, told["fault-reset"], told["direction"], {c: told[c] for c in self.commands})

    def told(self, model: Model) -> Raw:
        return model.raw(self)

    # how it moves

    def perceptions(self, model: Model) -> list[Move]:
        space, raw = model.space, model.raw(self)
        once = self._worked_out_once
        found = [
            *once("power", space, (raw.power,), lambda: self._power(space, raw)),
            *once("returns", space, (raw.torque, raw.permit), lambda: self._returns(space, raw)),
            *once("trips", space, (raw.trip, raw.reset), lambda: self._trips(space, raw)),
            *once("remembers", space, (), lambda: self._remembers(space)),
        ]
        for name, told in raw.commands.items():
            found += once(name, space, (told,), partial(self._notices, space, name, told))
        return found

    def _notices(self, space: Space, name: str, told: int) -> list[Move]:
        return space.change(self.bit(space, name) ^ told, {self.low(space, name): told})

    def _worked_out_once(
        self, what: str, space: Space, told: tuple[int, ...], make: Callable[[], Iterable[Move]]
    ) -> Sequence[Move]:
        """The moves made of what the circuit tells; those of the first model of a space serve all that tell the same."""
        known = self._first.get(what)
        if known is not None and known[0] is space and known[1] == told:
            return known[2]
        moves = tuple(make())
        if known is None or known[0] is not space:
            self._first[what] = (space, told, moves)
        return moves

    def _cleared(self, space: Space, *names: str) -> dict[int, int]:
        return {self.low(space, name): 0 for name in names if self.has(space, name)}

    def _lock(self, space: Space, reason: str, when: int) -> dict[int, int]:
        """A command that is there already waits, where the setting says so."""
        if not self.has(space, "waiting") or not self.waits[reason]:
            return {}
        return {self.low(space, "waiting"): self.bit(space, "waiting") | (when & self.command(space))}

    def _power(self, space: Space, raw: Raw) -> Iterator[Move]:
        power, low = self.bit(space, "power"), self.low(space, "power")
        healthy = space.targets(self.name, 0)
        up = {low: space.full, **healthy, **self._cleared(space, "waiting"), **self._lock(space, "power", space.full)}
        yield from space.change(raw.power & ~power, up)
        yield from space.change(power & ~raw.power, {low: 0, **self._cleared(space, "waiting", "latched", "keypad")})

    def _returns(self, space: Space, raw: Raw) -> Iterator[Move]:
        """Torque and permit, given and taken."""
        for name, signal in (("torque", raw.torque), ("permit", raw.permit)):
            if self.has(space, name):
                bit, low = self.bit(space, name), self.low(space, name)
                yield from space.change(signal & ~bit, {low: space.full, **self._lock(space, name, self.bit(space, "power"))})
                yield from space.change(bit & ~signal, {low: 0, **self._cleared(space, "latched", "keypad")})

    def healthy_again(self, space: Space) -> dict[int, int]:
        """What a reset of a trip does."""
        lock = {} if self.restarts else self._lock(space, "trip", space.full)
        return {**space.targets(self.name, 0), **lock}

    def faulted(self, space: Space) -> dict[int, int]:
        """What a trip does."""
        return {**space.targets(self.name, 1), **({} if self.restarts else self._cleared(space, "latched", "keypad"))}

    def _trips(self, space: Space, raw: Raw) -> Iterator[Move]:
        power = self.bit(space, "power")
        yield from space.change(power & raw.trip & space.at(self.name, "healthy"), self.faulted(space))
        yield from space.change(power & raw.reset & ~raw.trip & space.at(self.name, "faulted"), self.healthy_again(space))

    def _remembers(self, space: Space) -> Iterator[Move]:
        if self.has(space, "waiting"):
            yield from space.change(self.bit(space, "waiting") & ~self.command(space), self._cleared(space, "waiting"))
        forward, reverse = self.bit(space, "forward"), self.bit(space, "reverse")
        able = self.ready(space) & ~self.bit(space, "waiting")
        way = {self.low(space, "backwards"): reverse & ~forward} if self._has_direction else {}
        one = forward ^ reverse
        if self.has(space, "latched"):
            yield from space.change(able & one, {self.low(space, "latched"): space.full, **way})
            if self.both != "stop":
                yield from space.change(able & forward & reverse, {self.low(space, "latched"): space.full})
        elif way:
            yield from space.change(able & one, way)

    def events(self, model: Model) -> list[EventRule]:
        space = model.space
        power = self.bit(space, "power")
        healthy, faulted = space.at(self.name, "healthy"), space.at(self.name, "faulted")
        rules = [
            ("faulted", space.change(power & healthy, self.faulted(space))),
            ("healthy", space.change(faulted, self.healthy_again(space))),
        ]
        if self.has_keypad:
            low = self.low(space, "keypad")
            rules += [
                ("keypad-run", space.change(self.ready(space), {low: space.full})),
                ("keypad-stop", space.change(space.full, {low: 0})),
            ]
        return [EventRule(Event(self.name, position), (tuple(moves),)) for position, moves in rules]

    def at_once(self, space: Space, element: Element) -> int:
        found = 0
        for state in element.closed_in or ():
            found |= self.state(space, state)
        return found
