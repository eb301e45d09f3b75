"""What is taken for granted where a plan is silent: the worst case, listed so that the reader can state it instead.

The worst cases themselves stand with the parameters of the kinds (`worst`). Here is when each of them matters.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from wirecheck.kinds import Parameter
from wirecheck.plan.devices import Read
from wirecheck.plan.functions import TURNING_LOADS
from wirecheck.plan.model import Device, Function, Wire

RUN_INPUTS = ("run-forward", "run-reverse", "jog")
PERMITS = ("run-permit", "enable", "coast-stop")
STOPPING = (*PERMITS, "external-trip")
"""Inputs that stop the motor at one of their two levels."""

Matters = Callable[["Drive"], bool]


def assumptions(devices: Mapping[str, Read], wires: Sequence[Wire]) -> tuple[str, ...]:
    """Every worst case that is assumed for the devices, one line each, in the plan's order."""
    wired = {(t.device, t.mark) for wire in wires for t in (wire.a, wire.b)}
    found: list[str] = []
    for name, read in devices.items():
        if read.kind.name == "drive":
            found += _of_drive(Drive(read.device, frozenset(mark for device, mark in wired if device == name)), read)
        else:
            missing = _missing(read.kind.parameters, read.device.values)
            found += [_line(name, *pair) for path, pair in missing if not _said_elsewhere(path, read.device)]
    return tuple(found)


def _line(name: str, key: str, worst: str) -> str:
    return f"{name} {key}: {worst} (not stated in the plan)"


def _missing(
    parameters: Mapping[str, Parameter], values: Mapping[str, object], base: str = ""
) -> Iterator[tuple[str, tuple[str, str]]]:
    """The path, key and worst case of every parameter that has a worst case and no value."""
    for key, parameter in parameters.items():
        if parameter.worst and key not in values:
            yield base + key, (key, parameter.worst)
        if parameter.keys:
            inner = values.get(key)
            yield from _missing(parameter.keys, inner if isinstance(inner, Mapping) else {}, f"{base}{key}.")


def _said_elsewhere(path: str, device: Device) -> bool:
    """Direct opening may be stated contact by contact."""
    return path == "direct_opening" and any(c.direct_opening for c in device.contacts)


class Drive:
    """What the wiring of a drive makes matter."""

    def __init__(self, device: Device, wired: frozenset[str]) -> None:
        control, settings = _section(device.values, "control"), _section(device.values, "settings")
        self.inputs = {mark: given for mark, given in _section(control, "inputs").items() if mark in wired}
        does = {given.get("does") if isinstance(given, Mapping) else given for given in self.inputs.values()}
        torque = _section(control, "safe_torque_off").get("channels")
        self.three_wire = control.get("mode") == "three-wire"
        self.obeys = settings.get("command_source") != "keypad"
        self.runs = self.obeys and bool(does & set(RUN_INPUTS))
        self.edge = self.three_wire and control.get("start_on") == "edge"
        self.both_ways = self.runs and {"run-forward", "run-reverse"} <= does
        self.permit = bool(does & set(PERMITS))
        self.torque = isinstance(torque, tuple) and any(mark in wired for mark in torque)
        self.restarts = settings.get("restarts_itself_after_fault") is True


MATTERS: Mapping[str, Matters | None] = {
    "control.mode": lambda d: d.runs,
    "control.logic": lambda d: bool(d.inputs),
    "control.start_on": lambda d: d.runs and d.three_wire,
    "settings.command_source": None,
    "settings.both_directions": lambda d: d.both_ways,
    "settings.restarts_itself_after_fault": None,
    "settings.on_power_up_with_run": lambda d: d.runs and not d.edge,
    "settings.after_trip_reset_with_run": lambda d: d.runs and not d.edge and not d.restarts,
    "settings.after_safe_torque_off_with_run": lambda d: d.runs and not d.edge and d.torque,
    "settings.after_permit_with_run": lambda d: d.runs and not d.edge and d.permit,
}
"""When the absence of a drive's parameter changes anything; None for always."""


def _of_drive(drive: Drive, read: Read) -> Iterator[str]:
    name = read.device.name
    for path, pair in _missing(read.kind.parameters, read.device.values):
        matters = MATTERS[path]
        if matters is None or matters(drive):
            yield _line(name, *pair)
    for mark, given in drive.inputs.items():
        does = given.get("does") if isinstance(given, Mapping) else given
        if does in STOPPING and not (isinstance(given, Mapping) and "acts_when" in given):
            yield _line(name, f"{mark} acts_when", "open")


def _section(values: Mapping[str, object], key: str) -> Mapping[str, object]:
    found = values.get(key)
    return found if isinstance(found, Mapping) else {}


def functions_assumed(devices: Mapping[str, Read]) -> str:
    """The line that says which safety functions were taken, for a plan that states none."""
    named = [name for name, read in devices.items() if read.kind.name in ("emergency-stop", "guard-switch")]
    loads = _turning(devices)
    beside = f"; not counted as a motor: {', '.join(loads)}; where it must stop too, say so under functions" if loads else ""
    taken = (
        f"{', '.join(named)} must stop every motor, with nothing required beyond fail-safe behaviour{beside}"
        if named
        else "there is none to look at"
    )
    return f"safety functions: {taken} (none stated in the plan)"


def not_asked_to_stop(devices: Mapping[str, Read], functions: Sequence[Function]) -> tuple[str, ...]:
    """A line on the fans and pumps that no stated function of an emergency stop names; nothing where there is no such stop."""
    stops = {name for name, read in devices.items() if read.kind.name == "emergency-stop"}
    asked = {name for f in functions if any(cause.device in stops for cause in f.causes) for name, _ in f.must}
    loads = _turning({name: read for name, read in devices.items() if name not in asked}) if stops else []
    if not loads:
        return ()
    one = "it" if len(loads) == 1 else "one of them"
    told = f"{', '.join(loads)} may go on turning; where {one} must stop too, say so under functions"
    return (f"emergency stop: {told} (no function of the plan asks for it)",)


def _turning(devices: Mapping[str, Read]) -> list[str]:
    """The loads that have a motor of their own, with their kinds."""
    return [f"{name} ({read.kind.name})" for name, read in devices.items() if read.kind.name in TURNING_LOADS]
