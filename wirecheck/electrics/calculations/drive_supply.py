"""What reaches a drive's supply terminals, against what it is made for; and what is left in it after switching off."""

from __future__ import annotations

import math
from collections.abc import Iterator

from wirecheck.circuit.sources import drive_feed
from wirecheck.electrics.given import given
from wirecheck.electrics.number import Input, Number, figure
from wirecheck.electrics.states import States, Supplied
from wirecheck.plan.model import Device, Plan

NUMBERS = ("drive supply voltage", "drive supply lines", "voltage left in the drive")

TOLERANCE = 0.10
SOURCE = "EN 60204-1:2018, 4.3"
"""A supply may be at 90 to 110 % of its rated voltage, and what stands on a drive's plate allows for that."""


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """For each drive and each source that reaches it the voltage, the lines, and the charge that stays."""
    for drive in (d for d in plan.devices.values() if d.kind == "drive"):
        for supplied in states.supplied(drive.name, drive_feed(drive).terminals):
            yield _voltage(plan, drive, supplied)
            yield _lines(drive, supplied)
            yield _left(plan, drive, supplied)


def _source(plan: Plan, supplied: Supplied) -> tuple[Input, ...]:
    source = plan.devices[supplied.source.device]
    stated = given(source, "voltage") or given(source, "secondary_voltage")
    return (stated.input,) if stated else ()


def _voltage(plan: Plan, drive: Device, supplied: Supplied) -> Number:
    made_for = given(drive, "input.voltage")
    allowed = f" The drive is made for {made_for.input.text}." if made_for else ""
    return Number(
        name="drive supply voltage",
        device=drive.name,
        at=drive.lines.get("input.voltage", drive.spot),
        value=supplied.volts,
        unit="V",
        low=made_for.value * (1 - TOLERANCE) if made_for else None,
        high=made_for.high * (1 + TOLERANCE) if made_for else None,
        working=f"Between its supply terminals stand {figure(supplied.volts)} V.{allowed}",
        inputs=(*_source(plan, supplied), *((made_for.input,) if made_for else ())),
        source=SOURCE,
        case=f"from {supplied.source.device}",
        devices=(drive.name, supplied.source.device),
        advice=f"Between its supply terminals the drive gets {figure(supplied.volts)} V: take lines with the voltage of its"
        " plate, a transformer, or a drive of another class.",
    )


def _lines(drive: Device, supplied: Supplied) -> Number:
    phases = drive.values.get("input")
    given_phases = phases.get("phases") if isinstance(phases, dict) else None
    terminals = drive_feed(drive).terminals
    needed = 3 if given_phases == 3 or (given_phases is None and len(terminals) == 3) else 2
    named = ", ".join(str(t) for t in terminals)
    return Number(
        name="drive supply lines",
        device=drive.name,
        at=drive.lines.get("input.phases", drive.spot),
        value=float(supplied.lines),
        unit="lines",
        low=float(needed),
        working=f"{named} are reached by {supplied.lines} different poles of {supplied.source.device}; it needs {needed}.",
        inputs=(Input(f"{drive.name} input phases", str(given_phases or needed), drive.lines.get("input.phases", drive.spot)),),
        source="common practice",
        case=f"from {supplied.source.device}",
        devices=(drive.name, supplied.source.device),
        advice=f"Bring all three lines to {named}. Some drives may be fed with one phase at much less output: where the manual"
        " says so, write phases: 1, the two terminals that it names and the smaller output current.",
    )


def _left(plan: Plan, drive: Device, supplied: Supplied) -> Number:
    peak = supplied.volts * math.sqrt(2)
    return Number(
        name="voltage left in the drive",
        device=drive.name,
        at=drive.spot,
        value=peak,
        unit="V",
        working=f"Its capacitors charge to 1.414 times {figure(supplied.volts)} V and keep that after switching off (up to"
        f" {figure(peak * (1 + TOLERANCE))} V at the highest supply). More than 60 V is dangerous to touch: wait as long as the"
        " drive's label says, 5 to 10 minutes where it says nothing, and measure before touching.",
        inputs=_source(plan, supplied),
        source="EN 60204-1:2018, 6.2.4",
        case=f"from {supplied.source.device}",
        devices=(drive.name,),
    )
