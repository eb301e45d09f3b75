"""What each load takes from its source: the plate's current, the manual's, or what power and voltage make."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import NamedTuple

from wirecheck.circuit.currents import Load
from wirecheck.circuit.sources import Source, drive_feed
from wirecheck.electrics.given import given, missing
from wirecheck.electrics.number import Input, Missing, figure, in_words
from wirecheck.electrics.plate import lacks, plate_current
from wirecheck.electrics.states import Running
from wirecheck.electrics.tables import table
from wirecheck.plan.model import Device, Plan, Terminal

COMES_AND_GOES = frozenset({"coil", "load", "winding"})
STEADY = frozenset({"transformer", "dc-supply", "sensor"})
"""Kinds that take their current whenever their source is live."""

RECTIFIED_SHARE = 0.85 * 0.6
"""Efficiency times power factor of a small electronic supply. Common practice, no source."""

LARGE_V = 60.0
"""Above this a load that states no power may be of any size; below, it is a small one."""

DECIDES = "whether conductors and protective devices can carry what it takes"


class Drawn(NamedTuple):
    """The current of a load in A, None where the plan does not tell, and how it is known. `words` is `M1 in delta 4.5 A`.

    An estimate has a `least` below `amps`: where only that range leaves a verdict open, `missing` is what to ask.
    """

    amps: float | None
    words: str
    inputs: tuple[Input, ...] = ()
    missing: tuple[Missing, ...] = ()
    least: float | None = None


NOTHING = Drawn(0.0, "")


def drawn(
    plan: Plan,
    running: Sequence[Running],
    load: Load,
    source: Source,
    ends: Collection[Terminal],
    voltages: Sequence[float],
) -> Drawn:
    """What a load takes from a source through some of its ends.

    `voltages` are those that the source can bring to it, the least first: what takes a power takes most current at the least,
    what is a resistance at the highest.
    """
    device = plan.devices[load.device]
    if load.kind == "winding":
        ways = [way for way in running if way.motor == device.name and way.source.name == source.name and not way.brief]
        return max((_motor(device, way, load, ends) for way in ways), key=_size, default=NOTHING)
    if device.kind == "drive" and load.kind == "load":
        return _input(device, voltages[0])
    if device.kind == "dc-supply":
        return _supply(device, voltages[0])
    return _by_impedance(device, load, 0.0 if source.kind == "DC" else 50.0, voltages[-1])


def _size(one: Drawn) -> float:
    return math.inf if one.amps is None else one.amps


def _motor(motor: Device, way: Running, load: Load, ends: Collection[Terminal]) -> Drawn:
    rated = plate_current(motor, way.connection)
    if rated is None:
        return Drawn(None, motor.name, (), (lacks(motor, "current", way.connection, DECIDES),)) if way.right else NOTHING
    share = _share(way, load, ends)
    amps = rated.high * share
    by = " divided by 1.732 (one winding of the delta)" if share < 1 else ""
    return Drawn(amps, f"{motor.name} in {way.connection} {in_words(rated.high, 'A')}{by}", (rated.input,))


def _share(way: Running, load: Load, ends: Collection[Terminal]) -> float:
    """The share of the line's current: a wire that leads to one end of each winding alone, of a delta, carries a winding's."""
    sides = {end.mark[1:] for end in ends}
    whole = {end.mark[1:] for end in load.ends}
    inside = way.connection == "delta" and len(way.winding_volts) == 3 and len(sides) == 1 and len(whole) == 2
    return 1 / math.sqrt(3) if inside else 1.0


def _input(drive: Device, volts: float) -> Drawn:
    """The manual's input current, or what drives of its power take."""
    found = given(drive, "input.current")
    if found is not None:
        return Drawn(found.high, f"{drive.name} {in_words(found.high, 'A')}", (found.input,))
    asked = (missing(drive, "input.current", DECIDES),)
    power = given(drive, "output.power")
    if power is None:
        return Drawn(None, drive.name, (), asked)
    phases = 3.0 if len(drive_feed(drive).terminals) == 3 else 1.0
    row = table("drive-input").row(phases=phases) or {}
    least, most = (float(row[column]) * power.high / (volts * math.sqrt(phases)) for column in ("least", "most"))
    text = f"{figure(least)} to {figure(most)} A"
    guess = Input(f"{drive.name} input current", text, power.input.at, "estimated")
    how = f"drives of {power.quantity.text} take {row['least']} to {row['most']} VA for each W; the manual has the figure"
    return Drawn(most, f"{drive.name} {text} by estimate ({how})", (guess,), asked, least)


def _supply(device: Device, live: float) -> Drawn:
    """A d.c. supply at its full output."""
    volts, amps = given(device, "voltage"), given(device, "current")
    if volts is None or amps is None:
        return Drawn(None, device.name, (), (missing(device, "current" if volts else "voltage", DECIDES),))
    takes = volts.high * amps.high / RECTIFIED_SHARE / live
    power = in_words(volts.high * amps.high, "W")
    guess = Input(f"{device.name} input current", in_words(takes, "A"), device.spot, "estimated")
    how = f"{power} divided by {live:.0f} V and by 0.51, a usual efficiency times power factor"
    return Drawn(takes, f"{device.name} about {in_words(takes, 'A')} ({how})", (guess,))


def _by_impedance(device: Device, load: Load, hertz: float, live: float) -> Drawn:
    """Coils, lamps, resistors, inputs: their rated voltage by what they are as a resistance."""
    part = load.parts[0]
    unknown = bool(part.assumed) and load.kind == "load"
    if unknown and live > LARGE_V and device.kind not in ("lamp", "buzzer"):
        return Drawn(None, device.name, (), (missing(device, "power", DECIDES),))
    amps = live * abs(part.admittance_s(hertz))
    basis = "estimated" if part.assumed else "computed"
    name = device.name if load.kind in ("coil", "load") else f"{device.name}:{part.a.mark}"
    words = f"{name} {'about ' if part.assumed else ''}{in_words(amps, 'A')}"
    return Drawn(amps, words, (Input(f"{name} current", in_words(amps, "A"), device.spot, basis),))


def comes_and_goes(plan: Plan, load: Load) -> bool:
    """Whether the behaviour knows when a load takes its current."""
    return load.kind in COMES_AND_GOES and plan.devices[load.device].kind not in STEADY
