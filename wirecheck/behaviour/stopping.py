"""How a motor comes to rest: whether its drive still has power and torque to slow it down, and what takes these away later."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.behaviour.coils import IN, TimerPart
from wirecheck.behaviour.space import minus
from wirecheck.plan.model import Event


class Late(NamedTuple):
    """A delay whose end takes a drive's power or torque while the drive is told to stop; `delay_s` is 0 where not stated.

    `states` are those in which the delay runs; where `idle`, those before a stop at which it does not.
    """

    drive: str
    device: str
    delay_s: float
    states: int
    idle: bool = False


def able(b: Behaviour, drive: str) -> int:
    """The states in which a drive has power and torque, so that it can slow its motor down."""
    part = b.drive(drive)
    return part.bit(b.space, "power") & part.bit(b.space, "torque", b.space.full)


def late_torque_off(b: Behaviour) -> Iterator[Late]:
    """The second stages of two-stage stops: the drive has stopped by command, and the end of a delay disables it."""
    drives = [d.name for d in b.plan.devices.values() if d.kind == "drive"]
    for rule in b.events if drives else ():
        device = rule.event.device
        pending = b.pending(device) & b.reached if rule.event.position == "elapsed" else 0
        for drive in drives if pending else ():
            stopping = pending & able(b, drive) & ~b.running(drive)
            after = b.after(rule, stopping) & ~able(b, drive) if stopping else 0
            if after:
                states = b.reach.before(rule, after, stopping)
                yield Late(drive, device, _delay(b, device, states), states)


def idle_delays(b: Behaviour) -> Iterator[Late]:
    """Delays in a drive's torque-off that do nothing at a stop: the timer waits when it pulls in, and drops out at once.

    Only where the same event tells the drive to stop on another way too, as the first stage of a stop of two does.
    """
    timers = [p for p in b.model.parts.values() if isinstance(p, TimerPart) and not p.off_delay]
    drives = [d.name for d in b.plan.devices.values() if d.kind == "drive"] if timers else []
    for name in drives:
        part = b.drive(name)
        raw = part.raw(b.model)
        for timer in timers:
            elapsed = b.space.at(timer.clock, IN)
            if not raw.torque or minus(raw.torque, elapsed) or not minus(raw.permit, elapsed):
                continue  # without its contact torque, or it takes the permit too
            before = b.reached & elapsed & b.running(name)
            for rule in b.events if before else ():
                after = minus(b.after(rule, before), elapsed | able(b, name) | raw.permit)
                if after and raw.power & after:
                    yield Late(name, timer.name, 0.0, b.reach.before(rule, after, before), idle=True)
                    break


def _delay(b: Behaviour, device: str, states: int) -> float:
    """The shortest delay of a device that runs in any of the states."""
    return min((seconds for seconds, mask, _ in b.model.parts[device].pending(b.model) if mask & states), default=0.0)


def drives_that_slow_down(b: Behaviour, motor: str, event: Event) -> tuple[frozenset[str], bool]:
    """After an event that stops a motor: the drives that may then still slow it down, and whether it may also just run down."""
    rule = next((r for r in b.events if r.event == event), None)
    turning = b.reached & b.moving(motor)
    after = b.after(rule, turning) & ~b.moving(motor) if rule and turning else 0
    able_still, slowed = set(), 0
    for fed in b.motion(motor).fed if after else ():
        drive = fed.source.device
        if fed.source.role == "output" and (held := after & fed.states & able(b, drive)):
            able_still.add(drive)
            slowed |= held
    return frozenset(able_still), bool(after & ~slowed)
