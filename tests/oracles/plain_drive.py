"""A drive: what its inputs are, what it has perceived of them, and what each perception does.

Bits: P fed, T torque, M permit, F, R, J the commands run-forward, run-reverse and jog, K a command locked until it goes off,
L the run held in (three-wire), D backwards, Y a run from the keypad. Setting L and D takes a step of its own, so that two
commands that come together may be seen one after the other or both at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tests.oracles.plain_network import Joints, Node
from tests.oracles.plain_sources import Rating, Source, quantity_of, value_of
from wirecheck.plan.model import Device, Plan

BITS = "PTMFRJKLDY"
STOPPING = ("run-permit", "enable", "coast-stop")

Bits = dict[str, bool]


@dataclass(frozen=True)
class Raw:
    """What stands at a drive's terminals, whether perceived or not."""

    signals: Mapping[str, bool]
    trip: bool
    reset: bool
    turned: bool


class Drive:
    """The parts of a drive's parameters that its behaviour needs."""

    def __init__(self, plan: Plan, device: Device) -> None:
        self.name = device.name
        self._device = device

        def get(path: str) -> object:
            return value_of(device, path)

        self.three_wire = get("control.mode") == "three-wire"
        self.sinking = get("control.logic") == "sinking"
        self.both = str(get("settings.both_directions") or "unknown")
        self.edge = self.three_wire and get("control.start_on") == "edge"
        self.inputs = [(str(mark), *_meaning(said)) for mark, said in _mapping(get("control.inputs")).items()]
        channels = get("control.safe_torque_off.channels")
        self.channels = [str(c) for c in channels] if isinstance(channels, list | tuple) else []
        self.channel_common = str(get("control.safe_torque_off.common") or get("control.supply.common") or "")
        self.plus = str(get("control.supply.plus") or "")
        self.common = str(get("control.supply.common") or "")
        self.rating = Rating.of(quantity_of(device, "control.supply.voltage"))
        sensor = get("control.thermistor")
        self.sensor = [str(m) for m in sensor] if isinstance(sensor, list | tuple) else []
        wired = {(t.device, t.mark) for w in plan.wires for t in (w.a, w.b)}
        self.sensor_wired = any((self.name, m) in wired for m in self.sensor)
        self.source = str(get("settings.command_source") or "both")
        directions = {does for _, does, _ in self.inputs} & {"run-forward", "run-reverse"}
        self.chooses = len(directions) == 2 and (self.three_wire or self.both != "stop")
        self._only_reverse = directions == {"run-reverse"}
        self.restarts_itself = get("settings.restarts_itself_after_fault") is not False
        self.waits = {
            when: get(f"settings.{key}") == "waits"
            for when, key in {
                "P": "on_power_up_with_run",
                "T": "after_safe_torque_off_with_run",
                "M": "after_permit_with_run",
                "reset": "after_trip_reset_with_run",
            }.items()
        }

    @property
    def has_keypad(self) -> bool:
        return self.source in ("keypad", "both")

    # What stands at the terminals

    def raw(self, joints: Joints, live: list[Source], sources: list[Source], is_fed: bool) -> Raw:
        """What stands at the terminals in one state."""
        active = {mark: self._input_active(joints, live, sources, mark) for mark, _, _ in self.inputs}

        def any_of(*meanings: str) -> bool:
            return any(active[mark] for mark, does, _ in self.inputs if does in meanings)

        def stopping(*meanings: str) -> bool:
            return any(active[mark] == (level == "closed") for mark, does, level in self.inputs if does in meanings)

        obeys = self.source != "keypad"
        hot = self.sensor_wired and not joints.joined(*((self.name, m) for m in self.sensor))
        signals = {
            "P": is_fed,
            "T": all(self._channel_active(joints, live, sources, c) for c in self.channels),
            "M": not stopping(*STOPPING),
            "F": obeys and any_of("run-forward"),
            "R": obeys and any_of("run-reverse"),
            "J": obeys and any_of("jog"),
        }
        return Raw(signals, stopping("external-trip") or hot, any_of("fault-reset"), any_of("direction"))

    def _loop(self, joints: Joints, live: list[Source], sources: list[Source], plus: Node, minus: Node, rating: Rating) -> bool:
        """Whether `plus` is joined to the + and `minus` to the - pole of one source. The drive's own supply need not be live."""
        own = [s for s in sources if s.device == self.name and s.what == "supply"]
        for source in own + [s for s in live if s.current == "DC" and s not in own]:
            high, low = sorted(source.poles, key=lambda p: -p.volts.real)
            fits = source in own or rating.fits(source, abs(high.volts - low.volts), 0.85, 1.30)
            if fits and joints.path(high.node, plus) and joints.path(minus, low.node) and joints.of(plus) != joints.of(minus):
                return True
        return False

    def _input_active(self, joints: Joints, live: list[Source], sources: list[Source], mark: str) -> bool:
        here = (self.name, mark)
        if self.sinking:
            return self._loop(joints, live, sources, (self.name, self.plus), here, self.rating)
        return self._loop(joints, live, sources, here, (self.name, self.common), self.rating)

    def _channel_active(self, joints: Joints, live: list[Source], sources: list[Source], mark: str) -> bool:
        return self._loop(joints, live, sources, (self.name, mark), (self.name, self.channel_common), Rating())

    # What it perceives

    def perceptions(self, bits: Bits, healthy: bool, raw: Raw) -> list[tuple[Bits, bool]]:
        """Each single step of perception that is open in this state: the bits after it, and whether it is healthy then."""
        found = [self._signal(dict(bits), healthy, name, value) for name, value in raw.signals.items() if bits[name] != value]
        if raw.trip and bits["P"] and healthy:
            found.append(self.fault(dict(bits)))
        if raw.reset and bits["P"] and not healthy and not raw.trip:
            found.append(self.heal(dict(bits)))
        if bits["K"] and not _commanded(bits):
            found.append((bits | {"K": False}, healthy))
        held = self._held(bits, healthy)
        return found + ([(held, healthy)] if held != bits else [])

    def fault(self, bits: Bits) -> tuple[Bits, bool]:
        """It trips."""
        if not self.restarts_itself:
            bits |= {"L": False, "Y": False}
        return bits, False

    def heal(self, bits: Bits) -> tuple[Bits, bool]:
        """A trip is reset."""
        lock = (self.waits["reset"] or self.edge) and not self.restarts_itself
        bits["K"] = bits["K"] or (lock and _commanded(bits))
        return bits, True

    def keypad(self, bits: Bits, healthy: bool, run: bool) -> Bits:
        """The keypad's run or stop is pressed. A drive that could not run now does not keep the run."""
        return bits | {"Y": run and _could(bits, healthy)}

    def _signal(self, bits: Bits, healthy: bool, name: str, value: bool) -> tuple[Bits, bool]:
        bits[name] = value
        if name == "P":
            if value:
                bits["K"] = _commanded(bits) and (self.waits["P"] or self.edge)
                return bits, True
            return bits | {"K": False, "L": False, "Y": False}, healthy
        if name in "TM":
            if not value:
                return bits | {"L": False, "Y": False}, healthy
            if bits["P"]:
                bits["K"] = bits["K"] or (_commanded(bits) and (self.waits[name] or self.edge))
        return bits, healthy

    def _held(self, bits: Bits, healthy: bool) -> Bits:
        """The run held in and the direction, as they follow from what is perceived."""
        forward, reverse = bits["F"], bits["R"]
        if not _could(bits, healthy) or bits["K"] or not (forward or reverse):
            return bits
        both = forward and reverse
        if self.three_wire and not (both and self.both == "stop"):
            bits = bits | {"L": True}
        return bits | {"D": reverse} if self.chooses and not both else bits

    # What follows from it

    def running(self, bits: Bits, healthy: bool) -> bool:
        """Whether its output is on."""
        return _could(bits, healthy) and (bits["Y"] or (bits["J"] and not bits["K"]) or self._directed(bits))

    def _directed(self, bits: Bits) -> bool:
        """Whether a run command with a direction is obeyed."""
        if self.three_wire or bits["K"]:
            return bits["L"] and not bits["K"]
        both = bits["F"] and bits["R"]
        return (bits["F"] or bits["R"]) and not (both and self.both == "stop")

    def reverse(self, bits: Bits, turned: bool) -> bool:
        """Whether a running drive turns its motor backwards; jog and keypad run forward."""
        both = bits["F"] and bits["R"]
        backwards = bits["D"] if self.three_wire or both else bits["R"]
        backwards = backwards or (self.three_wire and self._only_reverse)
        return (self._directed(bits) and backwards) != turned


def _could(bits: Bits, healthy: bool) -> bool:
    """Whether nothing but a command is missing for a run."""
    return bits["P"] and healthy and bits["T"] and bits["M"]


def _commanded(bits: Bits) -> bool:
    return bits["F"] or bits["R"] or bits["J"]


def _mapping(value: object) -> Mapping[str, object]:
    return value if isinstance(value, Mapping) else {}


def _meaning(said: object) -> tuple[str, str]:
    if isinstance(said, Mapping):
        return str(said.get("does", "unused")), str(said.get("acts_when", "open"))
    return str(said), "open"
