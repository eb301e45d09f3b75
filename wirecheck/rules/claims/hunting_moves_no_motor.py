"""No motor is set going by a circuit that pulls in and drops out without end, at an event that is no start."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.behaviour import Behaviour, EventRule, Path
from wirecheck.behaviour.space import lowest
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.claims.motion_begins_only_at_a_start import group_of
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence, told_event

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"motor", "event", "happens", "moving"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each motor that a circuit without rest sets going."""
    states = 0
    found: list[Finding | Proof] = []
    for motor in facts.of_kind("motor"):
        b = facts.view_of(motor.name)
        states += b.passed.bit_count()
        turning = b.passed & b.moving(motor.name) & b.reach.settling.restless
        turning &= b.reach.restless_for_ever() if turning else 0
        path = _trace(b, turning, b.reached & ~b.moving(motor.name) & ~b.start_held) if turning else None
        if path is not None:
            found.append(_finding(rule, b, motor, path))
    yield from found or [rule.proof(states)]


def _trace(b: Behaviour, turning: int, still: int) -> Path | None:
    """A shortest trace from rest to the motor's turning in a circuit that never rests, by an event that is no start."""
    leading = b.reach.leading(turning)
    for depth, layer in enumerate(b.reach.layers):
        for r in b.reach.last_first:
            before = b.reach.before(r, turning, layer & still, leading) if _is_no_start(b, r) else 0
            if before:
                number = lowest(before)
                return [*b.reach.walk(number, depth), (r, lowest(b.reach.settling.fire(r, b.space.only(number))[1] & turning))]
    return None


def _is_no_start(b: Behaviour, r: EventRule) -> bool:
    """Whether motion must not begin at an event; the end of a delay belongs to what began it, protection is put back by hand."""
    if b.is_start(r.event) or r.event.position == "elapsed":
        return False
    return group_of(b.plan.devices[r.event.device], r.event.position) != "protection"


def _finding(rule: Rule, b: Behaviour, motor: Device, path: Path) -> Finding:
    round_and_round = b.reach.settling.passing(b.space.only(path[-1][1]))
    hunting = [name for name in b.plan.devices if b.within(name) & round_and_round and ~b.within(name) & round_and_round]
    last = path[-1][0]
    assert last is not None
    return rule.finding(
        b.plan.devices[(hunting or [motor.name])[0]].spot,
        devices=tuple(dict.fromkeys((*hunting, motor.name))),
        evidence=evidence(b, path),
        motor=motor.label(),
        moving=join_words(b.plan.devices[name].label() for name in hunting) or motor.label(),
        event=str(last.event),
        happens=told_event(b, last.event),
    )
