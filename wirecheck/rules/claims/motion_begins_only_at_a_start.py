"""Motion begins at no event of a group (`at`): only a start event may begin it.

Of a motor that the plan says drives a pump or fan, a reset by hand and the returning supply are told as advice.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from itertools import pairwise
from typing import NamedTuple

from wirecheck.behaviour import Behaviour, EventRule, Path
from wirecheck.behaviour.causes import unstated
from wirecheck.behaviour.parts import setting
from wirecheck.behaviour.space import has, lowest
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device, Event, Terminal
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import coil_walk, evidence, fed_from_behind, motor_walk, told_event, what_keeps, wires_on

GROUPS = ["guard", "emergency-stop", "stop", "supply", "protection", "fault-cleared", "cooling", "other", "held-start"]
CONDITIONS = {
    "required": ["at"],
    "properties": {
        "at": {
            "description": "guard: it closes. emergency-stop, stop: it is released. supply: it comes back, is switched on or "
            "plugged in. protection: a fuse or breaker is put back. fault-cleared: a fault or trip is reset. cooling: something "
            "cools down. held-start: any of these while a start is held. other: any other event.",
            "enum": GROUPS,
        }
    },
}
WORDS = frozenset({"motor", "event", "events", "device", "starts", "more", "happens", "standing", "kept", "advice", "unsaid"})

GROUP_OF_KIND = {
    "guard-switch": "guard",
    "emergency-stop": "emergency-stop",
    **dict.fromkeys(("mains", "isolator", "plug-connector"), "supply"),
    **dict.fromkeys(("circuit-breaker", "fuse", "residual-current-device"), "protection"),
    **dict.fromkeys(("drive", "overload-relay", "thermistor-relay"), "fault-cleared"),
    **dict.fromkeys(("motor", "thermistor", "thermal-switch"), "cooling"),
}
ENCLOSED = ("pump", "fan")
"""What a motor may drive that nobody reaches into: a pump whose selector stays on runs again after a reset by hand.

Common practice, no source."""
HAND_WORKED = frozenset({"selector", "key-switch", "push-button", "foot-switch"})


def group_of(device: Device, position: str) -> str:
    """What kind of event it is to put a device into a position."""
    if position == "elapsed":
        return "other"
    if device.role == "stop" or (device.kind == "no-volt-release" and position != "start"):
        return "stop"
    return GROUP_OF_KIND.get(device.kind, "other")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each motor and group; the events that act alike are named together, the shortest trace is shown.

    That a held start starts a motor is told once for all motors.
    """
    states, reached = 0, False
    found: list[Finding | Proof] = []
    held: list[_Held] = []
    group = str(rule.claim["at"])
    for motor in facts.of_kind("motor"):
        b = facts.view_of(motor.name)
        moving = b.moving(motor.name)
        still = b.reached & ~moving
        before = still & b.start_held if group == "held-start" else still & ~b.start_held
        states += before.bit_count()
        rules = [r for r in b.events if not b.is_start(r.event) and _belongs(b, r, group)]
        reached = reached or bool(rules)
        begun = list(_beginnings(b, rules, before, b.reached & moving))
        if begun:
            depth, shortest = min(reversed(begun), key=lambda pair: pair[0])
            path = _stopped_and_back(b, shortest, before, moving, depth) or b.reach.step_trace(
                shortest, before, b.reached & moving
            )
            assert path is not None
            if group == "held-start":
                held.append(_held_start(b, motor, path, shortest))
            else:
                found.append(_finding(rule, b, motor, path, [r for _, r in begun]))
    found += [_held_starts(rule, held)] if held else []
    yield from found or [rule.proof(states, condition_reached=reached)]


def _belongs(b: Behaviour, r: EventRule, group: str) -> bool:
    if r.event.device in b.free:  # it may stand for anything: the view is made larger where it begins motion
        return True
    return group == "held-start" or group_of(b.plan.devices[r.event.device], r.event.position) == group


def _beginnings(b: Behaviour, rules: list[EventRule], before: int, moving: int) -> Iterator[tuple[int, EventRule]]:
    """The events that begin motion, each with how many events come before it at the least."""
    for r in rules:
        if r.event.position == "elapsed" and _only_after_a_start(b, r):
            continue
        depth = b.reach.step_depth(r, before, moving)
        if depth is not None:
            yield depth, r


def _stopped_and_back(b: Behaviour, r: EventRule, before: int, moving: int, depth: int) -> Path | None:
    """Of equally short traces the one that tells most: it ran, the same device stopped it, and brings it back."""
    ready = b.reach.before(r, b.after(r, before) & moving, before)
    for other in b.events:
        if other.event.device == r.event.device and b.reach.step_depth(other, b.reached & moving, ready) == depth - 1:
            path = b.reach.step_trace(other, b.reached & moving, ready)
            assert path is not None
            return [*path, (r, lowest(b.after(r, b.space.only(path[-1][1])) & moving))]
    return None


