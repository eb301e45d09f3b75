"""Motion that began by pressing a hold-to-run device ends when it is released."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.behaviour import Behaviour, EventRule, Path
from wirecheck.behaviour.parts import rounds_of
from wirecheck.behaviour.space import lowest
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Event
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import evidence, holding_contact, what_keeps, wires_on

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "motor", "held"})


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
            layers = _while_held(b, press, b.moving(motor.name))
            states += sum(layer.bit_count() for layer in layers)
            reached = reached or bool(layers[0])
            path = _trace(b, press, release, layers, b.moving(motor.name))
            if path is not None:
                found.append(_finding(rule, b, device, motor, path))
    yield from found or [rule.proof(states, condition_reached=reached)]


def _while_held(b: Behaviour, press: EventRule, moving: int) -> list[int]:
    """The states in which the press has set the motor going, then those that follow while it turns and nobody starts it again."""
    seen = b.after(press, b.reached & ~moving & ~b.start_held) & moving
    layers = [seen]
    others = [r for r in b.events if r.event.device != press.event.device and not b.is_start(r.event)]
    rounds = rounds_of(others)
    while front := b.reach.after_any(rounds, layers[-1]) & moving & ~seen:
        seen |= front
        layers.append(front)
    return layers


def _trace(b: Behaviour, press: EventRule, release: EventRule, layers: list[int], moving: int) -> Path | None:
    """A shortest trace in which the press sets the motor going and the release does not stop it."""
    for depth, layer in enumerate(layers):
        going_on = b.after(release, layer) & moving
        if going_on:
            number = lowest(b.reach.before(release, going_on, layer))
            path: Path = [(release, lowest(b.after(release, b.space.only(number)) & moving))]
            for earlier in reversed(layers[:depth]):
                rule, before = next((r, s) for r in b.events if (s := b.reach.before(r, b.space.only(number), earlier)))
                path.insert(0, (rule, number))
                number = lowest(before)
            pressed = b.reach.step_trace(press, b.reached & ~moving & ~b.start_held, b.space.only(number))
            return [*pressed, *path] if pressed is not None else None
    return None


def _finding(rule: Rule, b: Behaviour, device: Device, motor: Device, path: Path) -> Finding:
    walk, coils = what_keeps(b, path[-1][1], motor.name)
    held = holding_contact(walk, coils)
    return rule.finding(
        device.spot,
        devices=tuple(dict.fromkeys((device.name, *coils, motor.name))),
        wires=wires_on(b, walk),
        evidence=evidence(b, path, walk),
        device=device.label(),
        motor=motor.label(),
        held=f" The current goes on through {held[0]} and {held[1].mark}." if held else "",
    )
