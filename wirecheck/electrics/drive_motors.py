"""Which motors a drive feeds, in which connection, and what they take together."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from wirecheck.electrics.number import Input, Missing, figure
from wirecheck.electrics.plate import lacks, plate_current
from wirecheck.electrics.states import Running, States
from wirecheck.plan.model import Device, Plan

DECIDES = "whether the drive can carry the motor, and what its motor protection must be set to"


class Driven(NamedTuple):
    """A drive and the ways in which the motors on its output turn, each in a proper connection."""

    drive: Device
    ways: tuple[Running, ...]

    @property
    def motors(self) -> tuple[str, ...]:
        """The motors, in the plan's order."""
        return tuple(dict.fromkeys(way.motor for way in self.ways))


class Taken(NamedTuple):
    """What the motors on a drive take together at the most, in A; None where a plate does not say."""

    amps: float | None
    words: str
    inputs: tuple[Input, ...]
    missing: tuple[Missing, ...]


def driven(plan: Plan, states: States) -> Iterator[Driven]:
    """Every drive that runs a motor."""
    for drive in (d for d in plan.devices.values() if d.kind == "drive"):
        ways = tuple(w for w in states.connections() if w.source.role == "output" and w.source.device == drive.name and w.right)
        if ways:
            yield Driven(drive, ways)


def taken(plan: Plan, states: States, on: Driven) -> Taken:
    """The sum of the plates' currents of the motors that run together on a drive."""
    rated = {way.motor: plate_current(plan.devices[way.motor], way.connection) for way in on.ways}
    unknown = [way for way in on.ways if rated[way.motor] is None]
    if unknown:
        asked = tuple(lacks(plan.devices[way.motor], "current", way.connection, DECIDES) for way in unknown)
        return Taken(None, "", (), asked)
    known = {motor: row for motor, row in rated.items() if row}
    inputs = tuple(row.input for row in known.values())
    if len(known) == 1:
        (row,) = known.values()
        return Taken(row.high, row.words, inputs, ())
    together = states.most_at_once({motor: row.high for motor, row in known.items()})
    words = " and ".join(known[motor].words for motor in together.devices)
    return Taken(together.total, f"{words}, together {figure(together.total)} A", inputs, ())
