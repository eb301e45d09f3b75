"""The evidence of a finding in words: a numbered strip of steps, or a walk from terminal to terminal, and numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from wirecheck.findings import Evidence, Step

Line = tuple[str, str]
"""A label for the margin, and the text beside it."""

REST = "rest"
"""The event of a step that shows how things stand before anything happens."""


def evidence_lines(evidence: Evidence) -> Iterator[Line]:
    """The lines of an evidence, in the order in which it is to be read."""
    yield from _strip(evidence)
    if evidence.walk:
        yield "walk", " > ".join(evidence.walk)
    if evidence.numbers:
        yield "numbers", ", ".join(f"{name} {value}" for name, value in evidence.numbers.items())
    for case, effect in evidence.cases.items():
        yield "case", f"{case}: {effect}"


def _strip(evidence: Evidence) -> Iterator[Line]:
    """The steps one a line, numbered like the events, the fault ahead of the step that it comes before."""
    steps = evidence.steps or tuple(Step(event) for event in evidence.events)
    events = max((len(step.event) for step in steps), default=0)
    number = 0
    fault = evidence.fault
    before: Mapping[str, str] = {}
    for step in steps:
        if fault and number >= (evidence.fault_after or 0) and step.event != REST:
            yield "fault", fault
            fault = None
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
