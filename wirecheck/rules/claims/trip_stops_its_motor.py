"""An overload relay that trips stops the motor whose current goes through it.

Which motor that is the computed settings know. A relay behind a drive is an extra, for the drive protects its motor; one that is
written without contacts is a motor breaker, which opens the lines itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product

from wirecheck.behaviour import Behaviour, Path
from wirecheck.behaviour.causes import about_to_stop
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence, what_keeps, wires_on

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "motor", "contacts", "through"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each relay and each motor behind it that its trip does not stop."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for relay, motor in _pairs(facts):
        b = facts.view_of(motor.name, relay.name)
        through = _through(b, relay, motor)
        states += b.reached.bit_count()
        reached = reached or bool(through)
        path = _goes_on(b, relay, motor, through) if through else None
        if path is not None:
            found.append(_finding(rule, b, relay, motor, path))
    yield from found or [rule.proof(states, condition_reached=reached)]


def _pairs(facts: Facts) -> Iterator[tuple[Device, Device]]:
    devices = facts.plan.devices
    settings = (n.devices for n in facts.numbers if n.name == "motor protection setting" and len(n.devices) == 2)
    for name, motor in dict.fromkeys(settings):
        if devices[name].kind == "overload-relay" and devices[name].contacts:
            yield devices[name], devices[motor]


def _through(b: Behaviour, relay: Device, motor: Device) -> int:
    """The states in which the motor turns on the mains by way of the relay: of two for two speeds each has its own."""
    of_contacts = {mark for c in relay.contacts for mark in (c.a, c.b)}
    heaters = [relay.terminal(mark) for mark in relay.marks if mark not in of_contacts]
    found = 0
    for fed in b.motion(motor.name).fed:
        if fed.source.role != "output":
            ends = [motor.terminal(mark) for pair in fed.windings.volts for mark in pair if not mark.startswith("*")]
            for heater, end, pole in product(heaters, ends, fed.source.poles):
                found |= fed.states & b.joined(heater, end) & b.model.supplies.at(fed.source, pole, heater)
    return found & b.reached & b.moving(motor.name)


def _goes_on(b: Behaviour, relay: Device, motor: Device, through: int) -> Path | None:
    """A trace to the trip that the motor outlives; to the motor running where the trip changes nothing that was looked at."""
    trip = next((r for r in b.events if (r.event.device, r.event.position) == (relay.name, "tripped")), None)
    if trip is None:
        return b.reach.trace(through)
    running = through & ~b.at(relay.name, "tripped")
    bad = b.after(trip, running) & b.moving(motor.name) if running else 0
    bad &= ~about_to_stop(b, bad, b.moving(motor.name))
    return b.reach.step_trace(trip, running, bad) if bad else None


def _finding(rule: Rule, b: Behaviour, relay: Device, motor: Device, path: Path) -> Finding:
    walk, coils = what_keeps(b, path[-1][1], motor.name)
    return rule.finding(
        relay.spot,
        devices=(relay.name, *coils, motor.name),
        wires=wires_on(b, walk),
        evidence=evidence(b, path, walk),
        device=relay.label(),
        motor=motor.label(),
        contacts=join_words([f"{c.a}-{c.b}" for c in relay.contacts if "normal" in c.closed_in] or ["95-96"], "or"),
        through=join_words(coils, "or") or motor.name,
    )
