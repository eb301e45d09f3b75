"""What each winding of a motor gets in every way in which it turns, against what its plate makes of it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from wirecheck.electrics.given import Given, given, missing
from wirecheck.electrics.number import Input, Number, figure
from wirecheck.electrics.states import Running, States
from wirecheck.plan.model import Device, Plan

NUMBERS = ("winding voltage",)

TOLERANCE = 0.10
"""A motor must bear 90 to 110 % of its rated voltage: the range of a supply in EN 60204-1:2018, 4.3."""

WINDING_SHARE = {"delta": 1.0, "star": 1 / math.sqrt(3)}
"""The voltage on one winding as a share of the voltage between the lines that the plate names for a connection."""

DECIDES = "whether the motor is connected for the voltage that it gets"


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """One number for each motor and each distinct way in which it turns in star or delta."""
    seen = set()
    for way in states.running():
        key = (way.motor, way.source.name, way.connection)  # both directions give the same
        if way.right and way.connection in WINDING_SHARE and key not in seen:
            seen.add(key)
            yield _number(plan.devices[way.motor], way)


def _number(motor: Device, way: Running) -> Number:
    gets = max(way.winding_volts.values())
    rated = _rated(motor)
    line = max(volts for _, _, volts in way.source.pairs())
    by = f"{figure(line)} V between the lines" + (" divided by 1.732" if way.connection == "star" else "")
    inputs = (Input(f"connection of {motor.name}", way.connection, motor.lines.get("links", motor.spot), "computed"),)
    return Number(
        name="winding voltage",
        device=motor.name,
        at=motor.lines.get("links", motor.spot),
        value=gets,
        unit="V",
        low=rated[1] * (1 - TOLERANCE) if rated and not way.brief else None,
        high=rated[1] * (1 + TOLERANCE) if rated else None,
        working=f"In {way.connection} a winding gets {by}: {figure(gets)} V.{_plate_words(rated)}",
        inputs=(*inputs, rated[0].input) if rated else inputs,
        source="EN 60204-1:2018, 4.3",
        case=f"in {way.connection} on {way.source.device}",
        devices=(motor.name, way.source.device),
        events=way.events,
        missing=() if rated else (missing(motor, f"plate.{way.connection}", DECIDES),),
    )


def _rated(motor: Device) -> tuple[Given, float] | None:
    """A plate voltage, and what a winding gets at it; the plate's connections all mean the same winding."""
    for connection, share in WINDING_SHARE.items():
        found = given(motor, f"plate.{connection}")
        if found:
            return found, found.value * share
    return None


def _plate_words(rated: tuple[Given, float] | None) -> str:
    if rated is None:
        return ""
    return f" By the plate ({rated[0].input.what} {rated[0].input.text}) a winding is made for {figure(rated[1])} V."
