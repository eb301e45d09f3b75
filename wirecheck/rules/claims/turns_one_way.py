"""A motor that nothing is meant to reverse turns the same way in each connection of its windings: each speed, star, delta."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.behaviour import Behaviour
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.claims.can_be_worked import meant_to_reverse
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import evidence

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"motor", "way", "connection", "other"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each motor; where a connection has both directions they are meant, whatever the buttons are called."""
    found: list[Finding | Proof] = []
    reached = False
    for motor in facts.of_kind("motor"):
        b = facts.view_of(motor.name)
        ways = _ways(b, motor.name)
        reached = reached or len(ways) > 1
        directions = [next(iter(each)) for each in ways.values() if len(each) == 1]
        if len(set(directions)) > 1 and len(directions) == len(ways) and not _may_reverse(facts, motor):
            found.append(_finding(rule, b, motor, ways))
    states = sum(b.reached.bit_count() for b in facts.views)
    yield from found or [rule.proof(states, condition_reached=reached)]


def _ways(b: Behaviour, motor: str) -> dict[str, dict[str, int]]:
    """For each connection, the directions in which the motor turns, with the states."""
    found: dict[str, dict[str, int]] = {}
    motion = b.motion(motor)
    for fed in motion.fed:
        for direction, turning in (("forward", motion.forward), ("in reverse", motion.reverse)):
            states = fed.states & turning & b.reached & b.model.supplies.live[fed.source.name]
            if states and fed.windings.right:
                way = found.setdefault(fed.windings.connection, {})
                way[direction] = way.get(direction, 0) | states
    return found


def _may_reverse(facts: Facts, motor: Device) -> bool:
    roles = {facts.plan.devices[name].role for name in facts.influences[motor.name] if name in facts.plan.devices}
    return bool(meant_to_reverse(facts, motor)) or "direction" in roles


def _finding(rule: Rule, b: Behaviour, motor: Device, ways: dict[str, dict[str, int]]) -> Finding:
    """The connection that turns in reverse is shown; of several the one that is soonest there."""
    other = next(name for name, each in ways.items() if "forward" in each)
    traces = {name: path for name, each in ways.items() if "in reverse" in each and (path := b.reach.trace(each["in reverse"]))}
    connection = min(traces, key=lambda name: len(traces[name]))
    return rule.finding(
        motor.spot,
        devices=(motor.name,),
        evidence=evidence(b, traces[connection]),
        motor=motor.label(),
        way="in reverse",
        connection=connection,
        other=other,
    )
