"""What each winding of a motor gets in every way in which it turns, against what its plate makes of it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from wirecheck.electrics.feeding import Feeding, feeding, line_voltage
from wirecheck.electrics.given import given
from wirecheck.electrics.number import Input, Number, figure
from wirecheck.electrics.plate import Rated, lacks, plate_voltage
from wirecheck.electrics.states import Running, States
from wirecheck.plan.model import Device, Plan, Quantity

NUMBERS = ("winding voltage",)

TOLERANCE = 0.10
"""A motor must bear 90 to 110 % of its rated voltage: the range of a supply in EN 60204-1:2018, 4.3."""

DECIDES = "whether the motor is connected for the voltage that it gets"

WEAK = "With so little voltage it has about {torque} of its torque (that falls with the square): it stalls and overheats."
STRONG = "With so much voltage its iron saturates, the current soars, and the winding burns."


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """One number for each motor and each distinct way in which it turns, whichever direction."""
    for way in states.connections():
        motor = plan.devices[way.motor]
        number = _judged(plan, motor, way) if way.right else _shown(motor, way)
        yield number._replace(events=partial(states.events_to, way))


def fits(plan: Plan, way: Running) -> bool:
    """Whether the voltage is right for the connection, as far as the plate tells."""
    found = _judged(plan, plan.devices[way.motor], way)
    return not found.too_low and not found.too_high


def _judged(plan: Plan, motor: Device, way: Running) -> Number:
    fed, rated = feeding(plan, way), plate_voltage(motor, way.connection)
    share = max(way.winding_volts.values()) / line_voltage(way)
    gets, scale = fed.line_v * share, _scale(motor, fed)
    low, high = (rated.low * share * scale, rated.high * share * scale) if rated else (None, None)
    return Number(
        name="winding voltage",
        device=motor.name,
        at=motor.lines.get("links", motor.spot),
        value=gets,
        unit="V",
        low=None if low is None or way.brief else low * (1 - TOLERANCE),
        high=None if high is None else high * (1 + TOLERANCE),
        working=_working(way, fed, rated, (share, gets, low)),
        inputs=(_connection(motor, way), *fed.inputs, *((rated.input,) if rated else ())),
        source="EN 60204-1:2018, 4.3",
        case=case_of(way),
        devices=(motor.name, way.source.device),
        wires=winding_wires(plan, motor),
        missing=() if rated else (lacks(motor, "plate", way.connection, DECIDES),),
        effect=_effect(gets, low),
        advice=_advice(motor, way, fed) if rated else "",
    )


def _shown(motor: Device, way: Running) -> Number:
    """A connection that is no proper one: what each winding gets by itself. That it is wrong is told by a rule of its own."""
    each = ", ".join(f"{a}-{b.replace('*', 'star point ')} {figure(v)} V" for (a, b), v in way.winding_volts.items())
    return Number(
        name="winding voltage",
        device=motor.name,
        at=motor.lines.get("links", motor.spot),
        value=max(way.winding_volts.values()),
        unit="V",
        working=f"By links and wires: {way.connection}. With equal windings {each}.",
        inputs=(_connection(motor, way),),
        case=f"as it is joined, on {way.source.device}",
        devices=(motor.name, way.source.device),
    )


def _connection(motor: Device, way: Running) -> Input:
    return Input(f"connection of {motor.name}", way.connection, motor.lines.get("links", motor.spot), "computed")


def case_of(way: Running) -> str:
    """The connection and what feeds it, as it ends a sentence."""
    joiner = "at" if way.connection.endswith("speed") else "in"
    return f"{joiner} {way.connection} on {way.source.device}"


def winding_wires(plan: Plan, motor: Device) -> tuple[str, ...]:
    """The numbers of the wires on a motor's windings."""
    ends = [w for w in plan.wires for t in (w.a, w.b) if t.device == motor.name and t.mark[:1] in "UVW"]
    return tuple(dict.fromkeys(w.number for w in ends))


def _scale(motor: Device, fed: Feeding) -> float:
    """Below the plate's frequency a winding is made for less voltage: the magnetism goes with volts per hertz."""
    own = given(motor, "frequency")
    return min(1.0, fed.hertz / own.value) if own and fed.hertz else 1.0


def _working(way: Running, fed: Feeding, rated: Rated | None, figures: tuple[float, float, float | None]) -> str:
    share, gets, low = figures
    divided = "" if abs(share - 1) < 1e-6 else f" divided by {figure(1 / share)}"
    case = case_of(way)
    text = f"{case[0].upper()}{case[1:]} a winding gets {fed.words}{divided}: {figure(gets)} V."
    if rated and low is not None:
        also = f" at {figure(fed.hertz)} Hz" if fed.hertz else ""
        text += f" By the plate ({rated.words}) it is made for {figure(low)} V{also}."
    if way.brief:
        text += (
            " The star of a star-delta starter is meant to give so little: the motor starts with a third of current and torque."
        )
    return text


def _effect(gets: float, low: float | None) -> str:
    if low is None:
        return ""
    return STRONG if gets > low else WEAK.format(torque=f"{(gets / low) ** 2 * 100:.0f} %")


def _advice(motor: Device, way: Running, fed: Feeding) -> str:
    """The connection that the plate gives for this voltage; for a drive the base frequency that would do as well."""
    line, plate = line_voltage(way), motor.values.get("plate")
    rows = plate.items() if isinstance(plate, dict) else ()
    fits = [name for name, q in rows if isinstance(q, Quantity) and abs(line / q.value - 1) <= TOLERANCE]
    fits = [name for name in fits if name != way.connection]
    own, rated = given(motor, "frequency"), plate_voltage(motor, way.connection)
    drive = way.source.role == "output"
    full = f"{figure(own.value * line / rated.low)} Hz" if drive and own and rated else ""
    if not fits:
        if full and fed.line_v < line * (1 - TOLERANCE):
            return f"Set base_voltage of {way.source.device} to {figure(line)} V and its base_frequency to {full}."
        return f"The plate gives no connection for {figure(line)} V: this motor and this supply do not belong together."
    advice = f"Connect the motor in {' or '.join(fits)}: that is what its plate gives for {figure(line)} V."
    if full and rated and own and line > rated.high:
        advice += f" Or set the base_frequency of {way.source.device} to {full}:"
        advice += f" at {figure(own.value)} Hz it then gets the {figure(rated.low)} V of its plate."
    return advice
