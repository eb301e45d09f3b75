"""Causes and effects of a plan, worked out from its behaviour: what every event does to every motor, coil, lamp and load."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from wirecheck.behaviour import Behaviour, EventRule
from wirecheck.behaviour.causes import about_to_stop
from wirecheck.circuit.elements import LOAD_KINDS, has_coil, quantity, section
from wirecheck.facts import Facts
from wirecheck.plan.model import Device, Plan

GROUPS = {
    "emergency-stop": "emergency stops",
    "guard-switch": "guards",
    **dict.fromkeys(("mains", "isolator", "plug-connector"), "supply lost and back"),
    **dict.fromkeys(
        (
            "circuit-breaker",
            "fuse",
            "residual-current-device",
            "overload-relay",
            "drive",
            "motor",
            "thermistor",
            "thermal-switch",
        ),
        "trips",
    ),
    "thermistor-relay": "trips",
}
"""The groups of causes by kind of device; all else is worked by the operator, or happens in time."""

ORDER = ("operator", "guards", "emergency stops", "supply lost and back", "trips", "time")

ON, OFF, LATER = "on", "off", "later"


class Effect(NamedTuple):
    """Something that a cause can change: a motor, a coil, a lamp or load."""

    device: Device
    what: str

    @property
    def name(self) -> str:
        """How the chart heads its column."""
        return self.device.name


class Cell(NamedTuple):
    """What a cause does to an effect: the words of the chart, and the states before and after that show it.

    `turns` is `off` where it ends, `on` where it begins, `later` where it begins when the device is put back.
    """

    words: str
    turns: str
    before: int
    after: int


class Cause(NamedTuple):
    """A row of the chart."""

    group: str
    rule: EventRule
    device: Device
    cells: dict[str, tuple[Cell, ...]]
    back: str

    @property
    def event(self) -> str:
        """The event, as everywhere."""
        return str(self.rule.event)


def effects_of(plan: Plan) -> list[Effect]:
    """All that can be caused: motors first, then coils, then lamps and loads."""
    devices = plan.devices.values()
    motors = [Effect(d, "motor") for d in devices if d.kind == "motor"]
    coils = [Effect(d, "coil") for d in devices if has_coil(d)]
    loads = [Effect(d, "load") for d in devices if d.kind in LOAD_KINDS]
    return motors + coils + loads


def causes_of(facts: Facts) -> list[Cause]:
    """Every event that anybody or the world can bring about, with what it does; those that do nothing as well."""
    found = [_cause(facts, name, position) for name, position in _events(facts)]
    return sorted(found, key=lambda c: ORDER.index(c.group))


def _events(facts: Facts) -> Iterator[tuple[str, str]]:
    """The events of the chart: not those that only put a device back to rest, but every loss of supply."""
    known = {(r.event.device, r.event.position) for view in facts.views for r in view.events if r.event.device not in view.free}
    for device in facts.plan.devices.values():
        rest = device.positions[:1]
        if device.kind in ("mains", "isolator"):
            rest = device.positions[1:2]
        for name, position in sorted(known, key=lambda e: _place(device, e[1])):
            if name == device.name and (position not in rest or device.kind in ("selector", "key-switch")):
                yield name, position


def _place(device: Device, position: str) -> int:
    return device.positions.index(position) if position in device.positions else len(device.positions)


def _cause(facts: Facts, name: str, position: str) -> Cause:
    device = facts.plan.devices[name]
    cells: dict[str, tuple[Cell, ...]] = {}
    rule, back = None, []
    for effect in effects_of(facts.plan):
        b = facts.view_of(effect.name, name)
        own = next((r for r in b.events if (r.event.device, r.event.position) == (name, position)), None)
        if own is None:
            continue
        rule = rule or own
        made = tuple(_cells(b, own, effect)) or tuple(_let_go(b, own, effect))
        if made:
            cells[effect.name] = made
            back += _back(b, own, effect, made) if effect.what == "motor" else []
    if rule is None:
        rule = next(r for v in facts.views for r in v.events if (r.event.device, r.event.position) == (name, position))
    group = "time" if position == "elapsed" else GROUPS.get(device.kind, "operator")
    return Cause(group, rule, device, cells, "; ".join(dict.fromkeys(back)))


def acts(b: Behaviour, effect: Effect, direction: str | None = None) -> int:
    """The reached states in which an effect is there: the motor moves, the coil is in, the lamp is lit."""
    name = effect.name
    if effect.what == "motor":
        return b.reached & b.moving(name, direction)
    return b.reached & (b.within(name) if effect.what == "coil" and b.within(name) else b.acting.get(name, 0))


def _cells(b: Behaviour, rule: EventRule, effect: Effect) -> Iterator[Cell]:
    there = acts(b, effect)
    here = b.reached & ~b.at(rule.event.device, rule.event.position)
    yield from _ends(b, rule, effect, there & here, there)
    away = here & ~there & (b.space.full if b.is_start(rule.event) else ~b.start_held)
    words = {"coil": "in", "load": "on"}
    surprise = not b.is_start(rule.event)
    for direction in ("forward", "reverse") if effect.what == "motor" else (None,):
        after = b.after(rule, away) & acts(b, effect, direction)
        if after:
            yield Cell(words.get(effect.what) or (f"STARTS {direction}" if surprise else f"{direction}"), ON, away, after)
    if effect.what == "motor":
        yield from _turns_round(b, rule, effect, here)


def _let_go(b: Behaviour, rule: EventRule, effect: Effect) -> Iterator[Cell]:
    """What begins only when the device is let go again: a monitored reset acts so."""
    there = acts(b, effect)
    away = b.after(rule, b.reached & ~there & ~b.at(rule.event.device, rule.event.position) & ~b.start_held) & ~there
    for undo in _undo(b, rule):
        after = b.after(undo, away) & there
        if after:
            words = {"coil": "in", "load": "on"}.get(effect.what, "STARTS")
            yield Cell(f"{words} when put back", LATER, away, after)


def _undo(b: Behaviour, rule: EventRule) -> list[EventRule]:
    """The events that put a device elsewhere again and are no start."""
    own = rule.event
    others = (r for r in b.events if r.event.device == own.device and r.event.position != own.position)
    return [r for r in others if r.event.position in b.plan.devices[own.device].positions and not b.is_start(r.event)]


def _ends(b: Behaviour, rule: EventRule, effect: Effect, before: int, there: int) -> Iterator[Cell]:
    after = b.after(rule, before)
    off = after & ~there
    late = about_to_stop(b, after & there, there) if effect.what == "motor" and after & there else 0
    if not off and not late:
        return
    goes_on = after & there & ~late
    loose = before & ~b.start_held
    if goes_on and loose and not b.after(rule, loose) & there & ~late:
        note, before, off = " (not while a start is held)", loose, b.after(rule, loose) & ~there
    else:
        note = ", or not" if goes_on else ""
    word = {"coil": "out", "load": "off"}.get(effect.what) or f"stops{_how(b, effect.device, off, late)}"
    yield Cell(word + note, OFF, before, off or late)


def _turns_round(b: Behaviour, rule: EventRule, effect: Effect, here: int) -> Iterator[Cell]:
    for one, other in (("forward", "reverse"), ("reverse", "forward")):
        after = b.after(rule, here & acts(b, effect, one)) & acts(b, effect, other)
        if after:
            yield Cell(f"goes over to {other}", ON, here & acts(b, effect, one), after)


def _how(b: Behaviour, motor: Device, off: int, late: int) -> str:
    """How a motor stops, with the stop category (IEC 60204-1:2016, 9.2.2)."""
    if late and not off:
        return " by the drive, then torque or power off (1)"
    drives = [
        name for name in dict.fromkeys(f.source.device for f in b.motion(motor.name).fed) if b.plan.devices[name].kind == "drive"
    ]
    kinds = dict.fromkeys(word for drive in drives for word in _by_drive(b, drive, off)) if drives else {"power off (0)": None}
    return f": {' / '.join(kinds)}" if kinds else ""


def _by_drive(b: Behaviour, name: str, off: int) -> Iterator[str]:
    part = b.drive(name)
    power, torque = part.bit(b.space, "power"), part.bit(b.space, "torque", b.space.full)
    if off & ~power:
        yield "power off (0)"
    if off & power & ~torque:
        yield "torque off (0)"
    rest = off & power & torque
    if rest & b.at(name, "faulted"):
        yield "drive trips (0)"
        rest &= ~b.at(name, "faulted")
    if rest & b.running(name):
        yield "cut off from the drive (0)"
        rest &= ~b.running(name)
    if rest:
        yield _set_stop(b.plan.devices[name])


def _set_stop(drive: Device) -> str:
    stop = section(drive.values, "settings", "stop")
    mode, time = str(stop.get("mode", "as the drive is set")), quantity(stop, "time")
    if mode == "coast":
        return "coasts (0)"
    return f"{mode}{f' {time.text}' if time else ''} (2)"


def _back(b: Behaviour, rule: EventRule, effect: Effect, cells: tuple[Cell, ...]) -> list[str]:
    """What happens to a motor when the device is put back."""
    there, found = acts(b, effect), []
    undo = _undo(b, rule)
    for cell in cells:
        if cell.turns == LATER:
            continue
        after = b.after(rule, cell.before) & (there if cell.turns == ON else ~there)
        loose = after & ~b.start_held if cell.turns == OFF else after
        comes = [b.after(r, loose) for r in undo if b.after(r, loose)]
        if not comes:
            continue
        if cell.turns == OFF:
            found.append("STARTS AGAIN" if any(states & there for states in comes) else "stays stopped")
        elif all(not states & there for states in comes):
            found.append("stops")
        else:
            found.append("runs on" if any(not states & ~there for states in comes) else "runs on, or not")
    return found
