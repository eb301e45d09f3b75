"""How the return side of a control supply is earthed: by exactly one bond to the protective conductor."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.circuit import Source
from wirecheck.circuit.elements import COIL_KINDS, marks_of, section
from wirecheck.circuit.metal import bonds_of
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.plan.potentials import Joined
from wirecheck.rules.record import Rule, join_words

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "floating: no bond, a danger for a transformer or d.c. supply, advice for a drive's own isolated "
            "supply. several: more than one bond. earth-return: a current that goes home through the "
            "protective conductor. input-return: that of a drive's input, fed by another supply whose return is joined to the "
            "drive's over earth alone.",
            "enum": ["floating", "several", "earth-return", "input-return"],
        }
    },
}
WORDS = frozenset({"device", "pole", "bonds", "element"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each supply, or each consumer, that is not as it should be."""
    kind = {"floating": _floating, "several": _several, "earth-return": _earth_returns, "input-return": _inputs_return}[
        str(rule.claim["which"])
    ]
    found: list[Finding | Proof] = list(kind(rule, facts)) if facts.metal.any_earth else []
    yield from found or [rule.proof(1, condition_reached=bool(facts.metal.any_earth))]


def _control_supplies(facts: Facts) -> Iterator[Source]:
    """The supplies of coils and drive inputs. One that feeds nothing but lamps is no control supply."""
    for source in facts.sources:
        device = facts.plan.devices[source.device]
        if device.kind in ("transformer", "dc-supply", "drive") and source.role == "supply" and _commands(facts, source):
            yield source


def _commands(facts: Facts, source: Source) -> bool:
    """Whether anything that commands hangs on a source: a coil, an input of a drive, the channel of a safety relay."""
    ends = (end for device in facts.plan.devices.values() for end in _commanded(device))
    wired = {t for w in facts.plan.wires for t in (w.a, w.b)}
    return any(end in wired and any(s.name == source.name for s, _ in facts.touched.poles(end)) for end in ends)


def _commanded(device: Device) -> Iterator[Terminal]:
    if device.kind in COIL_KINDS:
        marks: Iterable[str] = marks_of(device.values, "supply", ("A1", "A2"))
    elif device.kind == "drive":
        control = section(device.values, "control")
        marks = (*map(str, section(control, "inputs")), *marks_of(section(control, "safe_torque_off"), "channels", ()))
    else:
        marks = ()
    yield from map(device.terminal, marks)


def _floating(rule: Rule, facts: Facts) -> Iterator[Finding]:
    for source in _control_supplies(facts):
        if any(facts.metal.net(pole) in facts.metal.any_earth for pole in source.poles):
            continue
        device = facts.plan.devices[source.device]
        own = device.kind == "drive"
        sinking = own and section(device.values, "control").get("logic") == "sinking"
        pole = list(source.poles)[0 if sinking else -1]  # with sinking logic a chafed wire on earthed minus would be a command
        yield rule.finding(
            device.spot,
            devices=(device.name,),
            severity="advice" if own else None,
            device=f"The control supply of {device.label()}" if own else device.label(),
            pole=str(pole),
            bonds="",
            element="",
        )


def _several(rule: Rule, facts: Facts) -> Iterator[Finding]:
    nets = facts.metal.without_earth()
    seen: set[Terminal] = set()
    for source in _control_supplies(facts):
        returns = [pole for pole in source.poles if pole in source.returns and nets.root(pole) not in seen]
        bonds = bonds_of(facts.plan, nets, returns)
        seen |= {nets.root(pole) for pole in returns}
        if len(bonds) > 1:
            device = facts.plan.devices[source.device]
            yield rule.finding(
                bonds[-1].spot,
                devices=(device.name,),
                wires=tuple(dict.fromkeys(w.number for w in bonds)),
                device=device.label(),
                pole=str(returns[-1]),
                bonds=join_words(map(str, bonds)),
                element="",
            )


def _earth_returns(rule: Rule, facts: Facts) -> Iterator[Finding]:
    nets = facts.metal.without_earth()
    told: set[str] = set()
    for way in facts.ways_fed:
        for end in (way.element.a, way.element.b):
            name = str(way.element.device)
            if name not in told and _goes_home_by_earth(facts, nets, end, way.source):
                told.add(name)
                device = facts.plan.devices[name]
                yield rule.finding(
                    device.spot,
                    devices=(name, way.source.device),
                    device=device.label(),
                    pole=str(way.source.name),
                    bonds="",
                    element=str(end),
                )


def _goes_home_by_earth(facts: Facts, nets: Joined, end: Terminal, source: Source) -> bool:
    """Whether an end is on earth, and would be on no pole of its source if it were not for the earth."""
    if facts.metal.net(end) not in facts.metal.any_earth:
        return False
    return not any(nets.root(end) == nets.root(pole) for pole in source.poles if pole.mark != "PE")


def _inputs_return(rule: Rule, facts: Facts) -> Iterator[Finding]:
    """One finding for each drive and supply, with the first of the inputs."""
    nets = facts.metal.without_earth()
    told: set[tuple[str, str]] = set()
    for drive in facts.of_kind("drive"):
        for own, common in _circuits(drive):
            for source, pole in facts.touched.poles(own):
                plus = source.kind == "DC" and pole not in source.returns
                if plus and (drive.name, source.name) not in told and _goes_home_by_earth(facts, nets, common, source):
                    told.add((drive.name, source.name))
                    yield rule.finding(
                        drive.spot,
                        devices=(drive.name, source.device),
                        device=str(own),
                        pole=str(source.name),
                        bonds="",
                        element=str(common),
                    )


def _circuits(drive: Device) -> Iterator[tuple[Terminal, Terminal]]:
    """The inputs of a drive that take plus, and its torque-off channels, each with the terminal where its current comes out."""
    control = section(drive.values, "control")
    given, off = section(control, "inputs"), section(control, "safe_torque_off")
    common = section(control, "supply").get("common")
    if control.get("logic") == "sourcing" and common:
        yield from ((drive.terminal(mark), drive.terminal(common)) for mark in map(str, given) if given[mark] != "unused")
    if back := off.get("common", common):
        yield from ((drive.terminal(mark), drive.terminal(back)) for mark in marks_of(off, "channels", ()))
