"""The current of a fault to earth against the current that makes the protection switch off at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from wirecheck.circuit.currents import Load
from wirecheck.circuit.elements import Element, section
from wirecheck.circuit.sources import Source
from wirecheck.electrics.conductors import Conductors
from wirecheck.electrics.given import Given, given, missing
from wirecheck.electrics.number import Input, Missing, Number, figure, in_words
from wirecheck.electrics.resistance import RECKONING, length_inputs, resistance_ohm
from wirecheck.electrics.states import States
from wirecheck.electrics.tables import limit, table
from wirecheck.plan.model import Device, Plan, Terminal, Wire

NUMBERS = ("earth-fault current",)

DECIDES = "whether a fault to earth is switched off in time"


class Cut(NamedTuple):
    """The current in A at which a device surely switches off in time, None where the plan does not tell."""

    amps: float | None
    words: str
    inputs: tuple[Input, ...] = ()
    missing: tuple[Missing, ...] = ()
    source: str = ""


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """For each device with an earth, on a mains with TN earthing whose fault loop is stated, its worst line."""
    found = states.conductors()
    each: dict[str, list[Number]] = {}
    for load, source, pole, end in found.currents.fed:
        mains = plan.devices[source.device]
        loop = given(mains, "fault_loop") if mains.kind == "mains" and mains.values.get("earthing", "TN") == "TN" else None
        if loop is not None and load.kind != "coil" and _volts(source, pole) > 0:
            back = found.currents.way(Terminal(mains.name, "PE"), Terminal(load.device, "PE"))
            if back:
                each.setdefault(load.device, []).append(_number(found, load, source, (pole, end), loop, back))
    yield from _told_once([min(lines, key=_margin) for lines in each.values()])


def _margin(one: Number) -> float:
    return (one.value or 0.0) / (one.low or 1.0)


def _told_once(each: Sequence[Number]) -> Iterator[Number]:
    """What switches off in time by itself; of what one device does not switch off in time the worst, with all of them."""
    late: dict[tuple[Input, ...], list[Number]] = {}
    for one in each:
        if one.too_low:
            late.setdefault(one.inputs[1:2], []).append(one)
        else:
            yield one
    for alike in late.values():
        worst = min(alike, key=_margin)
        yield worst._replace(devices=tuple(dict.fromkeys(name for one in (worst, *alike) for name in one.devices)))


def _volts(source: Source, pole: Terminal) -> float:
    """Between a pole and earth."""
    earth = Terminal(source.device, "PE")
    return source.voltage_between(pole, earth) if earth in source.poles else 0.0


def _number(
    found: Conductors, load: Load, source: Source, way: tuple[Terminal, Terminal], loop: Given, back: tuple[Wire, ...]
) -> Number:
    pole, end = way
    there = found.currents.way(pole, end)
    ohms = {w: ohm for w in (*there, *back) if (ohm := resistance_ohm(found.plan, w)) is not None}
    total = loop.value + sum(ohms.values())
    volts = _volts(source, pole)
    percent = limit("supply during a fault", "conductor-limits")
    amps = percent / 100 * volts / total
    cut = _cut(found, source, pole, end)
    cables = "".join(f" and {figure(ohm)} ohm of wire {w.number} in {w.cable}" for w, ohm in ohms.items())
    reckoning = f" {RECKONING}." if cables else ""
    return Number(
        name="earth-fault current",
        device=load.device,
        at=found.plan.devices[load.device].spot,
        value=amps if cut.amps is not None else None,
        unit="A",
        low=cut.amps,
        working=f"The loop has {loop.quantity.text}{cables}: {figure(total)} ohm. {figure(percent)} % of {figure(volts)} V by"
        f" that are {in_words(amps, 'A')}. {cut.words[:1].upper()}{cut.words[1:]}.{reckoning}",
        inputs=(loop.input, *cut.inputs, *length_inputs(found.plan, ohms)),
        source="; ".join(dict.fromkeys(s for s in ("IEC 60364-4-41:2005, 411.4.4 (value from memory)", cut.source) if s)),
        case=f"at {pole.mark}",
        devices=(load.device,),
        missing=cut.missing if cut.amps is None else (),
        advice="Fit a breaker with curve B or of a smaller rating, thicker conductors, or a residual-current device of 30 mA.",
    )


def _cut(found: Conductors, source: Source, pole: Terminal, end: Terminal) -> Cut:
    """The device on the way that switches off first."""
    each = [
        _device_cut(found.plan.devices[str(e.device)], e)
        for part in found.currents.parts(pole, end)
        if len(part) == 1
        for e in part
        if e.device
    ]
    each.append(_mains_cut(found.plan.devices[source.device]))
    known = [cut for cut in each if cut is not None and cut.amps is not None]
    if known:
        return min(known, key=lambda cut: cut.amps or 0.0)
    asked = tuple(m for cut in each if cut is not None for m in cut.missing)
    return Cut(None, "What switches it off is not known", (), asked)


def _device_cut(device: Device, element: Element) -> Cut | None:
    if device.kind == "residual-current-device":
        trips = given(device, "trip_current")
        return Cut(5 * trips.high, f"{device.name} trips at 5 times {trips.quantity.text}", (trips.input,)) if trips else None
    if device.kind not in ("circuit-breaker", "fuse") or element.contact is None or not element.contact.pole:
        return None
    key = "class" if device.kind == "fuse" else "curve"
    return _by_curve(device, given(device, "rating"), device.values.get(key), ("rating", key), device.name)


def _mains_cut(mains: Device) -> Cut | None:
    curve = section(mains.values, "protected_by").get("curve")
    rating = given(mains, "protected_by.rating")
    return _by_curve(mains, rating, curve, ("protected_by.rating", "protected_by.curve"), f"what protects {mains.name}")


def _by_curve(device: Device, rating: Given | None, curve: object, keys: tuple[str, str], name: str) -> Cut:
    if rating is None or curve is None:
        lacking = [key for key, known in zip(keys, (rating, curve), strict=True) if known is None]
        return Cut(None, name, (), tuple(missing(device, key, DECIDES) for key in lacking))
    text = str(curve)
    rows = table("tripping-current")
    if row := rows.row(curve=text):
        times = float(row["times"])
        words = f"{name} ({text} {rating.quantity.text}) surely trips at once at {times:g} times its rated current"
        return Cut(times * rating.value, words, (rating.input,), (), rows.cite())
    small = table("small-fuse-current")
    if row := small.row(**{"class": text}):
        times = float(row["times"])
        words = f"{name} ({text} {rating.quantity.text}) surely blows in time at {times:g} times its rated current"
        return Cut(times * rating.value, words, (rating.input,), (), small.cite())
    fuses = table("fuse-current")
    row = fuses.row(rating_a=rating.value) if text.lower() in ("gg", "gl") else None
    if row is None:
        return Cut(None, name)
    words = f"{name} ({text} {rating.quantity.text}) surely blows within 0.4 s at {row['amps']:g} A"
    return Cut(float(row["amps"]), words, (rating.input,), (), fuses.cite())
