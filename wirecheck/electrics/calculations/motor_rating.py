"""What a motor takes and gives in its real connection: current, torque, and the frequency up to which a drive keeps that."""

from __future__ import annotations

from collections.abc import Iterator

from wirecheck.electrics.calculations.winding_voltage import case_of
from wirecheck.electrics.feeding import Feeding, base_frequency, feeding, line_voltage
from wirecheck.electrics.given import given
from wirecheck.electrics.number import Input, Number, figure
from wirecheck.electrics.plate import ROOT_3, lacks, plate_current, plate_voltage
from wirecheck.electrics.states import Running, States
from wirecheck.plan.model import Device, Plan

NUMBERS = ("motor current", "motor torque", "full-torque frequency", "ratio of plate currents")

SQUARE = "Torque goes with the square of the voltage on a winding"
A_THIRD = (
    "In star a winding gets 1 / 1.732 of the voltage between the lines, and 1 / 1.732 squared is a third: that is why a motor"
    " made for delta has a third of its torque in star."
)
DECIDES = "what the drive and its protection must be set for"

SWAPPED = (1.4, 2.1)
"""Between these a delta current is taken for 1.732 times the star current: plates are rounded. Common practice, no source."""


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """Current and torque of each motor in each proper connection; with a drive the frequency to which torque is full."""
    for way in states.connections():
        if way.right:
            motor, fed = plan.devices[way.motor], feeding(plan, way)
            yield _current(motor, way)
            yield from _torque(motor, way, fed)
            yield from _full_torque(plan, motor, way)
    for motor in (d for d in plan.devices.values() if d.kind == "motor"):
        yield from _ratio(motor)


def _number(name: str, motor: Device, way: Running) -> Number:
    connection = Input(f"connection of {motor.name}", way.connection, motor.lines.get("links", motor.spot), "computed")
    devices = (motor.name, way.source.device)
    return Number(name, motor.name, motor.spot, None, "", inputs=(connection,), case=case_of(way), devices=devices)


def _current(motor: Device, way: Running) -> Number:
    """At the load of the plate: a winding bears the same current whatever the connection."""
    rated, number = plate_current(motor, way.connection), _number("motor current", motor, way)._replace(unit="A")
    if rated is None:
        return number._replace(missing=(lacks(motor, "current", way.connection, DECIDES),))
    inputs = (*number.inputs, rated.input)
    working = f"In each line, at the load of the plate: {rated.worked()}."
    return number._replace(value=rated.high, inputs=inputs, working=working)


def _torque(motor: Device, way: Running, fed: Feeding) -> Iterator[Number]:
    """The torque that the voltage leaves, as a share of that of the plate."""
    rated, own = plate_voltage(motor, way.connection), given(motor, "frequency")
    if rated is None:
        return
    made_for = rated.low * (min(1.0, fed.hertz / own.value) if own and fed.hertz else 1.0)
    share = fed.line_v / made_for
    working = (
        f"{SQUARE}: ({figure(fed.line_v)} V / {figure(made_for)} V between the lines) squared is {figure(share**2 * 100)} %."
    )
    if way.connection == "star" and 0.9 < share * ROOT_3 < 1.1:
        working += f" {A_THIRD}"
    number = _number("motor torque", motor, way)
    yield number._replace(value=share**2 * 100, unit="%", working=working, inputs=(*number.inputs, *fed.inputs, rated.input))


def _full_torque(plan: Plan, motor: Device, way: Running) -> Iterator[Number]:
    """The frequency at which the drive's voltage ends: above it the speed still rises and the torque falls."""
    rated, own = plate_voltage(motor, way.connection), given(motor, "frequency")
    if way.source.role != "output" or not (rated and own):
        return
    line = line_voltage(way)
    full = own.value * line / rated.low
    drive = plan.devices[way.source.device]
    base, inputs = base_frequency(drive, motor)
    working = f"The plate's {figure(own.value)} Hz times {figure(line)} V of the drive / {figure(rated.low)} V of the plate."
    working += f" The drive's base frequency is {figure(base)} Hz." if base else ""
    if full > own.value * 1.05 and base and base > own.value * 1.05:
        power = min(base, full) / own.value
        working += (
            f" At {figure(min(base, full))} Hz the motor gives {figure(power)} times the power of its plate at the same current."
        )
        working += " Its bearings, its fan and the drive's current must bear that: ask the maker of the motor."
    number = _number("full-torque frequency", motor, way)
    inputs = (*number.inputs, *inputs, own.input, rated.input)
    yield number._replace(value=full, unit="Hz", working=working, inputs=inputs)


def _ratio(motor: Device) -> Iterator[Number]:
    """The two currents of a plate: where they stand at the wrong connection, everything that is set by them is wrong."""
    delta, star = given(motor, "current.delta"), given(motor, "current.star")
    volts_delta, volts_star = given(motor, "plate.delta"), given(motor, "plate.star")
    if not (delta and star and volts_delta and volts_star):
        return
    by_volts = volts_star.value / volts_delta.value / ROOT_3
    low, high = (limit * by_volts for limit in SWAPPED)
    yield Number(
        name="ratio of plate currents",
        device=motor.name,
        at=motor.lines.get("current", motor.spot),
        value=delta.value / star.value,
        unit="",
        low=low,
        high=high,
        working=f"Delta {delta.input.text} divided by star {star.input.text}; for the same winding it must be about 1.73.",
        inputs=(delta.input, star.input),
        source="common practice",
        advice="Read the plate again: the row with the lower voltage is delta and has the higher current.",
    )
