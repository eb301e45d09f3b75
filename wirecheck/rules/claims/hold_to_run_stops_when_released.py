"""Motion that began by pressing a hold-to-run device ends when it is released."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.behaviour import Behaviour
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Event
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import evidence, what_keeps, wires_on

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "motor"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each jog device and motor."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for device in facts.plan.devices.values():
        if device.role != "jog" or len(device.positions) < 2:
            continue
        for motor in facts.of_kind("motor"):
            b = facts.view_of(motor.name, device.name)
            press, release = (
                next((r for r in b.events if r.event == Event(device.name, p)), None) for p in device.positions[1::-1]
            )
            if press is None or release is None:
                continue
            moving = b.moving(motor.name)
            jogged = _while_held(b, b.after(press, b.reached & ~moving & ~b.start_held) & moving, moving, device.name)
            states += jogged.bit_count()
            reached = reached or bool(jogged)
            path = b.reach.step_trace(release, jogged, moving) if b.after(release, jogged) & moving else None
            if path is not None:
                walk, coils = what_keeps(b, path[-1][1], motor.name)
                found.append(
                    rule.finding(
                        device.spot,
                        devices=tuple(dict.fromkeys((device.name, *coils, motor.name))),
                        wires=wires_on(b, walk),
                        evidence=evidence(b, path, walk),
                        device=device.label(),
                        motor=motor.label(),
                    )
                )
    yield from found or [rule.proof(states, condition_reached=reached)]


def _while_held(b: Behaviour, states: int, moving: int, device: str) -> int:
    """The states that follow while the jog stays held and the motor turns, without any other start."""
    seen = front = states
    while front:
        after = 0
        for r in b.events:
            if r.event.device != device and not b.is_start(r.event):
                after |= b.after(r, front)
        front = after & moving & ~seen
        seen |= front
    return seen
