"""No contact between a drive and its motor opens or closes while the drive runs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour, EventRule, Path
from wirecheck.behaviour.coils import OUT, CoilPart
from wirecheck.behaviour.space import minus
from wirecheck.circuit import Source
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import evidence

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "drive", "event"})

PROTECTION_KINDS = ("circuit-breaker", "fuse", "residual-current-device")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each switching device on a drive's output that can move while the drive runs."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for b in facts.views:
        states += b.passed.bit_count()
        for source in b.model.sources:
            for device in _switches(facts, b, source):
                reached = True
                shown = _under_load(b, device, source)
                if shown is not None:
                    event = shown.events[-1] if shown.events else "rest"
                    drive = b.plan.devices[source.device]
                    found.append(
                        rule.finding(
                            device.spot,
                            devices=(device.name, drive.name),
                            evidence=shown,
                            device=device.label(),
                            drive=drive.label(),
                            event=event,
                        )
                    )
    yield from found or [rule.proof(states, condition_reached=reached)]


def _switches(facts: Facts, b: Behaviour, source: Source) -> Iterator[Device]:
    """The devices with contacts on the way from a drive's output to a motor."""
    if source.role != "output":
        return
    motors = [m for m in b.motors if any(fed.source is source for fed in b.motion(m).fed)]
    for device in b.plan.devices.values():
        if device.kind in ("fuse", "circuit-breaker", "drive"):
            continue
        on_way = (
            facts.paths.on_path(pole, (Terminal(c.device, c.a), Terminal(c.device, c.b)), Terminal(m, mark))
            for c in device.contacts
            for pole in source.poles
            for m in motors
            for mark in ("U1", "V1", "W1", "U2", "V2", "W2")
        )
        if any(on_way):
            yield device


def _under_load(b: Behaviour, device: Device, source: Source) -> Evidence | None:
    """The trace of a move of the device while the drive runs and feeds a motor through it."""
    part = b.model.parts[device.name]
    running = b.running(source.device)
    if isinstance(part, CoilPart):
        variable = b.space.variables[device.name]
        own = [m for m in b.model.moves if set(m.bits) & set(range(variable.low, variable.low + variable.width))]
        moving, out = 0, part.state(b.space, OUT)
        for move in own:  # a safety relay that is out and gets ready moves no contact
            moving |= minus(move.mask, out & b.space.flip(out, move.bits))
        path = _in_use(b, moving & running & b.passed)
        return evidence(b, path) if path else None
    return _by_hand(b, device, running)


def _in_use(b: Behaviour, bad: int) -> Path | None:
    """A shortest trace through a bad state in use: that a fuse or breaker cuts the control circuit is no way of working."""
    leading = b.reach.leading(bad)
    best: tuple[int, EventRule, int] | None = None
    for r in reversed(b.events):
        if b.plan.devices[r.event.device].kind not in PROTECTION_KINDS:
            before = b.reach.before(r, bad, b.reached, leading)
            depth = b.reach.depth(before)
            if depth is not None and (best is None or depth < best[0]):
                best = depth, r, before
    return b.reach.step_trace(best[1], best[2], b.space.full) if best else None


def _by_hand(b: Behaviour, device: Device, running: int) -> Evidence | None:
    """A hand-operated device: its last stage moves the main contacts, whatever opened early has been answered by then."""
    best = None
    for rule in b.events:
        if rule.event.device != device.name:
            continue
        before = b.reached
        for index, moves in enumerate(rule.stages):
            early = index == 0 and opens_early(device) and rule.event.position == device.positions[0]
            bad = 0
            for move in moves:
                bad |= before & move.mask
            bad &= running
            if bad and not early:
                origin = bad if index == 0 else b.reach.settling.before_stage(rule, index, bad, b.reached)
                path = b.reach.step_trace(rule, origin, b.space.full)
                if path is not None and (best is None or len(path) < len(best)):
                    best = path
            before = b.reach.settling.passing(b.reach.settling.apply(moves, before)) & ~b.model.restless
    return evidence(b, best) if best is not None else None


def opens_early(device: Device) -> bool:
    """Whether the device has contacts that open before its main poles."""
    return any(c.early_break for c in device.contacts)
