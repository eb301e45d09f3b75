"""Where forward and reverse can stand at a drive together, the plan says what the drive then does."""

from __future__ import annotations

from collections.abc import Iterable

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.causes import unstated
from wirecheck.behaviour.drives import DrivePart
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence, told_event

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"drive", "happens", "terminals"})

WAYS = ("run-forward", "run-reverse")
KNOWN = ("stop", "first-wins")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each drive that can get both commands while it would obey, and does not say what it makes of them."""
    states = 0
    both_come = False
    found: list[Finding | Proof] = []
    for drive in facts.of_kind("drive"):
        b = facts.view_of(drive.name)
        both = _both(b, b.drive(drive.name))
        states += b.reached.bit_count()
        both_come = both_come or bool(both)
        if both and b.drive(drive.name).both not in KNOWN:
            found.append(_finding(rule, b, drive, both))
    yield from found or [rule.proof(states, condition_reached=both_come)]


def _both(b: Behaviour, part: DrivePart) -> int:
    """The settled states in which a drive that would obey has both commands at its terminals."""
    if not part.two_ways:
        return 0
    commands = part.raw(b.model).commands
    return b.reached & part.ready(b.space) & commands["forward"] & commands["reverse"]


def _finding(rule: Rule, b: Behaviour, drive: Device, both: int) -> Finding:
    part = b.drive(drive.name)
    path = b.reach.trace(both & ~part.bit(b.space, "waiting") or both)  # where it obeys at once shows it best
    last = path[-1][0] if path else None
    inputs = [drive.terminal(i.mark) for i in part.inputs if i.does in WAYS]
    moved = dict.fromkeys(rule.event.device for rule, _ in path or () if rule is not None and b.is_start(rule.event))
    return rule.finding(
        drive.lines.get("settings.both_directions", drive.spot),
        devices=(drive.name, *moved),
        evidence=_doubted(evidence(b, path), drive),
        rests_on=unstated(drive, {"both_directions": "unknown"}),
        drive=drive.label(),
        happens=told_event(b, last.event) if last else "the supply is on",
        terminals=join_words(map(str, inputs)),
    )


def _doubted(shown: Evidence, drive: Device) -> Evidence:
    """The evidence, with a word at its end that what the drive does there is one way of several: nobody can say which."""
    note = f"what {drive.name} does is not known, and this is one way"
    return shown._replace(steps=(*shown.steps[:-1], *(step._replace(notes=(*step.notes, note)) for step in shown.steps[-1:])))
