"""What each coil, lamp, load and sensor gets, against the voltage for which it is made."""

from __future__ import annotations

from collections.abc import Iterator

from wirecheck.electrics.number import Input, Number, figure
from wirecheck.electrics.states import Gets, States
from wirecheck.electrics.tables import table
from wirecheck.findings import Spot
from wirecheck.plan.model import Device, Plan, Quantity

VOLTAGE = "voltage at a coil or load"
NUMBERS = (VOLTAGE,)

PARAMETERS = ("coil", "voltage", "primary_voltage")
"""Where a device states what it is made for."""


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """One number for each consumer with a stated voltage and each different voltage that it gets."""
    seen = set()
    for gets in states.voltages():
        key = (gets.device, gets.ends, figure(gets.volts))
        if gets.rated is not None and key not in seen and _kind_fits(gets, gets.rated):
            seen.add(key)
            yield _number(plan, gets, gets.rated)


def _kind_fits(gets: Gets, rated: Quantity) -> bool:
    """Of the wrong kind of current a rule of its own tells: what size it has matters little then."""
    return rated.current is None or rated.current == gets.source.kind


def _number(plan: Plan, gets: Gets, rated: Quantity) -> Number:
    device, source = plan.devices[gets.device], plan.devices[gets.source.device]
    coil = gets.kind == "coil"
    found = table("coil-operating-range" if coil else "load-operating-range")
    least, most = (float(found.rows[0][column]) for column in ("least", "most"))
    if device.kind == "sensor" and rated.high is not None:
        least = most = 1.0  # a sensor states the whole range that it bears
    low, high = rated.value * least, (rated.high or rated.value) * most
    at = _place(device)
    return Number(
        name=VOLTAGE,
        device=gets.device,
        at=at,
        value=gets.volts,
        unit="V",
        low=low,
        high=high,
        working=f"{gets.source.name} gives {figure(gets.volts)} V between {gets.ends[0]} and {gets.ends[1].mark}. "
        f"{device.name} is made for {rated.text}: {figure(least * 100)} to {figure(most * 100)} % of that will do.",
        inputs=(
            Input(f"{device.name} rated voltage", rated.text, at),
            Input(f"{source.name} voltage", f"{figure(gets.volts)} V", source.spot),
        ),
        source=found.cite(),
        devices=(device.name, source.name),
        advice=f"Fit one for {figure(gets.volts)} V, or feed {device.name} from a supply of {rated.text}.",
    )


def _place(device: Device) -> Spot:
    return next((device.lines[key] for key in PARAMETERS if key in device.lines), device.spot)
