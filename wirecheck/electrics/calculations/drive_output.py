"""What a drive can give its motor: current or power, and whether its settings are possible."""

from __future__ import annotations

from collections.abc import Iterator

from wirecheck.electrics.drive_motors import Driven, driven, taken
from wirecheck.electrics.given import Given, given, missing
from wirecheck.electrics.number import Number, in_words
from wirecheck.electrics.plate import plate_figure
from wirecheck.electrics.states import States
from wirecheck.plan.model import Device, Plan

NUMBERS = ("drive output current", "drive output power", "highest frequency setting", "lowest frequency setting", "base voltage")

DECIDES = "whether the drive can carry its motor"


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """For each drive with a motor its current, or where that cannot be told its power; for every drive its settings."""
    for on in driven(plan, states):
        yield from _load(plan, states, on)
    for drive in (d for d in plan.devices.values() if d.kind == "drive"):
        yield from _settings(drive)


def _load(plan: Plan, states: States, on: Driven) -> Iterator[Number]:
    takes, can = taken(plan, states, on), given(on.drive, "output.current")
    number = Number(
        name="drive output current",
        device=on.drive.name,
        at=on.drive.lines.get("output.current", on.drive.spot),
        value=takes.amps,
        unit="A",
        high=can.value if can else None,
        working=f"{takes.words}. The drive gives {can.input.text} for long." if can and takes.words else takes.words,
        inputs=(*takes.inputs, *((can.input,) if can else ())),
        source="common practice",
        case=f"for {' and '.join(on.motors)}",
        devices=(on.drive.name, *on.motors),
        missing=(*takes.missing, *(() if can else (missing(on.drive, "output.current", DECIDES),))),
    )
    yield number
    if number.unknown:
        yield from _power(plan, on)


def _power(plan: Plan, on: Driven) -> Iterator[Number]:
    """By the powers where a current is not known: less sure, for motors of one power differ in current."""
    can = given(on.drive, "output.power")
    powers = {way.motor: plate_figure(plan.devices[way.motor], "power", way.connection) for way in on.ways}
    known = [power for power in powers.values() if power]
    if can is None or len(powers) != 1 or not known:
        return
    power = known[0]
    yield Number(
        name="drive output power",
        device=on.drive.name,
        at=can.input.at or on.drive.spot,
        value=power.value,
        unit="W",
        high=can.value * 1.001,
        working=f"{power.input.what} {power.input.text}; the drive is made for a motor of {can.input.text}.",
        inputs=(power.input, can.input),
        source="common practice",
        case=f"for {on.motors[0]}",
        devices=(on.drive.name, *on.motors),
    )


def _settings(drive: Device) -> Iterator[Number]:
    most, least = given(drive, "settings.max_frequency"), given(drive, "settings.min_frequency")
    yield from _within(drive, "highest frequency setting", most, given(drive, "output.max_frequency"), "the drive gives at most")
    yield from _within(drive, "lowest frequency setting", least, most, "its highest frequency is set to")
    base, output = given(drive, "settings.base_voltage"), given(drive, "output.voltage")
    yield from _within(drive, "base voltage", base, output, "the drive gives at most")


def _within(drive: Device, name: str, value: Given | None, most: Given | None, words: str) -> Iterator[Number]:
    if value and most:
        rounding = 0.1 if name == "base voltage" else 0.0  # the output of a drive follows its supply, 230 V stand for 200-240 V
        let_pass = "; 10 % more are let pass, for its output follows its supply" if rounding else ""
        yield Number(
            name=name,
            device=drive.name,
            at=value.input.at or drive.spot,
            value=value.value,
            unit=value.quantity.unit,
            high=most.high * (1 + rounding),
            working=f"{value.input.what} {value.input.text}; {words} {most.input.text}{let_pass}.",
            inputs=(value.input, most.input),
            source="common practice",
            advice=f"Set {value.input.what.partition('settings ')[2]} of {drive.name} to at most "
            f"{in_words(most.high, value.quantity.unit)}.",
        )
