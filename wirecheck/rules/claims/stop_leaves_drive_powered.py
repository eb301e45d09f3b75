"""An everyday stop leaves the drive its supply: a line contactor is no start and stop switch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.causes import Cause, causes
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device, Quantity
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import evidence

CONDITIONS: dict[str, object] = {"properties": {}}
WORDS = frozenset({"device", "motor", "drive", "limit"})

EVERYDAY = ("stops", "selectors")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each stop that takes a drive's power, where no other everyday stop of that motor leaves it."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for motor in facts.of_kind("motor"):
        stops = [cause for group in EVERYDAY for cause in causes(facts, group) if (motor.name, "stopped") in cause.must]
        seen = [(cause, _takes_power(facts.view_of(motor.name, cause.device.name), cause, motor.name)) for cause in stops]
        real = [(cause, drive, shown) for cause, (drive, shown) in seen if drive]
        states += sum(facts.view_of(motor.name).reached.bit_count() for _ in seen)
        reached = reached or bool(real)
        if real and all(shown is not None for _, _, shown in real):
            found += list(_findings(rule, facts, motor, real))
    yield from found or [rule.proof(states, condition_reached=reached)]


def _takes_power(b: Behaviour, cause: Cause, motor: str) -> tuple[str, Evidence | None]:
    """The drive that feeds the motor which the cause stops, empty where there is none, and how it loses its power by that."""
    own = next((r for r in b.events if r.event == cause.event), None)
    drives = dict.fromkeys(fed.source.device for fed in b.motion(motor).fed if fed.source.role == "output")
    running = b.reached & b.moving(motor)
    for drive in drives if own else ():
        part = b.drive(drive)
        power = part.bit(b.space, "power")
        after = b.after(own, running & power) & ~b.moving(motor) if own else 0
        if own and after:
            path = b.reach.step_trace(own, running & power, after & ~power) if after & ~power else None
            return drive, evidence(b, path) if path else None
    return "", None


def _findings(rule: Rule, facts: Facts, motor: Device, real: Iterable[tuple[Cause, str, Evidence | None]]) -> Iterator[Finding]:
    for cause, drive, shown in real:
        yield rule.finding(
            cause.device.spot,
            devices=(cause.device.name, drive, motor.name),
            evidence=shown,
            device=cause.device.label(),
            motor=motor.label(),
            drive=facts.plan.devices[drive].label(),
            limit=_interval(facts.plan.devices[drive]),
        )


def _interval(drive: Device) -> str:
    """What the manual says of switching on again, in words."""
    given = drive.values.get("input")
    stated = given.get("switch_on_interval") if isinstance(given, dict) else None
    if isinstance(stated, Quantity):
        return f"By its manual at least {stated.text} must pass from one switching-on to the next."
    return "Its manual says how many times an hour it may be switched on; the plan does not (input.switch_on_interval)."
