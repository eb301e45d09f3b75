"""The resistance that a drive really sees at its braking terminals, and a ramp that would need one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from wirecheck.circuit.elements import CONDUCTS, Element, elements_of, marks_of, section
from wirecheck.electrics.given import given, missing
from wirecheck.electrics.number import Input, Missing, Number, figure, in_words
from wirecheck.electrics.states import States
from wirecheck.electrics.tables import limit, table
from wirecheck.plan.model import Device, Plan, Terminal

NUMBERS = ("braking resistance", "ramp without a braking resistor")

LIMITS, SHARE = "motor-and-machine-limits", "ramp without a braking resistor by the run-down time"
RESISTORS = frozenset({"braking-resistor", "resistor"})
DECIDES = "whether the braking resistor lets too much current through the drive"


class Seen(NamedTuple):
    """What stands between the braking terminals: the resistance in ohm, None where nothing does, and the resistors."""

    ohm: float | None
    resistors: tuple[Device, ...] = ()
    missing: tuple[Missing, ...] = ()


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """For each drive the resistance that is joined to it, or whether its ramp does without."""
    del states  # which resistor is joined is no matter of states
    for drive in (d for d in plan.devices.values() if d.kind == "drive"):
        seen = _seen(plan, drive) if _terminals(drive) else Seen(None)
        if seen.ohm is None and not seen.missing:
            yield from _ramp(plan, drive)
        else:
            yield _resistance(drive, seen)


def _terminals(drive: Device) -> tuple[Terminal, ...]:
    marks = marks_of(section(drive.values, "control", "brake_resistor"), "terminals", ())
    return tuple(drive.terminal(mark) for mark in marks[:2])


def _seen(plan: Plan, drive: Device) -> Seen:
    """Nodal analysis with 1 V between the braking terminals, so that several resistors count as what they make together."""
    if not any(device.kind in RESISTORS for device in plan.devices.values()):
        return Seen(None)
    from wirecheck.circuit.impedances import impedances_of
    from wirecheck.circuit.resistive import solve_voltages
    from wirecheck.circuit.sources import Source

    plus, minus = _terminals(drive)
    parts = [i for i in impedances_of(plan) if plan.devices[i.device].kind in RESISTORS]
    joints = [element for element in elements_of(plan) if _conducts_at_rest(plan, element)]
    test = Source("test", drive.name, {plus: 1 + 0j, minus: 0j}, "DC")
    solved = solve_voltages(joints, parts, [test])
    amps = {i.device: solved.volts(i.a, i.b) / i.resistance_ohm for i in parts}
    within = [plan.devices[name] for name, amount in amps.items() if amount > 1e-9]
    unknown = tuple(missing(d, "resistance", DECIDES) for d in within if given(d, "resistance") is None)
    if unknown or not within:
        return Seen(None, tuple(within), unknown)
    drawn = sum(1 / i.resistance_ohm * solved.volts(i.a, i.b) ** 2 for i in parts)
    return Seen(1 / drawn, tuple(within))


def _conducts_at_rest(plan: Plan, element: Element) -> bool:
    """Wires, links, and contacts that nothing has to operate; a thermal switch is cold, a fuse whole."""
    if element.kind not in CONDUCTS or element.closed_in is None or element.device is None:
        return element.kind in CONDUCTS
    positions = plan.devices[element.device].positions
    return (positions[0] if positions else "out") in element.closed_in


def _resistance(drive: Device, seen: Seen) -> Number:
    least = given(drive, "control.brake_resistor.minimum")
    each = [g for d in seen.resistors if (g := given(d, "resistance"))]
    words = " and ".join(f"{g.input.what} {g.input.text}" for g in each)
    together = f" make {in_words(seen.ohm, 'ohm')} together" if seen.ohm and len(each) > 1 else ""
    first = seen.resistors[0]
    return Number(
        name="braking resistance",
        device=drive.name,
        at=first.lines.get("resistance", first.spot),
        value=seen.ohm,
        unit="ohm",
        low=least.value if least else None,
        working=f"{words}{together}." + (f" The drive's manual allows no less than {least.input.text}." if least else ""),
        inputs=(*(g.input for g in each), *((least.input,) if least else ())),
        source="the drive's manual",
        devices=(drive.name, *(d.name for d in seen.resistors)),
        missing=(*seen.missing, *(() if least else (missing(drive, "control.brake_resistor.minimum", DECIDES),))),
    )


def _ramp(plan: Plan, drive: Device) -> Iterator[Number]:
    """A ramp much shorter than the machine takes to run down needs a braking resistor; without one the drive trips."""
    ramp, run_down = given(drive, "settings.stop.time"), given(plan.machine, "run_down_time")
    if ramp is None or run_down is None or stop_mode(drive) != "ramp":
        return
    share = limit(SHARE, of=LIMITS)
    low = run_down.value * share / 100
    yield Number(
        name="ramp without a braking resistor",
        device=drive.name,
        at=ramp.input.at or drive.spot,
        value=ramp.value,
        unit="s",
        low=low,
        working=f"Left to itself it turns on for {run_down.input.text}; {figure(share)} % of that is {in_words(low, 's')}.",
        inputs=(ramp.input, run_down.input, Input("braking resistor", "none", drive.spot, "computed")),
        source=table(LIMITS).cite(),
        advice=f"Set the stop time of {drive.name} to at least {in_words(low, 's')}, or fit the braking resistor of its manual.",
    )


def stop_mode(drive: Device) -> str:
    """How a drive stops its motor by command; a ramp where that is not stated."""
    settings = drive.values.get("settings")
    stop = settings.get("stop") if isinstance(settings, Mapping) else None
    return str(stop.get("mode", "ramp")) if isinstance(stop, Mapping) else "ramp"
