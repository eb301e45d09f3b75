"""A motor's plate: what it says for the connection that the motor really has."""

from __future__ import annotations

import math
from typing import NamedTuple

from wirecheck.electrics.given import Given, given, missing
from wirecheck.electrics.number import Input, Missing, figure
from wirecheck.plan.model import Device

SPEEDS = {"low speed": "low", "high speed": "high", "delta": "low", "double-star": "high"}
"""The speed of a two-speed motor that belongs to a connection, as the plate's keys have it."""

ROOT_3 = math.sqrt(3)


class Rated(NamedTuple):
    """A figure of the plate for a connection: its range, where it stands, and how it follows from the figure there."""

    low: float
    high: float
    input: Input
    words: str

    def worked(self) -> str:
        """The figure in words, with its result where it was worked out from another one."""
        stated = self.words.endswith(self.input.text)
        return self.words if stated else f"{self.words} is {figure(self.high)} {self.input.text.rpartition(' ')[2]}"


def two_speeds(motor: Device) -> bool:
    """Whether a motor has two speeds, and so two rows on its plate."""
    return motor.values.get("windings") in ("dahlander", "separate")


def plate_voltage(motor: Device, connection: str) -> Rated | None:
    """The voltage between lines that belongs to a connection; of star and delta each follows from the other."""
    return _row(motor, "plate", connection, {"delta": ("star", 1 / ROOT_3), "star": ("delta", ROOT_3)})


def plate_current(motor: Device, connection: str) -> Rated | None:
    """The line current that belongs to a connection, at the voltage that belongs to it."""
    return _row(motor, "current", connection, {"delta": ("star", ROOT_3), "star": ("delta", 1 / ROOT_3)})


def plate_figure(motor: Device, field: str, connection: str) -> Given | None:
    """Power or speed; of a two-speed motor those of the speed that belongs to the connection."""
    return given(motor, f"{field}.{SPEEDS[connection]}" if two_speeds(motor) and connection in SPEEDS else field)


def plate_poles(motor: Device, connection: str) -> int | None:
    """The number of poles; of a two-speed motor, `4/2`, that of the speed that belongs to the connection."""
    text = str(motor.values.get("poles", ""))
    low, _, high = text.partition("/")
    chosen = high if high and SPEEDS.get(connection) == "high" else low
    return int(chosen) if chosen.isdigit() else None


def lacks(motor: Device, group: str, connection: str, decides: str) -> Missing:
    """The question for the row of the plate that a connection needs."""
    return missing(motor, f"{group}.{_keys(motor, connection)[0]}", decides)


def _keys(motor: Device, connection: str) -> tuple[str, ...]:
    speed = SPEEDS.get(connection)
    return tuple(key for key in (connection, speed if two_speeds(motor) else None) if key and " " not in key)


def _row(motor: Device, group: str, connection: str, other: dict[str, tuple[str, float]]) -> Rated | None:
    for key in _keys(motor, connection):
        if found := given(motor, f"{group}.{key}"):
            return Rated(found.value, found.high, found.input, f"{found.input.what} {found.input.text}")
    key, factor = other.get(connection, ("", 1.0))
    if not key or two_speeds(motor) or not (found := given(motor, f"{group}.{key}")):
        return None
    how = f"{found.input.what} {found.input.text} {'times' if factor > 1 else 'divided by'} 1.732"
    return Rated(found.value * factor, found.high * factor, found.input, how)
