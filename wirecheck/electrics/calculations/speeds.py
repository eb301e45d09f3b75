"""How fast motor and spindle turn at the highest frequency, and how slowly a motor that cools itself may turn at the lowest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from wirecheck.electrics.calculations.winding_voltage import case_of
from wirecheck.electrics.given import given, missing
from wirecheck.electrics.number import Input, Missing, Number, figure
from wirecheck.electrics.plate import plate_figure, plate_poles
from wirecheck.electrics.states import Running, States
from wirecheck.electrics.tables import limit, table
from wirecheck.plan.model import Device, Plan

NUMBERS = ("motor speed", "spindle speed", "lowest frequency")

LIMITS = "motor-and-machine-limits"
FAN = "lowest lasting speed with a fan on the shaft"
TOO_FAST = "whether the fastest spindle speed is more than spindle or chuck may turn"


class Fastest(NamedTuple):
    """The fastest that a motor turns without load, in rpm, None where it cannot be told, and from what."""

    rpm: float | None
    words: str
    inputs: tuple[Input, ...] = ()
    missing: tuple[Missing, ...] = ()


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """For each way in which a motor turns its speed and the spindle's; for each drive its lowest frequency."""
    fastest = [(way, _fastest(plan, way)) for way in states.connections() if way.right and not way.brief]
    for way, speed in fastest:
        yield from _motor(plan.devices[way.motor], way, speed)
        yield from _cooling(plan, way)
    yield from _spindle(plan, fastest)


def _fastest(plan: Plan, way: Running) -> Fastest:
    """Without load a motor turns at 120 times the frequency by its poles; loaded, a few per cent less."""
    motor, source = plan.devices[way.motor], plan.devices[way.source.device]
    path = "settings.max_frequency" if way.source.role == "output" else "frequency"
    hertz = given(source, path)
    poles, inputs = _poles(motor, way.connection)
    if source.kind not in ("mains", "drive") or hertz is None or poles is None:
        asked = (*(() if hertz else (missing(source, path, TOO_FAST),)), *(() if poles else (missing(motor, "poles", TOO_FAST),)))
        return Fastest(None, "", (), asked)
    rpm = 120 * hertz.value / poles
    words = f"Without load 120 times {hertz.input.text} divided by {poles} poles is {figure(rpm)} rpm."
    return Fastest(rpm, words, (hertz.input, *inputs))


def _poles(motor: Device, connection: str) -> tuple[int | None, tuple[Input, ...]]:
    """The poles of the plate, or those whose speed without load is next above the plate's speed."""
    stated = plate_poles(motor, connection)
    if stated:
        return stated, (Input(f"{motor.name} poles", str(motor.values["poles"]), motor.lines.get("poles", motor.spot)),)
    hertz, speed = given(motor, "frequency"), plate_figure(motor, "speed", connection)
    if hertz is None or speed is None or speed.value > 60 * hertz.value:
        return None, ()
    return 2 * int(60 * hertz.value / speed.value), (hertz.input, speed.input)


def _motor(motor: Device, way: Running, speed: Fastest) -> Iterator[Number]:
    """Against its maker's limit, or the usual one for so many poles."""
    if speed.rpm is None:
        return
    stated, limits = given(motor, "max_speed"), table("motor-maximum-speed")
    row = limits.row(poles=float(_poles(motor, way.connection)[0] or 0))
    high = stated.value if stated else float(row["most_rpm"]) if row else None
    allowed = f" {stated.input.what} is {stated.input.text}." if stated else ""
    allowed = allowed or ("" if high is None else f" A small motor of so many poles usually bears {figure(high)} rpm.")
    yield Number(
        name="motor speed",
        device=motor.name,
        at=motor.spot,
        value=speed.rpm,
        unit="rpm",
        high=high,
        working=f"{speed.words}{allowed}",
        inputs=(*speed.inputs, *((stated.input,) if stated else ())),
        source="the motor's plate or manual" if stated else limits.cite() if high else "",
        case=case_of(way),
        devices=(motor.name, way.source.device),
    )


def _spindle(plan: Plan, fastest: Sequence[tuple[Running, Fastest]]) -> Iterator[Number]:
    """The fastest motor in the fastest belt or gear step; of several motors nobody knows which one drives the spindle."""
    spindle = plan.machine.values.get("spindle")
    ratios = spindle.get("ratios") if isinstance(spindle, dict) else None
    motors = {way.motor for way, _ in fastest}
    if not isinstance(ratios, list | tuple) or not ratios or len(motors) != 1:
        return
    limit, ratio = given(plan.machine, "spindle.speed_limit"), max(float(str(r)) for r in ratios)
    unknown = next((speed for _, speed in fastest if speed.rpm is None), None)
    way, speed = max(fastest, key=lambda pair: pair[1].rpm or 0.0)
    at = plan.machine.lines.get("spindle", plan.machine.spot)
    asked = (*(unknown.missing if unknown else ()), *(() if limit else (missing(plan.machine, "spindle.speed_limit", TOO_FAST),)))
    steps = Input("machine spindle ratios", ", ".join(map(str, ratios)), plan.machine.lines.get("spindle.ratios", at))
    rpm = None if unknown or speed.rpm is None else speed.rpm * ratio
    yield Number(
        name="spindle speed",
        device=way.source.device,
        at=plan.machine.lines.get("spindle.speed_limit", at),
        value=rpm,
        unit="rpm",
        high=limit.value if limit else None,
        working="" if rpm is None else f"{speed.words} Times {figure(ratio)}, the fastest step: {figure(rpm)} rpm.",
        inputs=(*speed.inputs, steps, *((limit.input,) if limit else ())),
        source="common practice",
        devices=(way.source.device, way.motor),
        missing=asked,
        advice=_slower(plan, way, rpm, limit.value if limit else None),
    )


def _slower(plan: Plan, way: Running, rpm: float | None, limit: float | None) -> str:
    hertz = given(plan.devices[way.source.device], "settings.max_frequency")
    if rpm is None or limit is None or hertz is None:
        return "Take the fastest belt or gear step away, or use a chuck that may turn so fast."
    return f"Set max_frequency of {way.source.device} to at most {int(hertz.value * limit / rpm)} Hz, or block the fastest step."


def _cooling(plan: Plan, way: Running) -> Iterator[Number]:
    """A fan on the shaft turns as slowly as the motor. A sensor in the winding would tell that it gets hot."""
    motor, drive = plan.devices[way.motor], plan.devices[way.source.device]
    least, own = given(drive, "settings.min_frequency"), given(motor, "frequency")
    if motor.values.get("cooling") != "shaft-fan" or way.source.role != "output" or least is None or own is None:
        return
    share = limit(FAN, of=LIMITS)
    sensed = motor.values.get("sensor") in ("thermistor", "opens-when-hot")
    yield Number(
        name="lowest frequency",
        device=drive.name,
        at=least.input.at or drive.spot,
        value=least.value,
        unit="Hz",
        low=None if sensed else own.value * share / 100,
        working=f"{figure(share)} % of the motor's {own.input.text} is {figure(own.value * share / 100)} Hz."
        + (" A sensor in the winding tells when it gets hot." if sensed else ""),
        inputs=(least.input, own.input, Input(f"{motor.name} cooling", "shaft-fan", motor.lines.get("cooling", motor.spot))),
        source=table(LIMITS).cite(),
        case=f"for {motor.name} with its fan on the shaft",
        devices=(drive.name, motor.name),
    )