def _only_after_a_start(b: Behaviour, r: EventRule) -> bool:
    """Whether the delay that ends here was begun by a start event in every case: then its end belongs to that start."""
    running = b.pending(r.event.device)
    before = b.reached & ~running & ~b.start_held
    return not any(b.after(other, before) & running for other in b.events if not b.is_start(other.event))


class _Held(NamedTuple):
    """The starts that were held, the motor that one event then starts, and the trace of it."""

    starts: tuple[Device, ...]
    event: str
    happens: str
    motor: Device
    shown: Evidence
    advice: str


def _held_start(b: Behaviour, motor: Device, path: Path, begun: EventRule) -> _Held:
    """Which start was held, and one event at which the motor then starts."""
    one = b.space.only(path[-2][1])
    held = [d for d in b.plan.devices.values() if len(d.positions) > 1 and b.at(d.name, d.positions[1]) & one & b.start_held]
    starts = tuple(d for d in held if b.is_start(Event(d.name, d.positions[1])))
    advice = _against_a_held_start(b, path[-1][1], motor, starts, b.plan.devices[begun.event.device])
    return _Held(starts, str(begun.event), told_event(b, begun.event), motor, evidence(b, path), advice)


def _against_a_held_start(b: Behaviour, number: int, motor: Device, starts: Iterable[Device], by: Device) -> str:
    """What to do: where the drive acts on a change already, it is the feed of the start button that makes one."""
    drives = [fed.source.device for fed in b.motion(motor.name).fed if has(fed.states, number) and fed.source.role == "output"]
    for drive in dict.fromkeys(drives):
        for start in starts:
            end = fed_from_behind(b, number, drive, start.name, by.name)
            if end is None:
                continue
            made = f"{drive} acts on a change of its start input already (start_on: edge), and {by.label()} makes one"
            if by.kind == "plug-connector":
                return f"let a relay ahead of {by.label()} keep the stop open until a reset is pressed: {made}."
            return f"feed {end} from ahead of {by.label()}: {made}, for {start.label()} gets its current through it."
    return "use a drive or relay that acts on the change of the start button only (start_on: edge), or a monitored reset."


def _held_starts(rule: Rule, held: list[_Held]) -> Finding:
    """One finding for all motors: those that the same start starts at the same event in one clause."""
    alike: dict[tuple[tuple[str, ...], str], list[_Held]] = {}
    for one in held:
        alike.setdefault((tuple(d.name for d in one.starts), one.event), []).append(one)
    first, *others = alike.values()
    starts = dict.fromkeys(d.name for one in held for d in one.starts)
    return rule.finding(
        (first[0].starts or (first[0].motor,))[0].spot,
        devices=(*starts, *(one.motor.name for one in held)),
        evidence=first[0].shown,
        motor=_motors(first),
        starts=_verb(first),
        event=first[0].event,
        events=first[0].event,
        device=_held_words(first),
        more="".join(f"; with {_held_words(some)} held, {_motors(some)} {_verb(some)} when {some[0].happens}" for some in others),
        happens=first[0].happens,
        standing="",
        kept=KEPT,
        advice=first[0].advice,
        unsaid="",
    )


def _motors(held: list[_Held]) -> str:
    return join_words(one.motor.label() for one in held)


def _verb(held: list[_Held]) -> str:
    return "starts" if len(held) == 1 else "start"


def _held_words(held: list[_Held]) -> str:
    return join_words(f"the start of {d.label()}" if d.kind == "no-volt-release" else d.label() for d in held[0].starts)


