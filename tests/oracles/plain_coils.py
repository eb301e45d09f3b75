"""Devices that move by themselves: what they consume, and the one step they want to take in a state."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tests.oracles.plain_contacts import COIL_KINDS, PASSING, Values, custom_elements
from tests.oracles.plain_network import Node
from tests.oracles.plain_sources import Rating, quantity_of, value_of
from wirecheck.plan.model import Device, Plan, Quantity

LOADS = ("lamp", "buzzer", "solenoid", "fan", "pump", "heater", "load")

Changes = Mapping[str, str]
Joined = Callable[[Node, Node], bool]


@dataclass(frozen=True)
class Consumer:
    """A coil, lamp or load between two or more terminals."""

    device: str
    ends: tuple[Node, ...]
    rating: Rating
    coil: bool


def _ends(device: Device, key: str, default: tuple[str, ...]) -> tuple[Node, ...]:
    stated = value_of(device, key)
    marks = tuple(str(m) for m in stated) if isinstance(stated, list | tuple) and stated else default
    return tuple((device.name, m) for m in marks)


def consumers_of(plan: Plan) -> dict[str, Consumer]:
    """All coils, lamps and loads by device."""
    found = {}
    for device in plan.devices.values():
        name, rated = device.name, quantity_of(device, "coil") or quantity_of(device, "voltage")
        if device.kind == "safety-relay":
            found[name] = Consumer(name, _ends(device, "supply", ("A1", "A2")), Rating.of(rated), True)
        elif device.kind in (*COIL_KINDS, "no-volt-release"):
            found[name] = Consumer(name, _ends(device, "", ("A1", "A2")), Rating.of(rated), True)
        elif device.kind in LOADS:
            found[name] = Consumer(name, _ends(device, "terminals", ("X1", "X2")), Rating.of(rated), False)
        for what in ("load", "coil"):
            for element in custom_elements(device, what):
                found[name] = _custom(device, element, what)
    return found


def _custom(device: Device, element: Mapping[str, object], what: str) -> Consumer:
    a, b = str(element[what]).split("-")
    volts = element.get("voltage")
    rating = Rating.of(volts if isinstance(volts, Quantity) else None)
    return Consumer(device.name, ((device.name, a), (device.name, b)), rating, what == "coil")


class CoilDevice:
    """A device with a coil; `wants` gives the changes of its next step, empty where it rests."""

    def __init__(self, plan: Plan, device: Device) -> None:
        self.name, self.kind, self._device = device.name, device.kind, device
        self._moving = device.kind in PASSING and any(c.changeover for c in device.contacts)
        self._reset = str(device.values.get("reset") or "automatic")
        self._opposed = [n for n in plan.devices if self._interlocked(plan, n)]
        self._channels = self._pairs("channels")
        self._loop = _ends(device, "reset_loop", ()) if device.values.get("reset_loop") else None
        self._sensor = _ends(device, "sensor", ("T1", "T2"))

    def _interlocked(self, plan: Plan, other: str) -> bool:
        """Whether a mechanical interlock joins the two; it works both ways, whichever of them names it."""
        named = plan.devices[other].values.get("mechanical_interlock")
        return self._device.values.get("mechanical_interlock") == other or (named is not None and named == self.name)

    def _pairs(self, key: str) -> list[tuple[Node, ...]]:
        stated = self._device.values.get(key)
        return [tuple((self.name, str(m)) for m in pair) for pair in stated] if isinstance(stated, list | tuple) else []

    def memory(self) -> list[str]:
        """The bits it remembers besides where its armature is."""
        return {
            "thermistor-relay": [f"{self.name}.latched"],
            "safety-relay": [f"{self.name}.ready", f"{self.name}.armed"],
            "no-volt-release": [f"{self.name}.latch"],
        }.get(self.kind, [])

    def wants(self, at: Values, energised: bool, joined: Joined) -> Changes:
        """The next step."""
        if self.kind == "no-volt-release":
            return self._no_volt(at, energised)
        if self.kind == "thermistor-relay":
            return self._thermistor(at, energised, joined)
        if self.kind == "safety-relay":
            return self._safety(at, energised, joined)
        return self._armature(at, energised and not self._blocked(at))

    def _blocked(self, at: Values) -> bool:
        return at[self.name] in ("out", "up") and any(at[other] != "out" for other in self._opposed)

    def _armature(self, at: Values, pulled: bool) -> dict[str, str]:
        here = at[self.name]
        if self._moving:
            there = (
                {"out": "up", "up": "in", "down": "in", "in": "in"}
                if pulled
                else {"in": "down", "down": "out", "up": "out", "out": "out"}
            )
        else:
            there = {"out": "in", "in": "in"} if pulled else {"in": "out", "out": "out"}
        return {self.name: there[here]} if there[here] != here else {}

    def _no_volt(self, at: Values, energised: bool) -> Changes:
        """It lets go of itself, and comes in by hand only: see `pressed`."""
        bit = f"{self.name}.latch"
        return {bit: "0"} if at[bit] == "1" and (at[self.name] == "stop" or not energised) else {}

    def pressed(self, energised: bool) -> Changes:
        """What the start of a no-volt release leaves behind when it is down, its coil being energised at that moment or not."""
        return {f"{self.name}.latch": "1" if energised else "0"}

    def _thermistor(self, at: Values, energised: bool, joined: Joined) -> Changes:
        bit = f"{self.name}.latched"
        cold = joined(*self._sensor)
        changes = {}
        latched = at[bit] == "1"
        if self._reset == "manual" and energised and not cold and not latched:
            changes, latched = {bit: "1"}, True
        return changes | self._armature(at, energised and cold and not latched)

    def reset(self, at: Values, joined: Joined) -> Changes:
        """What the event reset of a thermistor relay does."""
        return {f"{self.name}.latched": "0"} if joined(*self._sensor) else {}

    def _safety(self, at: Values, energised: bool, joined: Joined) -> Changes:
        ready, armed = at[f"{self.name}.ready"] == "1", at[f"{self.name}.armed"] == "1"
        closed = [joined(*pair) for pair in self._channels]
        loop = joined(*self._loop) if self._loop else True
        here = at[self.name]
        if not energised or not all(closed):
            ready = ready or not energised or not any(closed)
            armed = False
            moves = self._armature(at, False)
        elif here != "out":
            moves = self._armature(at, here != "down")
        else:
            moves = self._armature(at, ready and (armed and not loop if self._reset == "monitored" else loop))
            armed = self._reset == "monitored" and ready and (armed or loop)
        if moves.get(self.name) == "in":
            ready = armed = False
        after = {f"{self.name}.ready": "1" if ready else "0", f"{self.name}.armed": "1" if armed else "0"}
        return {name: value for name, value in (after | moves).items() if at[name] != value}
