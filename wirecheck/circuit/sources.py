"""The sources of a plan: their poles with the voltages between them, and what each is fed from."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from wirecheck.circuit.elements import marks_of, quantity, section
from wirecheck.plan.model import Device, Plan, Terminal

SUPPLY_TOLERANCE = (0.85, 1.15)
"""A transformer or drive input is taken as fed from 85 % to 115 % of what it is made for. Common practice, no source."""

DEFAULT_MAINS_V = {1: 230.0, 2: 240.0, 3: 400.0}


class Feed(NamedTuple):
    """What makes a source live: its input terminals and the voltage between any two of them, None where any will do."""

    terminals: tuple[Terminal, ...]
    low_v: float | None = None
    high_v: float | None = None


@dataclass(frozen=True, slots=True)
class Source:
    """A source. `poles` maps each pole to its voltage against the source's own reference, as a phasor for a.c.

    `returns` are the poles that may be joined with another source's return at one point (N, PE, minus, common). `feed` is None
    for the mains and for a drive's output, which is live while the drive runs. `role` is `supply`, `reference` or `output`.
    """

    name: str
    device: str
    poles: Mapping[Terminal, complex]
    kind: str
    returns: frozenset[Terminal] = frozenset()
    feed: Feed | None = None
    role: str = "supply"
    _pairs: tuple[tuple[Terminal, Terminal, float], ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Work the pairs out once: they are asked for again and again, for every fault anew."""
        pairs = ((p, q, self.voltage_between(p, q)) for p in self.poles for q in self.poles)
        ordered = ((p, q, v) for p, q, v in pairs if self.kind == "AC" or self.poles[p].real > self.poles[q].real)
        object.__setattr__(self, "_pairs", tuple((p, q, v) for p, q, v in ordered if v > 1e-6))

    def voltage_between(self, p: Terminal, q: Terminal) -> float:
        """Volts between two poles."""
        return abs(self.poles[p] - self.poles[q])

    def pairs(self) -> tuple[tuple[Terminal, Terminal, float], ...]:
        """Every ordered pair of poles with a voltage between them; for d.c. the higher one first only."""
        return self._pairs


def phasor(volts: float, degrees: float) -> complex:
    """A phasor by its size and its angle in degrees."""
    return cmath.rect(volts, math.radians(degrees))


THREE_PHASE_DEGREES = (0.0, -120.0, 120.0)
"""L1 leads L2 leads L3: the positive sequence."""


def _mains(device: Device) -> Source:
    given = device.values.get("phases", 1)
    phases = given if given in (2, 3) else 1
    rated = quantity(device.values, "voltage")
    volts = rated.value if rated else DEFAULT_MAINS_V[int(str(phases))]
    at = device.terminal
    if phases == 3:
        poles = {at(f"L{n + 1}"): phasor(volts / math.sqrt(3), THREE_PHASE_DEGREES[n]) for n in range(3)} | {at("N"): 0j}
    elif phases == 2:
        poles = {at("L1"): complex(volts / 2), at("L2"): complex(-volts / 2)}
    else:
        poles = {at("L"): complex(volts), at("N"): 0j}
    if device.values.get("earthing") != "IT":
        poles[at("PE")] = 0j
    return Source(device.name, device.name, poles, "AC", frozenset(p for p in (at("N"), at("PE")) if p in poles))


def _transformer(device: Device) -> Source:
    at = device.terminal
    primary = marks_of(device.values, "primary", ("1", "2"))
    secondary = marks_of(device.values, "secondary", ("3", "4"))
    made_for, gives = quantity(device.values, "primary_voltage"), quantity(device.values, "secondary_voltage")
    low, high = (
        (made_for.value * SUPPLY_TOLERANCE[0], (made_for.high or made_for.value) * SUPPLY_TOLERANCE[1])
        if made_for
        else (None, None)
    )
    poles = {at(secondary[0]): complex(gives.value if gives else 24.0), at(secondary[1]): 0j}
    return Source(device.name, device.name, poles, "AC", frozenset(poles), Feed((at(primary[0]), at(primary[1])), low, high))


def _direct(device: Device) -> Source:
    at = device.terminal
    gives = quantity(device.values, "voltage")
    poles = {at("+"): complex(gives.value if gives else 24.0), at("-"): 0j}
    return Source(device.name, device.name, poles, "DC", frozenset({at("-")}), Feed((at("L"), at("N"))))


DRIVE_SUPPLY = "supply of a drive"
"""The kind of a drive of which nothing but its control supply and reference is looked at."""


def drive_feed(device: Device) -> Feed:
    """The input of a drive and the voltages at which it is taken as fed."""
    given = section(device.values, "input")
    made_for = quantity(given, "voltage")
    terminals = tuple(Terminal(device.name, mark) for mark in marks_of(given, "terminals", ("L", "N")))
    if made_for is None:
        return Feed(terminals)
    return Feed(terminals, made_for.value * SUPPLY_TOLERANCE[0], (made_for.high or made_for.value) * SUPPLY_TOLERANCE[1])


def _supplies(device: Device) -> Iterator[Source]:
    at = device.terminal
    feed = drive_feed(device)
    for part, low, title in (("supply", "common", "control supply"), ("reference", "common", "reference")):
        given = section(device.values, "control", part)
        plus, common = given.get("plus"), given.get(low)
        if plus and common:
            volts = quantity(given, "voltage")
            poles = {at(plus): complex(volts.value if volts else (24.0 if part == "supply" else 10.0)), at(common): 0j}
            yield Source(f"{device.name} {title}", device.name, poles, "DC", frozenset({at(common)}), feed, part)


def _output(device: Device) -> Source:
    at, given = device.terminal, section(device.values, "output")
    gives = quantity(given, "voltage")
    volts_line = gives.value if gives else 230.0
    marks = marks_of(given, "terminals", ("U", "V", "W"))
    poles = {at(mark): phasor(volts_line / math.sqrt(3), THREE_PHASE_DEGREES[n]) for n, mark in enumerate(marks[:3])}
    return Source(f"{device.name} output", device.name, poles, "AC", frozenset(), None, "output")


def sources_of(plan: Plan) -> tuple[Source, ...]:
    """All sources of a plan in the plan's order. A drive has up to three: its control supply, its reference and its output."""
    found: list[Source] = []
    for device in plan.devices.values():
        if device.kind == "mains":
            found.append(_mains(device))
        elif device.kind == "transformer":
            found.append(_transformer(device))
        elif device.kind == "dc-supply":
            found.append(_direct(device))
        elif device.kind in ("drive", DRIVE_SUPPLY):
            found.extend((*_supplies(device), *([_output(device)] if device.kind == "drive" else ())))
    return tuple(found)
