"""An emergency stop or guard takes away the drive's power or torque, and does not only ask one ordinary input."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour, Path
from wirecheck.behaviour.causes import Cause, about_to_stop, causes
from wirecheck.behaviour.space import has
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Terminal
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence

CONDITIONS = {
    "required": ["causes"],
    "properties": {
        "causes": {"description": "What must take power or torque away.", "enum": ["guards", "emergency-stops"]},
        "danger_from_level": {
            "description": "From this required level on (ISO 13849-1) a finding is a danger, whatever the rule says.",
            "enum": ["a", "b", "c", "d", "e"],
        },
    },
}
WORDS = frozenset({"device", "motor", "drive"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each cause and drive that keeps its power and its torque."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for cause in causes(facts, str(rule.claim["causes"])):
        for motor, what in cause.must:
            if what != "stopped" or facts.plan.devices[motor].kind != "motor":
                continue
            b = facts.view_of(motor, cause.device.name)
            held = b.reached & b.at(cause.event.device, cause.event.position)
            states += held.bit_count()
            reached = reached or bool(held)
            for drive, bad in _still_able(b, cause, motor, held).items():
                found.append(_finding(rule, facts, b, cause, motor, drive, bad))
    yield from found or [rule.proof(states, condition_reached=reached)]


def _still_able(b: Behaviour, cause: Cause, motor: str, held: int) -> dict[str, int]:
    """For each drive that the cause stops: the states with the cause held in which it has power, torque and the motor."""
    found = {}
    own = next(r for r in b.events if r.event == cause.event)
    for drive in dict.fromkeys(fed.source.device for fed in b.motion(motor).fed if fed.source.role == "output"):
        part = b.drive(drive)
        connected = 0
        for fed in b.motion(motor).fed:
            connected |= fed.states if fed.source.device == drive else 0
        able = part.bit(b.space, "power") & part.bit(b.space, "torque", b.space.full) & connected
        stopped = held & ~b.moving(motor) & able
        bad = stopped & b.after(own, b.reached & b.moving(motor))
        bad &= ~about_to_stop(b, bad, able)
        if bad:
            found[drive] = bad
    return found


def _finding(rule: Rule, facts: Facts, b: Behaviour, cause: Cause, motor: str, drive: str, bad: int) -> Finding:
    own = next(r for r in b.events if r.event == cause.event)
    path = b.reach.step_trace(own, b.moving(motor), bad)
    above = rule.claim.get("danger_from_level")
    level = cause.function.level if cause.function else None
    severity = "danger" if above and level and level >= str(above) else None
    asked = join_words(_asked(facts, b, drive, path))
    return rule.finding(
        cause.device.spot,
        devices=(cause.device.name, drive),
        evidence=evidence(b, path),
        severity=severity,
        device=cause.device.label(),
        motor=b.plan.devices[motor].label(),
        drive=f"{drive} at {asked}" if asked else drive,
    )


def _asked(facts: Facts, b: Behaviour, drive: str, path: Path | None) -> Iterator[str]:
    """The inputs of a drive to which the last event of a trace gave a pole of a supply, or from which it took one."""
    if path is None or len(path) < 2:
        return
    before, after = path[-2][1], path[-1][1]
    for i in b.drive(drive).inputs:
        levels = (b.joined(Terminal(drive, i.mark), pole) for pole in facts.poles)
        if i.does not in ("unused", "preset") and any(has(level, before) != has(level, after) for level in levels):
            yield f"{i.mark} ({i.does})"
