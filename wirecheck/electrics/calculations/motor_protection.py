"""What overload protection is set to, against the plate's current where it sits: in the drive, the lines, inside a delta."""

from __future__ import annotations

from collections.abc import Iterator

from wirecheck.electrics.calculations.winding_voltage import fits
from wirecheck.electrics.drive_motors import driven
from wirecheck.electrics.given import Given, given, missing
from wirecheck.electrics.number import Input, Number, figure, in_words
from wirecheck.electrics.plate import Rated, lacks, plate_current, plate_figure
from wirecheck.electrics.states import Running, States
from wirecheck.electrics.tables import table
from wirecheck.plan.model import Device, Plan

NUMBERS = ("motor protection setting", "motor overload protection")

DECIDES = "whether anything protects the motor from overload"
SENSED = ("thermistor", "opens-when-hot")


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """The setting of each drive that feeds one motor, and of each overload relay for each motor behind it."""
    relays = list(_relays(plan, states))
    protected = {way.motor for _, way, _, _ in relays}
    for on in driven(plan, states):
        if len(on.motors) == 1:  # one setting cannot protect several
            yield from _of_drive(plan, on.drive, on.ways, protected)
    seen = set()
    for relay, way, share, harmless in relays:
        rated = plate_current(plan.devices[way.motor], way.connection)
        key = (relay.name, way.motor, round(rated.high * share, 3) if rated else None)
        if key not in seen:
            seen.add(key)
            yield _number(plan, relay, "setting", way, (rated, share), harmless)
    for way in states.connections():
        if way.right and not way.brief and way.source.role == "supply" and way.motor not in protected:
            yield from _unprotected(plan, states, way)


def _of_drive(plan: Plan, drive: Device, ways: tuple[Running, ...], protected: set[str]) -> Iterator[Number]:
    motor = plan.devices[ways[0].motor]
    cared_for = motor.name in protected or motor.values.get("sensor") in SENSED
    stated = given(drive, "settings.motor_current")
    for way in ways if stated or not cared_for else ():
        yield _number(plan, drive, "settings.motor_current", way, (plate_current(motor, way.connection), 1.0), False)


def _unprotected(plan: Plan, states: States, way: Running) -> Iterator[Number]:
    """A motor straight on the mains without an overload relay: a sensor in its winding or a small breaker would do as well."""
    motor, limits = plan.devices[way.motor], table("motor-overload-duty")
    power, rated = plate_figure(motor, "power", way.connection), plate_current(motor, way.connection)
    row = limits.rows[0]
    if power is None or power.value <= float(row["above_w"]):
        return
    most = rated.high * float(row["breaker_percent"]) / 100 if rated else 0.0
    near = [b.name for b in _breakers(plan) if _rating(b) <= most and states.share_of_line(way, b.name)]
    found = [*near, *([f"the sensor in {motor.name}"] if motor.values.get("sensor") in SENSED else [])]
    yield Number(
        name="motor overload protection",
        device=motor.name,
        at=motor.spot,
        value=float(len(found)),
        unit="",
        low=1.0,
        working=f"{power.input.what} {power.input.text}, more than {in_words(float(row['above_w']), 'W')}. Overload relay: none."
        f" Otherwise: {' and '.join(found) or 'nothing'}.",
        inputs=(power.input,),
        source=limits.cite(),
        case=f"in {way.connection} on {way.source.device}",
        devices=(motor.name,),
        advice=f"Put an overload relay into the lines of {motor.name}"
        + (f", set to {in_words(rated.high, 'A')}," if rated else "")
        + " with its contact 95-96 in the circuit of the contactor.",
    )


def _breakers(plan: Plan) -> Iterator[Device]:
    return (device for device in plan.devices.values() if device.kind == "circuit-breaker")


def _rating(breaker: Device) -> float:
    stated = given(breaker, "rating")
    return stated.value if stated else float("inf")


def _relays(plan: Plan, states: States) -> Iterator[tuple[Device, Running, float, bool]]:
    """Each overload relay with a motor behind it, its share of the line's current, and whether the drive protects anyway."""
    for relay in (d for d in plan.devices.values() if d.kind == "overload-relay"):
        for way in states.connections():
            share = 0.0 if way.brief or not way.right else states.share_of_line(way, relay.name)
            if share:
                on_drive = way.source.role == "output"
                harmless = on_drive and given(plan.devices[way.source.device], "settings.motor_current") is not None
                yield relay, way, share, harmless


def _number(plan: Plan, device: Device, path: str, way: Running, current: tuple[Rated | None, float], harmless: bool) -> Number:
    motor, setting = plan.devices[way.motor], given(device, path)
    rated, share = current
    limits = table("motor-protection-na" if plan.machine.region == "NA" else "motor-protection")
    least, most = (float(limits.rows[0][key]) / 100 for key in ("least_percent", "most_percent"))
    meant = rated.high * share if rated and fits(plan, way) else None  # else the connection comes first
    asked = (
        *(() if setting else (missing(device, path, DECIDES),)),
        *(() if rated else (lacks(motor, "current", way.connection, DECIDES),)),
    )
    return Number(
        name="motor protection setting",
        device=device.name,
        at=(setting.input.at if setting else None) or device.spot,
        value=setting.value if setting else None,
        unit="A",
        low=meant * least if meant else None,
        high=meant * most if meant and not harmless else None,
        working=_working(setting, rated, share, (least, most)),
        inputs=_inputs(setting, rated, motor, way),
        source=limits.cite(),
        case=f"for {motor.name} in {way.connection}",
        devices=(device.name, motor.name),
        missing=asked,
        advice=_advice(device, way, meant, share),
    )


def _inputs(setting: Given | None, rated: Rated | None, motor: Device, way: Running) -> tuple[Input, ...]:
    connection = Input(f"connection of {motor.name}", way.connection, motor.lines.get("links", motor.spot), "computed")
    return (connection, *((rated.input,) if rated else ()), *((setting.input,) if setting else ()))


def _working(setting: Given | None, rated: Rated | None, share: float, limits: tuple[float, float]) -> str:
    if rated is None:
        return ""
    text = rated.worked()
    if share < 1:
        amps = in_words(rated.high * share, "A")
        text += f"; times {figure(share)}, for it sits inside the delta and has the current of one winding: {amps}"
    text += f". From {figure(limits[0] * 100)} to {figure(limits[1] * 100)} % of that is right."
    return text + (f" It is set to {setting.input.text}." if setting else "")


def _advice(device: Device, way: Running, meant: float | None, share: float) -> str:
    if meant is None:
        return ""
    what = f"the motor current of {device.name}" if device.kind == "drive" else device.name
    inside = " (it sits inside the delta)" if share < 1 else ""
    return f"Set {what} to {in_words(meant, 'A')}: that is what the plate of {way.motor} makes for {way.connection}{inside}."
