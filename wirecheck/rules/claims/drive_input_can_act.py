"""Each input of a drive that is wired can act: its contact switches the right rail, and the current has a way back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.drives import DrivePart
from wirecheck.circuit import Source
from wirecheck.circuit.elements import marks_of, section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.record import Rule

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "rail: its contact joins the input to the rail at which it does nothing. return: what feeds it "
            "has no way back. sensor: an output that does not suit the drive's logic.",
            "enum": ["rail", "return", "sensor"],
        }
    },
}
WORDS = frozenset({"input", "drive", "logic", "rail", "right", "source", "common", "sensor", "output"})


class Ends(NamedTuple):
    """An input (or torque-off channel) of a drive: its terminal, the other end of its circuit, when it acts."""

    terminal: Terminal
    other: Terminal
    acts: int
    takes_plus: bool


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each input."""
    kind = {"rail": _wrong_rail, "return": _no_return, "sensor": _wrong_sensor}[str(rule.claim["which"])]
    found: list[Finding | Proof] = []
    drives = facts.of_kind("drive")
    for drive in drives:
        b = facts.view_of(drive.name)
        if not b.is_inert(drive.name):
            for ends in _inputs(b, b.drive(drive.name)):
                found += kind(rule, facts, drive, b, ends)
    yield from found or [rule.proof(1, condition_reached=bool(drives))]


def _inputs(b: Behaviour, part: DrivePart) -> Iterator[Ends]:
    """The inputs that are used, and the torque-off channels, where a wire is on them."""
    sinking = section(part.device.values, "control").get("logic") == "sinking"
    for i in part.inputs:
        plus, minus = part.input_ends(i.mark)
        own = part.device.terminal(i.mark)
        if i.does != "unused" and b.model.is_wired(own):
            yield Ends(own, plus if sinking else minus, part.active(b.model, i.mark), not sinking)
    for own, minus in part.torque_off:
        if b.model.is_wired(own):
            yield Ends(own, minus, part.channel_active(b.model, own, minus), takes_plus=True)


def _direct_poles(b: Behaviour, terminal: Terminal, plus: bool) -> Iterator[tuple[Source, Terminal]]:
    """The plus (or minus) poles of d.c. sources that a terminal is ever joined to."""
    for source in b.model.sources:
        for pole in source.poles if source.kind == "DC" else ():
            if bool(source.poles[pole].real) == plus and b.model.supplies.at(source, pole, terminal) & b.reached:
                yield source, pole


def _words(drive: Device, ends: Ends, **more: str) -> dict[str, Any]:
    blank = {"rail": "", "right": "", "source": "", "sensor": "", "output": ""}
    logic = "sourcing" if ends.takes_plus else "sinking"
    return {"input": str(ends.terminal), "drive": drive.label(), "logic": logic, "common": str(ends.other), **blank, **more}


def _wrong_rail(rule: Rule, facts: Facts, drive: Device, b: Behaviour, ends: Ends) -> Iterator[Finding]:
    """An input that never acts, though something joins it, at times, to the other rail."""
    wrong = list(_direct_poles(b, ends.terminal, not ends.takes_plus))
    if ends.acts & b.reached or any(_direct_poles(b, ends.terminal, ends.takes_plus)) or not wrong:
        return
    pole = wrong[0][1]
    if facts.metal.same(pole, ends.terminal) or any(_outputs_at(facts, b, ends.terminal)):
        return  # tied for good to the level at which it does nothing, which is meant; or told of the sensor
    supply = section(drive.values, "control", "supply")
    right = drive.terminal(supply.get("plus" if ends.takes_plus else "common"))
    yield rule.finding(
        drive.lines.get(f"control.inputs.{ends.terminal.mark}", drive.spot),
        devices=(drive.name, *_switches(facts, ends.terminal)),
        **_words(drive, ends, rail=str(pole), right=str(right)),
    )


def _switches(facts: Facts, terminal: Terminal) -> tuple[str, ...]:
    """The devices with a contact on the input's own net."""
    found = (
        d.name
        for d in facts.plan.devices.values()
        for c in d.contacts
        if d.name != terminal.device and any(facts.metal.same(d.terminal(m), terminal) for m in (c.a, c.b))
    )
    return tuple(dict.fromkeys(found))


def _outputs_at(facts: Facts, b: Behaviour, terminal: Terminal) -> Iterator[Device]:
    """The sensors whose output is ever joined to an input."""
    for sensor in facts.of_kind("sensor"):
        out = sensor.terminal(marks_of(sensor.values, "terminals", ("+", "-", "OUT"))[2])
        if b.joined(out, terminal) & b.reached:
            yield sensor


def _no_return(rule: Rule, facts: Facts, drive: Device, b: Behaviour, ends: Ends) -> Iterator[Finding]:
    """An input that never acts, though a source reaches it, because nothing joins the drive's other end to that source."""
    feeding = list(_direct_poles(b, ends.terminal, ends.takes_plus))
    if ends.acts & b.reached or not feeding:
        return
    for source, _ in feeding:
        backs = [p for p in source.poles if bool(source.poles[p].real) != ends.takes_plus]
        if any(b.model.supplies.at(source, back, ends.other) & b.reached for back in backs):
            return
    source = feeding[0][0]
    back = next(p for p in source.poles if bool(source.poles[p].real) != ends.takes_plus)
    yield rule.finding(
        drive.lines.get(f"control.inputs.{ends.terminal.mark}", drive.spot),
        devices=(drive.name, source.device),
        **_words(drive, ends, source=facts.plan.devices[source.device].label(), rail=str(back)),
    )


def _wrong_sensor(rule: Rule, facts: Facts, drive: Device, b: Behaviour, ends: Ends) -> Iterator[Finding]:
    for sensor in _outputs_at(facts, b, ends.terminal):
        output = str(sensor.values.get("output", "PNP"))
        if (output == "PNP") != ends.takes_plus:
            yield rule.finding(
                sensor.lines.get("output", sensor.spot),
                devices=(sensor.name, drive.name),
                rests_on=() if "output" in sensor.values else (f"{sensor.name} output is not stated",),
                **_words(drive, ends, sensor=sensor.label(), output=output),
            )
