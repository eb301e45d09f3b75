"""How the temperature sensors of motors, thermistors and bimetal switches, are connected."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import NamedTuple

from wirecheck.circuit.elements import marks_of, section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.record import Rule

WHICH = ("as-switch", "parallel", "bridged", "bimetal", "unused")
CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "as-switch: a thermistor that a supply feeds. parallel: two side by side. bridged: an input joined to "
            "itself. bimetal: a switch on a thermistor input. unused: no wire.",
            "enum": list(WHICH),
        }
    },
}
WORDS = frozenset({"sensor", "other", "input", "pole"})


class Pair(NamedTuple):
    """The two terminals of a sensor, or of an input for one."""

    device: Device
    a: Terminal
    b: Terminal

    @property
    def ends(self) -> tuple[Terminal, Terminal]:
        """Both."""
        return (self.a, self.b)

    def words(self) -> str:
        """The terminals as they are printed: `M1:TP1-TP2`."""
        return f"{self.a}-{self.b.mark}"


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each sensor or input."""
    kinds = {"as-switch": _as_switch, "parallel": _parallel, "bridged": _bridged, "bimetal": _bimetal, "unused": _unused}
    found: list[Finding | Proof] = list(kinds[str(rule.claim["which"])](rule, facts))
    reached = any(True for _ in (*_thermistors(facts), *_bimetals(facts), *_inputs(facts)))
    yield from found or [rule.proof(1, condition_reached=reached)]


def _thermistors(facts: Facts) -> Iterator[Pair]:
    for device in facts.of_kind("thermistor"):
        yield Pair(device, device.terminal("1"), device.terminal("2"))
    yield from _in_motors(facts, "thermistor")


def _in_motors(facts: Facts, sensor: str) -> Iterator[Pair]:
    for motor in facts.of_kind("motor"):
        if motor.values.get("sensor") == sensor:
            yield Pair(motor, motor.terminal("TP1"), motor.terminal("TP2"))


def _bimetals(facts: Facts) -> Iterator[Pair]:
    yield from _in_motors(facts, "opens-when-hot")
    for device in facts.of_kind("thermal-switch"):
        yield from (Pair(device, device.terminal(c.a), device.terminal(c.b)) for c in device.contacts)


def _inputs(facts: Facts) -> Iterator[Pair]:
    """The thermistor inputs of drives and thermistor relays."""
    for device in facts.plan.devices.values():
        marks: tuple[str, ...] = ()
        if device.kind == "drive":
            marks = marks_of(section(device.values, "control"), "thermistor", ())
        elif device.kind == "thermistor-relay":
            marks = marks_of(device.values, "sensor", ("T1", "T2"))
        if len(marks) == 2:
            yield Pair(device, device.terminal(marks[0]), device.terminal(marks[1]))


def _finding(rule: Rule, pair: Pair, other: Device | None = None, into: str = "", pole: str = "") -> Finding:
    return rule.finding(
        pair.device.spot,
        devices=(pair.device.name, other.name) if other else (pair.device.name,),
        sensor=pair.words() if pair.device.kind == "motor" else pair.device.label(),
        other=other.label() if other else "",
        input=into,
        pole=pole,
    )


def _as_switch(rule: Rule, facts: Facts) -> Iterator[Finding]:
    """A thermistor that the live pole of a supply reaches, other than by the input that is made for it."""
    measured = {t for pair in _inputs(facts) for t in pair.ends}
    for pair in _thermistors(facts):
        met = [
            (source, pole)
            for end in pair.ends
            for source, pole in facts.touched.poles(end)
            if source.role in ("supply", "reference") and abs(source.poles[pole]) > 1e-6 and pole not in measured
        ]
        if met:
            source, pole = met[0]
            yield _finding(rule, pair, facts.plan.devices[source.device], pole=str(pole))


def _parallel(rule: Rule, facts: Facts) -> Iterator[Finding]:
    for one, two in combinations(_thermistors(facts), 2):
        nets = [{facts.metal.net(t) for t in pair.ends} for pair in (one, two)]
        if nets[0] == nets[1] and len(nets[0]) == 2:
            yield _finding(rule, one, two.device)


def _bridged(rule: Rule, facts: Facts) -> Iterator[Finding]:
    """An input joined to itself by metal while there is a thermistor that it could watch."""
    if not any(True for _ in _thermistors(facts)):
        return
    for pair in _inputs(facts):
        if facts.metal.same(*pair.ends):
            yield _finding(rule, pair, into=pair.words())


def _bimetal(rule: Rule, facts: Facts) -> Iterator[Finding]:
    for pair in _bimetals(facts):
        for into in _inputs(facts):
            if any(facts.metal.same(a, b) for a in pair.ends for b in into.ends) and not _thermistor_between(facts, into):
                yield _finding(rule, pair, into.device, into.words())


def _thermistor_between(facts: Facts, into: Pair) -> bool:
    """Whether a thermistor is on the same input: then a switch in series with it opens the loop, which the input understands."""
    return any(facts.metal.same(a, b) for pair in _thermistors(facts) for a in pair.ends for b in into.ends)


def _unused(rule: Rule, facts: Facts) -> Iterator[Finding]:
    wired = {t for w in facts.plan.wires for t in (w.a, w.b)}
    for pair in (*_in_motors(facts, "thermistor"), *_in_motors(facts, "opens-when-hot")):
        if not any(end in wired for end in pair.ends):
            yield _finding(rule, pair)
