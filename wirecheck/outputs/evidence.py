"""The evidence of a finding in words: a table of cases, a numbered strip of steps, a walk from terminal to terminal, numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from wirecheck.findings import Evidence, Step

Line = tuple[str, str]
"""A label for the margin, and the text beside it."""

REST = "rest"
"""The event of a step that shows how things stand before anything happens."""


def evidence_lines(evidence: Evidence, message: str = "") -> Iterator[Line]:
    """The lines of an evidence, in the order in which it is to be read; numbers that the message has said are left out."""
    cases = max(map(len, evidence.cases), default=0)
    for number, (case, effect) in enumerate(evidence.cases.items()):
        yield "" if number else "cases", f"{case + ':':<{cases + 1}} {effect}"
    yield from _strip(evidence)
    if evidence.walk:
        yield "walk", " > ".join(_walk(evidence.walk, evidence.passes))
    if any(value not in message for value in evidence.numbers.values()):
        yield "numbers", ", ".join(f"{name} {value}" for name, value in evidence.numbers.items())


def _walk(walk: Sequence[str], passes: Mapping[str, str]) -> Iterator[str]:
    """The terminals of a walk; where it has crossed a device for the first time, what that is and how it stands."""
    told: set[str] = set()
    yield from walk[:1]
    for before, terminal in pairwise(walk):
        device = terminal.partition(":")[0]
        crossed = before.partition(":")[0] == device and device in passes and device not in told
        told |= {device} if crossed else set()
        yield f"{terminal} ({passes[device]})" if crossed else terminal


def _strip(evidence: Evidence) -> Iterator[Line]:
    """The steps one a line, numbered like the events, the fault where it comes."""
    steps = evidence.steps or tuple(Step(event) for event in evidence.events)
    if len(steps) > 1 and steps[0].event == REST and not _happening(steps[0], {}):
        steps = steps[1:]
    events = max((len(step.event) for step in steps if step.event != evidence.fault), default=0)
    number = 0
    # A fault that is no step of its own stands ahead of the step that it comes before.
    fault = evidence.fault if all(step.event != evidence.fault for step in steps) else None
    before: Mapping[str, str] = {}
    for step in steps:
        if fault and number >= (evidence.fault_after or 0) and step.event != REST:
            yield "fault", fault
            fault = None
        if step.event == evidence.fault:
            yield "fault", f"{step.event}  {_happening(step._replace(notes=()), before)}".rstrip()
        else:
            number += step.event != REST
            yield str(number), f"{step.event:<{events}}  {_happening(step, before)}".rstrip()
        before = step.motion
    if fault:
        yield "fault", fault


def _happening(step: Step, before: Mapping[str, str]) -> str:
    """What a step brings about: notes, what moves, and each motor that turns or has just stopped."""
    # A bare designation is a device that changed its state; anything longer is a sentence already.
    moved = (text if " " in text else f"{text} moves" for text in step.moved)
    motors = (_motor(name, motion, before.get(name, "stopped")) for name, motion in step.motion.items())
    return "; ".join(text for text in (*step.notes, *moved, *motors) if text)


def _motor(name: str, motion: str, before: str) -> str:
    if motion == "stopped":
        return f"{name} stops" if before != "stopped" else ""
    return f"{name} {'keeps running' if motion == before else 'runs'} {motion}"
