"""The windings of every motor are joined in a proper way in every state in which it turns; what they get is a number."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.motion import Fed
from wirecheck.circuit.elements import windings_of
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence

CONDITIONS: dict[str, object] = {"properties": {}}
WORDS = frozenset({"motor", "connection"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each motor and each wrong connection."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for motor in facts.of_kind("motor"):
        b = facts.view_of(motor.name)
        turning = b.moving(motor.name) & b.reached
        states += turning.bit_count()
        if not turning:
            turning = b.reached  # it never turns: then whatever reaches it is looked at
        for fed in _distinct(b, motor, turning):
            reached = True
            found += list(_connection(rule, b, motor, fed, turning))
    yield from found or [rule.proof(states, condition_reached=reached)]


def _distinct(b: Behaviour, motor: Device, turning: int) -> Iterator[Fed]:
    """Each connection in which the motor turns, once; where it never turns, each in which poles reach it in vain."""
    seen = set()
    motion = b.motion(motor.name)
    for fed in motion.fed or [f for f in motion.idle if f.states & b.model.supplies.live[f.source.name] & turning]:
        key = (fed.source.name, fed.windings.connection)
        if fed.states & turning and key not in seen:
            seen.add(key)
            yield fed


def _trace(b: Behaviour, fed: Fed, turning: int) -> Evidence:
    return evidence(b, b.reach.trace(fed.states & turning & b.model.supplies.live[fed.source.name]))


def _connection(rule: Rule, b: Behaviour, motor: Device, fed: Fed, turning: int) -> Iterator[Finding]:
    wrong = "" if fed.windings.right else fed.windings.connection
    if not wrong and (earth := _earth_at_star_point(b, motor, fed, turning)):
        wrong = f"{fed.windings.connection}, with the star point joined to {earth}"
    if not wrong and (left_out := _without_a_phase(b, motor, fed, turning)):
        wrong = f"{fed.windings.connection}, but no phase reaches {join_words(left_out, last='or')}"
    if wrong:
        yield _finding(rule, b, motor, fed, _trace(b, fed, turning), wrong)


def _earth_at_star_point(b: Behaviour, motor: Device, fed: Fed, turning: int) -> Terminal | None:
    """What the star point is joined to besides the windings: earth, or a pole of another source."""
    poles = (p for s in b.model.sources if s is not fed.source for p in s.poles)
    others = dict.fromkeys((motor.terminal("PE"), *poles))
    ends = _ends(motor)
    free = dict.fromkeys(ends, fed.states & turning)
    for end in ends:
        for pole in fed.source.poles:
            free[end] &= ~b.model.supplies.at(fed.source, pole, end)
    return next((other for other in others for end, states in free.items() if b.joined(end, other) & states), None)


def _without_a_phase(b: Behaviour, motor: Device, fed: Fed, turning: int) -> list[str]:
    """The ends that no phase ever reaches where the others are fed; a blown fuse is no wrong connection."""
    ways = [f for f in b.motion(motor.name).fed if f.source is fed.source and f.states & turning]
    if any(len(set(_fed_ends(b, motor, way).values())) > 2 for way in ways):
        return []
    capacitors = [d.terminal(mark) for d in b.plan.devices.values() if d.kind == "capacitor" for mark in d.marks]
    if any(b.joined(end, at) for end in _ends(motor) for at in capacitors):  # it makes the third phase of a single-phase supply
        return []
    reached = _fed_ends(b, motor, fed)
    return [
        f"{motor.name}:{p}{n}"
        for n in sorted({end.mark[1] for end in reached})
        for p in "UVW"
        if motor.terminal(f"{p}{n}") not in reached
    ]


def _ends(motor: Device) -> tuple[Terminal, ...]:
    """The ends of a motor's windings that are terminals."""
    return tuple(dict.fromkeys(motor.terminal(mark) for pair in windings_of(motor) for mark in pair if not mark.startswith("*")))


def _fed_ends(b: Behaviour, motor: Device, fed: Fed) -> dict[Terminal, Terminal]:
    """The ends that a pole of the source reaches, each with the pole."""
    at = b.model.supplies.at
    return {end: pole for end in _ends(motor) for pole in fed.source.poles if at(fed.source, pole, end) & fed.states}


def _finding(rule: Rule, b: Behaviour, motor: Device, fed: Fed, shown: Evidence, connection: str) -> Finding:
    ends = {motor.terminal(mark) for pair in windings_of(motor) for mark in pair}
    return rule.finding(
        motor.lines.get("links", motor.spot),
        devices=(motor.name, fed.source.device),
        wires=dict.fromkeys(w.number for w in b.plan.wires if {w.a, w.b} & ends),
        evidence=shown,
        motor=motor.label(),
        connection=connection,
    )
