"""What a button or selector does is the same whichever of its contacts is faster."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour, EventRule, Path
from wirecheck.behaviour.motion import motion_of
from wirecheck.behaviour.variants import at_once, slow_plan
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device, Plan
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence, told_event

CONDITIONS = {
    "required": ["of"],
    "properties": {
        "of": {
            "description": "hold-to-run: jog buttons and pedals that must be held. others: all else that a hand works.",
            "enum": ["hold-to-run", "others"],
        }
    },
}
WORDS = frozenset({"device", "motor", "event", "how", "happens"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device and motor."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for view in facts.views:
        for device in _chosen(view.plan, str(rule.claim["of"])):
            b = facts.with_slow_contacts(view)
            reached = True
            states += b.reached.bit_count()
            found += list(_of_device(rule, b, device))
    yield from found or [rule.proof(states, condition_reached=reached)]


def _chosen(plan: Plan, of: str) -> Iterator[Device]:
    slow = slow_plan(plan)
    for device in slow.devices.values() if slow is not None else ():
        matters = "break_before_make" in device.values or "make_before_break" in device.values
        if matters and (device.role == "jog") == (of == "hold-to-run"):
            yield device


def _of_device(rule: Rule, b: Behaviour, device: Device) -> Iterator[Finding]:
    told: set[str] = set()
    for event in b.events:
        if event.event.device != device.name or len(event.stages) < 2:
            continue
        for motor in b.motors:
            path = None if motor in told else _different(b, event, motor)
            if path is not None:
                told.add(motor)
                overlap = "make_before_break" in device.values
                yield rule.finding(
                    device.spot,
                    devices=(device.name, motor),
                    evidence=_both_ways(b, evidence(b, path), event, path[-2][1], motor, overlap),
                    device=device.label(),
                    motor=b.plan.devices[motor].label(),
                    event=str(event.event),
                    happens=told_event(b, event.event),
                    how="may overlap on the way" if overlap else "do not change at the same moment",
                )


def _both_ways(b: Behaviour, shown: Evidence, slow: EventRule, before: int, motor: str, overlap: bool) -> Evidence:
    """The evidence with what the motor does at the last step either way: one outcome alone would look like no harm."""
    ways = {"overlap" if overlap else "are all open for a moment": slow, "change at one moment": at_once(b, slow)}
    told = ", and ".join(f"where its contacts {how} {motor} {_does(b, motor, rule, before)}" for how, rule in ways.items())
    last = shown.steps[-1]
    step = last._replace(moved=(), motion={}, notes=(*last.notes, told))
    return shown._replace(steps=(*shown.steps[:-1], step))


def _does(b: Behaviour, motor: str, event: EventRule, before: int) -> str:
    outcomes = _outcomes(b, motor, event, b.space.only(before))
    return join_words((words for words, states in outcomes.items() if states), "or")


def _outcomes(b: Behaviour, motor: str, event: EventRule, domain: int) -> dict[str, int]:
    """The states of `domain` from which an event may lead to each of what a motor can do.

    With its contacts the other way an event leads to states that are not reached: what moves there is worked out for them alone.
    """
    after = b.after(event, domain)
    motion = motion_of(b.model, b.plan.devices[motor], after)
    ends = {"runs forward": motion.forward, "runs in reverse": motion.reverse, "stands": ~motion.moving}
    return {words: b.reach.settling.before(event, after & states, domain) for words, states in ends.items()}


def _different(b: Behaviour, slow: EventRule, motor: str) -> Path | None:
    """A trace to a state in which the motor does after the event with the contacts one way what it never does with the other."""
    one, other = (_outcomes(b, motor, event, b.reached) for event in (slow, at_once(b, slow)))
    differ = 0
    for words, states in one.items():
        differ |= states ^ other[words]
    return b.reach.step_trace(slow, differ, b.space.full) if differ else None
