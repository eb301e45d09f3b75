"""The size of the protective conductors, and the leakage that goes through them all the time."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from wirecheck.circuit.currents import Load
from wirecheck.circuit.elements import Element
from wirecheck.circuit.sources import Source
from wirecheck.electrics.capacity import at_least, gauge_mm2, next_size
from wirecheck.electrics.conductors import Conductors
from wirecheck.electrics.given import Given, given, missing
from wirecheck.electrics.number import Input, Missing, Number, figure, in_words
from wirecheck.electrics.protection import NONE, Guard
from wirecheck.electrics.states import States
from wirecheck.electrics.tables import table
from wirecheck.findings import Spot
from wirecheck.plan.model import Device, Plan, Terminal, Wire

SIZE, LEAKAGE = "protective conductor size", "current in a protective conductor"
NUMBERS = (SIZE, LEAKAGE)

DECIDES = "whether one protective conductor is enough"


class Lines(NamedTuple):
    """The line conductors that feed a device: the thickest, and the one that the protection ahead would allow at least."""

    thickest: Wire
    needed_mm2: float
    guard: Guard
    words: str


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """For each device with a protective conductor its size, then the leakage of each drive and of the machine."""
    found = states.conductors()
    for pole in (p for source in found.currents.sources for p in source.poles if p.mark == "PE"):
        yield from _one_of_each(number for device in plan.devices.values() for number in _size(found, pole, device))
        yield from _leakages(found, plan.devices[pole.device], pole)


def _one_of_each(numbers: Iterable[Number]) -> Iterator[Number]:
    """Where one conductor is the thinnest for several devices, the one that needs most, with all of them."""
    each: dict[Spot, list[Number]] = {}
    for number in numbers:
        each.setdefault(number.at, []).append(number)
    for alike in each.values():
        worst = max(alike, key=lambda one: one.low or 0.0)
        yield worst._replace(devices=tuple(dict.fromkeys(name for one in (worst, *alike) for name in one.devices)))


def _size(found: Conductors, pole: Terminal, device: Device) -> Iterator[Number]:
    lines = _lines(found, device)
    end = device.terminal("PE")
    if lines is None or "PE" not in device.marks or end not in _wired(found.plan):
        return
    way = [wire for wire in found.currents.way(pole, end) if wire.size_mm2 is not None]
    if not way:
        return
    thin = min(way, key=lambda wire: wire.size_mm2 or 0.0)
    low, words, source = _least(found, lines)
    size = thin.size_mm2 or 0.0
    yield Number(
        name=SIZE,
        device=device.name,
        at=thin.spot,
        value=low if abs(size - low) < 0.01 * low else size,
        unit="mm2",
        low=low,
        working=f"Of the protective conductors to {device.name} the thinnest leads from {thin.a} to {thin.b}: {thin.size_text}."
        f" {lines.words}{words}",
        inputs=(_input(thin), _input(lines.thickest)),
        source=source,
        devices=(device.name,),
        wires=(thin.number,),
        advice=f"Replace {thin.a} to {thin.b} by one of at least {_as_size(found.plan, low)}.",
    )


def _wired(plan: Plan) -> frozenset[Terminal]:
    return frozenset(end for wire in plan.wires for end in (wire.a, wire.b))


def _input(wire: Wire) -> Input:
    return Input(f"wire {wire.number} {wire.a} to {wire.b} size", wire.size_text or "not stated", wire.spot)


def _lines(found: Conductors, device: Device) -> Lines | None:
    """The thickest line conductor at the ends where a device is fed from the mains or a drive's output."""
    feeds = [f for f in found.currents.fed if f[0].device == device.name and f[0].kind in ("load", "winding") and _is_power(f[1])]
    if not feeds:
        return None
    ends = {found.currents.node(end) for _, _, _, end in feeds}
    touching = [w for w in found.plan.wires if w.size_mm2 and ends & {found.currents.node(w.a), found.currents.node(w.b)}]
    if not touching:
        return None
    thickest = max(touching, key=lambda wire: wire.size_mm2 or 0.0)
    return _allowed(found, feeds, thickest)


def _is_power(source: Source) -> bool:
    return source.role == "output" or (source.kind == "AC" and source.feed is None)


def _allowed(found: Conductors, feeds: Sequence[tuple[Load, Source, Terminal, Terminal]], thickest: Wire) -> Lines:
    """A line thicker than its protection asks for needs no thicker protective conductor than a line that just fits it."""
    size = thickest.size_mm2 or 0.0
    words = f"Its line conductors have {thickest.size_text}."
    guards = [found.protection.short_circuit(s, pole, end) for _, s, pole, end in feeds if pole not in s.returns]
    guard = max(guards, key=lambda one: one.amps, default=NONE)
    by_drive = any(source.role == "output" for _, source, _, _ in feeds)
    if by_drive or math.isinf(guard.amps) or found.plan.machine.region == "NA":
        return Lines(thickest, size, guard, words)
    enough = next_size(found.plan, thickest, guard.amps)
    least = float(enough.removesuffix(" mm2")) if enough else size
    if least >= size:
        return Lines(thickest, size, guard, words)
    return Lines(thickest, least, guard, f"{words} Behind {guard.words} lines of {enough} would do.")