def _finding(rule: Rule, b: Behaviour, motor: Device, path: Path, begun: list[EventRule]) -> Finding:
    shortest = path[-1][0]
    assert shortest is not None
    number = path[-1][1]
    walk, coils = what_keeps(b, number, motor.name)
    devices = list(dict.fromkeys(r.event.device for r in begun))
    feeding = [fed.source.device for fed in b.motion(motor.name).fed if has(fed.states, number)]
    drives = [name for name in dict.fromkeys(feeding) if b.plan.devices[name].kind == "drive"]
    rests = [line for name in drives for line in unstated(b.plan.devices[name], _came_back(b, name, path[-2][1]))]
    commanding = _commanding(b, number, motor, coils)
    enclosed = str(motor.values.get("drives")) if _moves_nothing_in_reach(b, motor, begun) else ""
    if enclosed:
        rests.append(f"{motor.name} drives: {enclosed} (stated in the plan), taken as out of reach of any hand")
    return rule.finding(
        b.plan.devices[shortest.event.device].spot,
        severity="advice" if enclosed else None,
        devices=tuple(dict.fromkeys((*devices, *coils, *commanding, *drives, motor.name))),
        wires=wires_on(b, walk),
        evidence=evidence(b, path, walk),
        rests_on=rests,
        motor=motor.label(),
        event=str(shortest.event),
        events=join_words((str(r.event) for r in begun), last="or"),
        device=b.plan.devices[shortest.event.device].label(),
        starts="starts",
        more="",
        happens=told_event(b, shortest.event),
        standing=_standing(b, number, commanding) + _milder(motor, enclosed),
        kept=_kept(b, number, motor, coils, commanding),
        advice="",
        unsaid=_unsaid(b, motor, begun),
    )


def _moves_nothing_in_reach(b: Behaviour, motor: Device, begun: Iterable[EventRule]) -> bool:
    """Whether a restart is that of a pump or fan, and each event that brings it a reset by hand or the supply."""
    return motor.values.get("drives") in ENCLOSED and all(_by_hand_or_supply(b, r.event) for r in begun)


def _by_hand_or_supply(b: Behaviour, event: Event) -> bool:
    """What cools down and comes back by itself is left out: it may do so again and again while somebody looks for the cause."""
    device = b.plan.devices.get(event.device)
    if device is None or event.device in b.free:
        return False
    by_hand = device.kind in ("overload-relay", "thermistor-relay") and device.values.get("reset") == "manual"
    return by_hand or group_of(device, event.position) == "supply"


def _milder(motor: Device, enclosed: str) -> str:
    """Why a restart is no more than advice."""
    return f" It is no more than advice as {motor.name} drives a {enclosed}, which nobody reaches into." if enclosed else ""


def _unsaid(b: Behaviour, motor: Device, begun: Iterable[EventRule]) -> str:
    """In a plan of several motors: how to say that this one drives a pump, where that would change anything."""
    if "drives" in motor.values or len(b.motors) < 2 or not all(_by_hand_or_supply(b, r.event) for r in begun):
        return ""
    return f" If {motor.name} drives a pump or fan that nobody can reach into, say so at {motor.name}: drives: pump."


def _commanding(b: Behaviour, number: int, motor: Device, coils: list[str]) -> list[str]:
    """What a hand has left closed on the way of the current; a stop only lets it pass."""
    devices = [b.plan.devices[name] for name in dict.fromkeys(a.device for a, _ in _crossed(b, number, motor, coils))]
    return [d.name for d in devices if d.kind in HAND_WORKED and d.role != "stop"]


def _crossed(b: Behaviour, number: int, motor: Device, coils: list[str]) -> list[tuple[Terminal, Terminal]]:
    """The contacts on the ways of the current that keeps a motor going, each by its two terminals."""
    walks = [motor_walk(b, number, motor.name), *(coil_walk(b, number, name) for name in coils)]
    return [(a, z) for walk in walks for a, z in pairwise(walk) if a.device == z.device]


KEPT = "whatever commands the motion"


def _kept(b: Behaviour, number: int, motor: Device, coils: list[str], commanding: Collection[str]) -> str:
    """The contacts by which the command still stands."""
    found = (f"{a}-{z.mark}" for a, z in _crossed(b, number, motor, coils) if a.device in commanding)
    return join_words(dict.fromkeys(found)) or KEPT


def _standing(b: Behaviour, number: int, commanding: Iterable[str]) -> str:
    """What a hand has left closed, and where, as a sentence of its own."""
    state = b.describe(number)
    stands = [f"{b.plan.devices[name].label()} still stands at {state[name]}" for name in commanding if name in state]
    return f" Here {join_words(stands)}." if stands else ""


def _came_back(b: Behaviour, drive: str, before: int) -> dict[str, str]:
    """The settings on which it hangs that a drive starts at an event: those for what it lacked in the state `before`."""
    part, one = b.drive(drive), b.space.only(before)
    faulted = b.at(drive, "faulted") & one
    lacked = {
        "on_power_up_with_run": not part.bit(b.space, "power") & one,
        "after_safe_torque_off_with_run": not part.bit(b.space, "torque", b.space.full) & one,
        "after_permit_with_run": not part.bit(b.space, "permit", b.space.full) & one,
        "after_trip_reset_with_run": faulted and setting(part.device, "restarts_itself_after_fault") is not True,
    }
    worst = {"restarts_itself_after_fault": "true"} if faulted else {}
    return {**worst, **{key: "starts" for key, missing in lacked.items() if missing}}
