"""How a potentiometer stands between a drive's reference terminals: 1 at common, 2 (the wiper) at the input, 3 at plus."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from wirecheck.circuit.elements import quantity, section
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device, Terminal, Wire
from wirecheck.rules.record import Rule

WHICH = ("reversed", "shorted", "supply", "loose", "common", "broken-wire")
CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "reversed: left is fast. shorted: the wiper is on the supply. supply: fed from another one. "
            "loose: a wire is missing. common: an end is on another common. broken-wire: all is right; what "
            "its wires do when they break.",
            "enum": list(WHICH),
        }
    },
}
WORDS = frozenset({"knob", "drive", "plus", "wiper", "common", "terminal", "source", "effect", "full"})

FULL = "full speed at every position of the knob"
NONE = "no speed signal: the lowest speed at every position"
HALF = "a wiper in the air: the drive sees whatever its input drifts to"


class Knob(NamedTuple):
    """A potentiometer on a drive's reference. `at` says on which reference terminal each of its marks is: plus, wiper, common."""

    device: Device
    drive: Device
    reference: Mapping[str, Terminal]
    at: Mapping[str, str]


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each knob."""
    knobs = list(_knobs(facts))
    found: list[Finding | Proof] = []
    for knob in knobs:
        problem = _problem(facts, knob)
        if problem == rule.claim["which"]:
            found.append(_finding(rule, facts, knob, problem))
    yield from found or [rule.proof(1, condition_reached=bool(knobs))]


def _knobs(facts: Facts) -> Iterator[Knob]:
    """The potentiometers with a terminal on the reference of a drive, by metal alone: not those behind a selector."""
    for device in facts.of_kind("potentiometer"):
        for drive in facts.of_kind("drive"):
            given = section(drive.values, "control", "reference")
            reference = {key: drive.terminal(mark) for key in ("plus", "wiper", "common") if (mark := given.get(key))}
            at = {
                mark: key
                for mark in device.marks
                for key, terminal in reference.items()
                if facts.metal.same(device.terminal(mark), terminal)
            }
            if "wiper" in at.values() and len(reference) == 3:
                yield Knob(device, drive, reference, at)


def _problem(facts: Facts, knob: Knob) -> str:
    """The first thing that is wrong with a knob, the worst first; `broken-wire` where nothing is."""
    at = [knob.at.get(mark) for mark in "123"]
    if at[1] != "wiper" and at[1] is not None:
        return "shorted"
    if _other_supply(facts, knob):
        return "supply"
    if at == ["plus", "wiper", "common"]:
        return "reversed"
    if at == ["common", "wiper", "plus"]:
        return "broken-wire"
    wires = [w for w in facts.plan.wires if knob.device.name in (w.a.device, w.b.device)]
    free = [mark for mark in "123" if not any(knob.device.terminal(mark) in (w.a, w.b) for w in wires)]
    return "loose" if free else "common" if at[1] == "wiper" and "plus" in at and None in at else ""


def _other_supply(facts: Facts, knob: Knob) -> str:
    """The supply that feeds an end of the knob though it is not the reference; empty where there is none."""
    for mark in "13":
        for source, pole in facts.touched.poles(knob.device.terminal(mark)):
            if source.role != "reference" and abs(source.poles[pole]) > _reference_v(knob.drive) * 1.2:
                return f"{pole} ({abs(source.poles[pole]):.0f} V)"
    return ""


def _reference_v(drive: Device) -> float:
    given = quantity(section(drive.values, "control", "reference"), "voltage")
    return given.value if given else 10.0


def _finding(rule: Rule, facts: Facts, knob: Knob, problem: str) -> Finding:
    rows = _rows(facts, knob) if problem == "broken-wire" else {}
    loose = [mark for mark in "123" if mark not in knob.at]
    full = [text for text, effect in rows.items() if effect == FULL]
    words: dict[str, Any] = {key: str(terminal) for key, terminal in knob.reference.items()}
    return rule.finding(
        knob.device.spot,
        devices=(knob.device.name, knob.drive.name),
        wires=_wire_numbers(facts, knob, full),
        evidence=Evidence(cases=rows),
        knob=knob.device.label(),
        drive=knob.drive.label(),
        terminal=f"{knob.device.name}:{loose[0]}" if loose else "",
        source=_other_supply(facts, knob),
        effect=_loose_effect(knob, loose),
        full=" or ".join(full),
        **words,
    )


def _loose_effect(knob: Knob, loose: list[str]) -> str:
    """What follows where one terminal has no wire: what the other end of the knob then gives the wiper."""
    if "2" in loose or not loose:
        return HALF
    other = knob.at.get("3" if loose[0] == "1" else "1")
    return {"plus": FULL, "common": NONE}.get(str(other), HALF)


def _rows(facts: Facts, knob: Knob) -> dict[str, str]:
    """The three rows: each wire of the knob, broken."""
    effects = {"1": FULL, "2": HALF, "3": NONE}
    return {_wire_words(facts, knob, mark): effect for mark, effect in effects.items()}


def _wires_at(facts: Facts, knob: Knob, mark: str) -> list[Wire]:
    terminal = knob.device.terminal(mark)
    return [w for w in facts.plan.wires if terminal in (w.a, w.b)]


def _wire_words(facts: Facts, knob: Knob, mark: str) -> str:
    wires = _wires_at(facts, knob, mark)
    return f"{wires[0]} open" if wires else f"{knob.device.name}:{mark} open"


def _wire_numbers(facts: Facts, knob: Knob, full: list[str]) -> tuple[str, ...]:
    return tuple(w.number for mark in "123" for w in _wires_at(facts, knob, mark) if f"{w} open" in full)
