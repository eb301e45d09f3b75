"""A stop or guard stops a drive that was started from its keypad by more than the stop of three-wire control.

That stop is a part of the commands at the terminals, and many drives do not listen to it while the keypad has the command.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.causes import Cause, causes, unstated
from wirecheck.behaviour.drives import PERMITS, DrivePart
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Event
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence, told_event

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "motor", "drive", "input", "happens"})

CAUSES = ("stops", "guards")
"""That an emergency stop asks no more than an input is a danger of its own, whoever started the drive."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each stop or guard, and drive that may go on."""
    states = 0
    found: list[Finding | Proof] = []
    for cause in (cause for group in CAUSES for cause in causes(facts, group)):
        for motor in (name for name, what in cause.must if what == "stopped" and facts.plan.devices[name].kind == "motor"):
            b = facts.view_of(motor, cause.device.name)
            for part in _three_wire_with_keypad(b, motor):
                by_keypad = b.reached & b.moving(motor) & part.bit(b.space, "keypad")
                states += by_keypad.bit_count()
                if _only_asks(b, part, cause, motor, by_keypad):
                    found.append(_finding(rule, b, part, cause, motor))
    yield from found or [rule.proof(states, condition_reached=bool(states))]


def _three_wire_with_keypad(b: Behaviour, motor: str) -> Iterator[DrivePart]:
    for drive in dict.fromkeys(fed.source.device for fed in b.motion(motor).fed if fed.source.role == "output"):
        part = b.drive(drive)
        if part.three_wire and part.has_keypad:
            yield part


def _only_asks(b: Behaviour, part: DrivePart, cause: Cause, motor: str, by_keypad: int) -> int:
    """The states in which the cause has ended a start from the keypad by nothing but the stop of three-wire control."""
    own = next(r for r in b.events if r.event == cause.event)
    stopped = b.after(own, by_keypad) & ~b.moving(motor)
    stopped &= part.bit(b.space, "power") & part.bit(b.space, "torque", b.space.full)
    stopped &= b.space.at(part.name, "healthy")
    connected = 0
    for fed in b.motion(motor).fed:
        connected |= fed.states if fed.source.device == part.name else 0
    for i in part.inputs:
        if i.does in PERMITS and i.does != "run-permit":
            acts = part.active(b.model, i.mark)
            stopped &= acts if i.stops_when_open else ~acts
    return stopped & connected


def _finding(rule: Rule, b: Behaviour, part: DrivePart, cause: Cause, motor: str) -> Finding:
    keypad = next(r for r in b.events if r.event == Event(part.name, "keypad-run"))
    path = b.reach.step_trace(keypad, b.reached & ~b.moving(motor) & ~b.start_held, b.moving(motor))
    return rule.finding(
        cause.device.spot,
        devices=(cause.device.name, part.name, motor),
        evidence=evidence(b, path),
        rests_on=unstated(part.device, {"command_source": "both"}),
        device=cause.device.label(),
        motor=b.plan.devices[motor].label(),
        drive=part.name,
        input=join_words(f"{part.name}:{i.mark}" for i in part.inputs if i.does == "run-permit"),
        happens=told_event(b, cause.event),
    )
