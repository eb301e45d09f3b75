"""Nothing but motors is joined to a drive's output in any state: no load, coil, lamp, supply or capacitor.

Where the mains reach the output as well, all that hangs on the mains would be on it: that is told by the rule about two sources.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.circuit import elements_of
from wirecheck.circuit.elements import marks_of
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.record import Rule

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "terminal", "drive", "pole"})

TAKES_CURRENT = ("coil", "load", "capacitor", "resistor")


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device on an output."""
    outputs = {pole: s for s in facts.sources if s.role == "output" for pole in s.poles}
    found: list[Finding | Proof] = []
    for name, ends in _ends(facts).items():
        device = facts.plan.devices[name]
        met = next(((end, pole) for end in ends for pole in _met(facts, end) if pole in outputs), None)
        if met:
            drive = facts.plan.devices[met[1].device]
            found.append(
                rule.finding(
                    device.spot,
                    devices=(device.name, drive.name),
                    device=device.label(),
                    terminal=str(met[0]),
                    drive=drive.label(),
                    pole=str(met[1]),
                )
            )
    yield from found or [rule.proof(1, condition_reached=bool(outputs))]


def _met(facts: Facts, end: Terminal) -> list[Terminal]:
    """The poles at a terminal, none where one of the mains is among them."""
    found = facts.touched.poles(end)
    return [] if any(source.feed is None and source.role == "supply" for source, _ in found) else [pole for _, pole in found]


def _ends(facts: Facts) -> dict[str, list[Terminal]]:
    """The terminals of whatever takes current, by device; those of a d.c. supply and of another drive's input too."""
    found: dict[str, list[Terminal]] = {}
    for element in elements_of(facts.plan):
        if element.kind in TAKES_CURRENT and element.device:
            found.setdefault(element.device, []).extend((element.a, element.b))
    for device in facts.of_kind("dc-supply", "drive"):
        found.setdefault(device.name, []).extend(_inputs(device))
    return found


def _inputs(device: Device) -> Iterator[Terminal]:
    if device.kind == "dc-supply":
        yield from (device.terminal(mark) for mark in ("L", "N"))
    else:
        given = device.values.get("input")
        yield from (device.terminal(m) for m in marks_of(given if isinstance(given, dict) else {}, "terminals", ("L", "N")))
