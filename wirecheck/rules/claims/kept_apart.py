"""Circuits that must not meet, or must not lie side by side."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wirecheck.circuit import Source
from wirecheck.circuit.elements import marks_of, section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Cable, Device, Terminal, Wire
from wirecheck.rules.record import Rule, join_words

WHICH = ("mains-on-control", "motor-with-control", "unscreened")
CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "mains-on-control: an a.c. supply on a control terminal. motor-with-control: motor and control "
            "cores of a drive in one cable, or unscreened on one route. unscreened: no screen on a motor or "
            "speed cable.",
            "enum": list(WHICH),
        }
    },
}
WORDS = frozenset({"terminal", "pole", "volts", "cable", "other", "what"})

NAMED = (
    ("supply", "plus"),
    ("supply", "common"),
    ("safe_torque_off", "common"),
    ("reference", "plus"),
    ("reference", "wiper"),
    ("reference", "common"),
)
"""The control terminals of a drive that its control block names one by one."""

LOW_VOLTAGE_V = 50.0
"""Above this an a.c. voltage is dangerous to touch: the limit of extra-low voltage, IEC 61140:2016 (value from memory)."""


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each terminal, cable or pair of cables."""
    kinds = {"mains-on-control": _meetings, "motor-with-control": _side_by_side, "unscreened": _unscreened}
    found: list[Finding | Proof] = list(kinds[str(rule.claim["which"])](rule, facts))
    reached = any(True for d in facts.plan.devices.values() for _ in control_terminals(d))
    yield from found or [rule.proof(1, condition_reached=reached)]


def control_terminals(device: Device) -> Iterator[Terminal]:
    """The terminals of a device that take low voltage d.c. or signals: a drive's control terminals, supplies, sensors, knobs."""
    if device.kind == "drive":
        control = section(device.values, "control")
        marks = [*map(str, section(control, "inputs")), *marks_of(control, "thermistor", ())]
        marks += marks_of(section(control, "safe_torque_off"), "channels", ())
        marks += [str(mark) for part, key in NAMED if (mark := section(control, part).get(key))]
    elif device.kind == "dc-supply":
        marks = ["-", "+"]
    elif device.kind in ("sensor", "thermistor", "potentiometer"):
        marks = list(device.marks)
    else:
        marks = []
    yield from map(device.terminal, dict.fromkeys(marks))


def _alternating(facts: Facts, terminal: Terminal) -> tuple[Source, Terminal] | None:
    """The a.c. pole that reaches a terminal, other than by the earth that both may share; of several the highest."""
    met = [
        (source, pole)
        for source, pole in facts.touched.poles(terminal)
        if source.kind == "AC" and source.role != "output" and facts.metal.net(pole) not in facts.metal.any_earth
    ]
    return max(met, key=lambda m: _volts(m[0]), default=None)


def _volts(source: Source) -> float:
    return max(volts for _, _, volts in source.pairs())


def _meetings(rule: Rule, facts: Facts) -> Iterator[Finding]:
    told: set[tuple[str, Terminal]] = set()
    for device in facts.plan.devices.values():
        for terminal in control_terminals(device):
            met = _alternating(facts, terminal)
            if met and (device.name, met[1]) not in told:
                source, pole = met
                told.add((device.name, pole))
                yield rule.finding(
                    device.spot,
                    devices=(device.name, source.device),
                    severity=None if _volts(source) > LOW_VOLTAGE_V else "damage",
                    terminal=str(terminal),
                    pole=str(pole),
                    volts=f"{_volts(source):.0f} V a.c.",
                    cable="",
                    other="",
                    what="",
                )


def _wires_of_cables(facts: Facts) -> Mapping[str, list[Wire]]:
    found: dict[str, list[Wire]] = {}
    for wire in facts.plan.wires:
        if wire.cable in facts.plan.cables:
            found.setdefault(str(wire.cable), []).append(wire)
    return found


def _is_motor_core(facts: Facts, wire: Wire) -> bool:
    return any(source.role == "output" for source, _ in facts.touched.poles(wire.a))


def _is_control_core(facts: Facts, wire: Wire) -> bool:
    """A core of a low voltage circuit; earth, mains and the motor's own sensor, which may share its cable, are none."""
    ends = (wire.a, wire.b)
    own_sensor = any(facts.plan.devices[t.device].kind in ("motor", "thermistor") for t in ends)
    if own_sensor or facts.metal.net(wire.a) in facts.metal.any_earth:
        return False
    poles = facts.touched.poles(wire.a)
    high = any(s.role == "output" or (s.kind == "AC" and _volts(s) > LOW_VOLTAGE_V) for s, _ in poles)
    return not high and (bool(poles) or any(t in control_terminals(facts.plan.devices[t.device]) for t in ends))


def _side_by_side(rule: Rule, facts: Facts) -> Iterator[Finding]:
    cores = _wires_of_cables(facts)
    motor = {name: found for name, wires in cores.items() if (found := [w for w in wires if _is_motor_core(facts, w)])}
    control = {name: found for name, wires in cores.items() if (found := [w for w in wires if _is_control_core(facts, w)])}
    cables = facts.plan.cables
    for name, power in motor.items():
        cable = cables[name]
        beside = [cables[other] for other in control if other != name and _shares_route(cable, cables[other])]
        if name in control:
            yield _pair(rule, facts, cable, "", power, control[name])
        elif beside:
            others = join_words(other.name for other in beside)
            yield _pair(rule, facts, cable, others, power, [w for other in beside for w in control[other.name]])


def _shares_route(motor: Cable, control: Cable) -> bool:
    return motor.route is not None and motor.route == control.route and motor.screened is False and control.screened is not True


def _pair(rule: Rule, facts: Facts, cable: Cable, other: str, wires: list[Wire], disturbed: list[Wire]) -> Finding:
    ends = (t.device for w in disturbed for t in (w.a, w.b))
    drives = (s.device for w in wires for s, _ in facts.touched.poles(w.a) if s.role == "output")
    beside = f"in {other} on the route of the motor cores in {cable.name}, none of them with a screen"
    return rule.finding(
        cable.spot,
        devices=tuple(dict.fromkeys((*drives, *ends))),
        wires=tuple(dict.fromkeys(w.number for w in disturbed)),
        terminal="",
        pole="",
        volts="",
        cable=cable.name,
        other=other,
        what=beside if other else f"in one cable with the motor cores, {cable.name}",
    )


def _unscreened(rule: Rule, facts: Facts) -> Iterator[Finding]:
    for name, wires in _wires_of_cables(facts).items():
        cable = facts.plan.cables[name]
        what = _needs_screen(facts, wires)
        if what and cable.screened is not True:
            yield rule.finding(
                cable.spot,
                devices=tuple(dict.fromkeys(t.device for w in wires for t in (w.a, w.b))),
                terminal="",
                pole="",
                volts="",
                cable=name,
                other="no screen" if cable.screened is False else "no screen that the plan states",
                what=what,
            )


def _needs_screen(facts: Facts, wires: Iterable[Wire]) -> str:
    roles = {source.role for wire in wires for source, pole in facts.touched.poles(wire.a) if pole not in source.returns}
    if "output" in roles:
        return "carries a drive's output to the motor"
    return "carries the speed signal" if "reference" in roles else ""
