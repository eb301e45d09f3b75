"""What feeds a running motor: the voltage between its lines and the frequency at which that is to be held against the plate."""

from __future__ import annotations

from typing import NamedTuple

from wirecheck.electrics.given import given
from wirecheck.electrics.number import Input, figure
from wirecheck.electrics.states import Running
from wirecheck.plan.model import Device, Plan


class Feeding(NamedTuple):
    """The voltage between lines in V at a frequency in Hz; `factor` is that voltage by the one that the source is rated for.

    A drive lowers voltage and frequency together below its base frequency and only the frequency goes up above that. So what
    counts is the voltage at the base frequency or at the motor's own, whichever is lower.
    """

    line_v: float
    hertz: float | None
    factor: float
    inputs: tuple[Input, ...]
    words: str


def feeding(plan: Plan, way: Running) -> Feeding:
    """The voltage and frequency of a source as a motor gets it."""
    source = plan.devices[way.source.device]
    line = line_voltage(way)
    if way.source.role == "output":
        return _of_drive(source, plan.devices[way.motor], line)
    stated = given(source, "voltage") or given(source, "secondary_voltage")
    hertz = given(source, "frequency")
    inputs = tuple(g.input for g in (stated, hertz) if g)
    return Feeding(line, hertz.value if hertz else None, 1.0, inputs, f"{figure(line)} V between the lines")


def line_voltage(way: Running) -> float:
    """The largest voltage between two poles of the source, at its rating."""
    return max(volts for _, _, volts in way.source.pairs())


def base_frequency(drive: Device, motor: Device) -> tuple[float | None, tuple[Input, ...]]:
    """The frequency at which the drive gives its full voltage: its setting, or by assumption that of the motor's plate."""
    stated, own = given(drive, "settings.base_frequency"), given(motor, "frequency")
    if stated:
        return stated.value, (stated.input,)
    if own is None:
        return None, ()
    return own.value, (own.input._replace(what=f"{drive.name} settings base frequency", basis="assumed"),)


def _of_drive(drive: Device, motor: Device, line: float) -> Feeding:
    base_v, output, own = given(drive, "settings.base_voltage"), given(drive, "output.voltage"), given(motor, "frequency")
    base_hz, inputs = base_frequency(drive, motor)
    full = base_v.value if base_v else line
    inputs = (*(g.input for g in (base_v, output) if g), *inputs)
    hertz = min(base_hz, own.value) if base_hz and own else base_hz
    gets = full if hertz is None or base_hz is None else full * hertz / base_hz
    gets = min(gets, line)  # a drive cannot give more than it is made for
    words = f"{figure(gets)} V between the lines"
    if hertz and base_hz and hertz < base_hz:
        words += f" at {figure(hertz)} Hz ({figure(full)} V at {figure(base_hz)} Hz times {figure(hertz)} / {figure(base_hz)})"
    elif hertz:
        words += f" at {figure(hertz)} Hz"
    return Feeding(gets, hertz, gets / line, inputs, words)
