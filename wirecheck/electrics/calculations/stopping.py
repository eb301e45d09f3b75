"""How long a machine takes to stop, and what that must be held against: a delay, a guard."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from wirecheck.electrics.calculations.braking import stop_mode
from wirecheck.electrics.given import Given, given, missing
from wirecheck.electrics.number import Input, Missing, Number, figure, in_words
from wirecheck.electrics.states import LateTorqueOff, States
from wirecheck.electrics.tables import limit, table
from wirecheck.plan.model import Device, Plan

NUMBERS = ("torque-off delay", "run-down behind a guard", "run-down after an emergency stop")

LIMITS = "motor-and-machine-limits"
BEHIND_A_GUARD = "run-down behind a guard that is not locked"
RAMP = "settings.stop.time"


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """For each delayed torque-off and each guard that is not locked."""
    for late in states.late_torque_off():
        for number in _delay(plan, late):
            yield number._replace(events=partial(states.events_to, late))
    for guard in (d for d in plan.devices.values() if d.kind == "guard-switch"):
        if guard.values.get("locking") is not True:
            yield from _guard(plan, states, guard)
    for button in (d for d in plan.devices.values() if d.kind == "emergency-stop"):
        yield from _emergency_stop(plan, states, button)


def _delay(plan: Plan, late: LateTorqueOff) -> Iterator[Number]:
    drive, timer = plan.devices[late.drive], plan.devices[late.device]
    if stop_mode(drive) == "coast":
        return
    ramp, seconds = given(drive, RAMP), late.delay_s
    decides = "whether the drive has stopped the motor before its torque is taken away"
    asked: tuple[Missing, ...] = () if ramp else (missing(drive, RAMP, decides),)
    asked += () if seconds is not None else (missing(timer, "delay", decides),)
    at = timer.lines.get("mode" if late.idle else "delay", timer.spot)
    yield Number(
        name="torque-off delay",
        device=timer.name,
        at=at,
        value=seconds,
        unit="s",
        low=ramp.value if ramp else None,
        working=_delay_working(late, ramp) if ramp and seconds is not None else "",
        inputs=(
            *((Input(f"{timer.name} delay", in_words(seconds, "s"), at),) if seconds else ()),
            *((ramp.input,) if ramp else ()),
        ),
        source="common practice",
        case=f"of {drive.name}",
        devices=(timer.name, drive.name),
        missing=asked,
        advice=_delay_advice(late, ramp) if ramp else "",
    )


def _delay_working(late: LateTorqueOff, ramp: Given) -> str:
    waits = f"waits {in_words(late.delay_s or 0, 's')}" if not late.idle else "waits when it pulls in, and drops out at once"
    return f"{late.device} {waits}; the ramp of {late.drive} takes {ramp.input.text} from full speed."


def _delay_advice(late: LateTorqueOff, ramp: Given) -> str:
    if late.idle:
        return (
            f"Take a {late.device} with off-delay (mode: off-delay), set a little longer than {ramp.input.text}: its contacts "
            "must stay closed for that time after its coil has lost its voltage."
        )
    return f"Set the delay of {late.device} a little longer than {ramp.input.text}, or the ramp of {late.drive} shorter."


def _guard(plan: Plan, states: States, guard: Device) -> Iterator[Number]:
    """What turns on after the guard is opened: for the ramp where a drive slows it down, else for the run-down time."""
    slowest: tuple[str, Given | None, Missing | None] | None = None
    for motor in (d for d in plan.devices.values() if d.kind == "motor"):
        how = states.slowed_down_by(motor.name, guard.name, "open")
        if how is not None:
            one = _standstill(plan, motor.name, *how)
            if slowest is None or _seconds(one[1]) > _seconds(slowest[1]):
                slowest = one
    if slowest is None:
        return
    motor_name, takes, asked = slowest
    limits, high = table(LIMITS), limit(BEHIND_A_GUARD, of=LIMITS)
    yield Number(
        name="run-down behind a guard",
        device=guard.name,
        at=guard.spot,
        value=takes.value if takes else None,
        unit="s",
        high=high,
        working=f"{takes.input.what} {takes.input.text}. A hand is there about {figure(high)} s after opening." if takes else "",
        inputs=(takes.input,) if takes else (),
        source=limits.cite(),
        case=f"until {motor_name} stands still",
        devices=(guard.name, motor_name),
        missing=(asked,) if asked else (),
    )


def _emergency_stop(plan: Plan, states: States, button: Device) -> Iterator[Number]:
    """One that takes the torque of a drive, which then runs down, against the ramp of its ordinary stop."""
    run_down, limits = given(plan.machine, "run_down_time"), table(LIMITS)
    share = limit("run-down after an emergency stop by the ramp of the ordinary stop", of=LIMITS)
    short = limit(BEHIND_A_GUARD, of=LIMITS)
    for motor, drive in {way.motor: way.source.device for way in states.connections() if way.source.role == "output"}.items():
        ramp, how = given(plan.devices[drive], RAMP), states.slowed_down_by(motor, button.name, "pressed")
        if run_down is None or ramp is None or stop_mode(plan.devices[drive]) == "coast" or how is None or not how[1]:
            continue
        yield Number(
            name="run-down after an emergency stop",
            device=button.name,
            at=button.spot,
            value=run_down.value,
            unit="s",
            high=max(short, ramp.value * share / 100),
            working=f"It takes the power or the torque of {drive} away, and the machine runs down: {run_down.input.text}."
            f" The ordinary stop takes {ramp.input.text}. Twice that, or {figure(short)} s, is let pass.",
            inputs=(run_down.input, ramp.input),
            source=limits.cite(),
            case=f"until {motor} stands still",
            devices=(button.name, drive, motor),
        )


def _seconds(takes: Given | None) -> float:
    return float("inf") if takes is None else takes.value


def _standstill(plan: Plan, motor: str, drives: frozenset[str], runs_down: bool) -> tuple[str, Given | None, Missing | None]:
    """The motor, how long it turns on in the worse case, and the question where that is not stated."""
    decides = "whether somebody who opens a guard can reach what still turns"
    ramped = [plan.devices[name] for name in sorted(drives)]
    if runs_down or any(stop_mode(drive) == "coast" for drive in ramped):
        found = given(plan.machine, "run_down_time")
        return motor, found, None if found else missing(plan.machine, "run_down_time", decides)
    times = [(drive, given(drive, RAMP)) for drive in ramped]
    drive, slowest = max(times, key=lambda pair: _seconds(pair[1]))
    return motor, slowest, None if slowest else missing(drive, RAMP, decides)