def _least(found: Conductors, lines: Lines) -> tuple[float, str, str]:
    """The smallest protective conductor in mm2, how that comes about, and the source."""
    if found.plan.machine.region == "NA":
        rows, guard = table("protective-conductor-size-na"), lines.guard
        if not math.isinf(guard.amps):
            gauge = at_least(rows, "rating_a", guard.amps, "awg")
            return gauge_mm2(gauge), f" Behind {guard.words} the protective conductor needs {gauge:g} AWG.", rows.cite()
    rows = table("protective-conductor-size")
    row = next(row for row in rows.rows if lines.needed_mm2 <= float(row["line_mm2"]))
    low = max(lines.needed_mm2 * float(row["share"]), float(row["least_mm2"]))
    return low, f" The protective conductor must then have at least {figure(low)} mm2.", rows.cite()


def _as_size(plan: Plan, low: float) -> str:
    if plan.machine.region != "NA":
        return f"{figure(low)} mm2"
    return next((f"{gauge} AWG" for gauge in range(24, -1, -1) if gauge_mm2(gauge) >= low * 0.99), f"{figure(low)} mm2")


def _leakages(found: Conductors, mains: Device, pole: Terminal) -> Iterator[Number]:
    fed = {f[0].device for f in found.currents.fed if f[1].device == mains.name}
    through = {name for name in found.currents.through if found.plan.devices[name].kind == "line-filter"}
    leaking = [d for d in found.plan.devices.values() if (d.kind == "drive" and d.name in fed) or d.name in through]
    ways = {d.name: found.currents.parts(pole, d.terminal("PE")) for d in leaking if "PE" in d.marks}
    for device in leaking:
        if ways.get(device.name):
            yield from _leakage(found, device, ways[device.name][0], [device], "a drive")
    first = [way[-1] for way in ways.values() if way]
    if first and not _plug_will_do(mains, first[0]):
        yield from _leakage(found, mains, first[0], leaking, "a machine")


def _plug_will_do(mains: Device, part: Sequence[Element]) -> bool:
    """Whether a plug is one for household outlets, which is judged by itself, or an industrial one with earth enough."""
    plug = given(mains, "plug")
    row = table("protective-conductor-current").row(of="a machine") or {}
    return plug is not None and (is_household(mains) or any(_size_of(e) >= float(row["industrial_mm2"]) for e in part))


def is_household(mains: Device) -> bool:
    """Whether the plug of a mains may be one for household outlets."""
    plug = given(mains, "plug")
    row = table("protective-conductor-current").row(of="a machine") or {}
    return plug is not None and mains.values.get("phases") != 3 and plug.high <= float(row["household_a"])


def _size_of(element: Element) -> float:
    return (element.wire.size_mm2 or 0.0) if element.wire else 0.0


def _leakage(found: Conductors, device: Device, part: Sequence[Element], leaking: Sequence[Device], of: str) -> Iterator[Number]:
    """Where a part of the way to earth is a single thin conductor; if its size is not stated, that is asked where it decides."""
    wire, rows = part[0].wire, table("protective-conductor-current")
    row = rows.row(of=of) or {}
    if len(part) != 1 or wire is None or _size_of(part[0]) >= float(row["thick_mm2"]):
        return
    each = {d.name: given(d, "leakage") for d in leaking}
    high = float(row["most_a"])
    known = [g for g in each.values() if g is not None]
    total = sum(g.high for g in known)
    asked = _asked(found.plan, each, wire, total > high)
    yield Number(
        name=LEAKAGE,
        device=device.name,
        at=wire.spot,
        value=None if asked else total,
        unit="A",
        high=high,
        working=f"{_sum_words(known)}. It goes through one protective conductor, {wire.a} to {wire.b}"
        f" ({wire.size_text or 'size not stated'}). If that breaks, the frame is live: for {of} one alone may carry"
        f" {in_words(high, 'A')}.",
        inputs=(*(g.input for g in known), _input(wire)),
        source=rows.cite(),
        devices=(device.name, *(d.name for d in leaking if d is not device)),
        wires=(wire.number,),
        missing=asked,
        advice=f"Fit a second protective conductor from {wire.a} to {wire.b}, at terminals of its own, or one of at least"
        f" {row['thick_mm2']:g} mm2.",
    )


def _asked(plan: Plan, each: Mapping[str, Given | None], wire: Wire, too_much: bool) -> tuple[Missing, ...]:
    if too_much:
        return (
            () if wire.size_mm2 is not None else (Missing(f"wire {wire.number} {wire.a} to {wire.b} size", wire.spot, DECIDES),)
        )
    return tuple(missing(plan.devices[name], "leakage", DECIDES) for name, found in each.items() if found is None)


def _sum_words(known: Sequence[Given]) -> str:
    words = " and ".join(f"{g.input.what} {in_words(g.high, 'A')}" for g in known)
    return f"{words}: {in_words(sum(g.high for g in known), 'A')}" if len(known) > 1 else words or "No leakage is stated"
