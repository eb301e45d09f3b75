"""What hangs on each control supply, transformer and reference, against what it can give."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecheck.circuit.currents import Load
from wirecheck.circuit.metal import Metal
from wirecheck.circuit.sources import Source
from wirecheck.electrics.conductors import Carried, Conductors, worst_of
from wirecheck.electrics.given import Given, given, missing
from wirecheck.electrics.number import Missing, Number, figure, in_words
from wirecheck.electrics.states import States
from wirecheck.plan.model import Device, Plan, Terminal

SUPPLY, REFERENCE = "load of a control supply", "load of a reference"
NUMBERS = (SUPPLY, REFERENCE)

ADVICE = {
    "drive": "Feed coils, lamps and sensors from a d.c. supply of their own; the drive's is for its inputs.",
    "transformer": "Take a larger transformer, or fewer or smaller coils and lamps.",
    "dc-supply": "Take a larger supply, or divide the load.",
}
DECIDES = "whether the supply can feed all that is on it at one time"

PoleFeed = tuple[Load, Source, Terminal, Terminal]
"""A load, its source, a pole of that and the end of the load that the pole reaches."""

NOTHING_TO_STATE = frozenset({"drive", "dc-supply", "sensor"})
"""Kinds that state no power of what they take: they have a current, which is asked for where it is missing, or take little."""


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """The load of each supply that states what it can give, then that of each reference."""
    found = states.conductors()
    for source in found.currents.sources:
        device = plan.devices[source.device]
        limit = _limit(device, source)
        if limit is not None and source.role == "supply":
            yield from _supply(found, device, source, limit)
    for device in plan.devices.values():
        if device.kind == "drive":
            yield from _reference(plan, device)


def _limit(device: Device, source: Source) -> tuple[float, Given, str] | None:
    """What a source can give in A, the value that says so, and how it follows."""
    if device.kind == "transformer":
        power = given(device, "power")
        volts = max(v for _, _, v in source.pairs())
        return (power.value / volts, power, f" ({power.quantity.text} divided by {figure(volts)} V)") if power else None
    path = {"dc-supply": "current", "drive": "control.supply.current"}.get(device.kind)
    amps = given(device, path) if path else None
    return (amps.value, amps, "") if amps else None


def _supply(found: Conductors, device: Device, source: Source, limit: tuple[float, Given, str]) -> Iterator[Number]:
    # A drive's figure is for what is connected to it: its own inputs are not counted.
    feeds: list[PoleFeed] = [
        f for f in found.currents.fed if f[1].name == source.name and not (f[0].kind == "input" and f[0].device == device.name)
    ]
    carried = _worst_pole(found, source, feeds)
    if not feeds or carried is None:
        return
    amps, stated, how = limit
    certain = _worst_pole(found, source, [feed for feed in feeds if not _is_guess(found.plan, feed[0])])
    value, asked = _against(found.plan, device, carried, certain, amps, [load for load, _, _, _ in feeds])
    yield Number(
        name=SUPPLY,
        device=device.name,
        at=stated.input.at or device.spot,
        value=value,
        unit="A",
        high=amps,
        working=f"{carried.words}. {device.name} gives {in_words(amps, 'A')}{how}.",
        inputs=(*carried.inputs, stated.input),
        source="common practice",
        devices=tuple(dict.fromkeys((device.name, *carried.devices))),
        events=carried.events,
        missing=asked,
        advice=ADVICE[device.kind],
    )


def _worst_pole(found: Conductors, source: Source, feeds: Sequence[PoleFeed]) -> Carried | None:
    """What goes through the pole that carries most."""
    return worst_of(found.together([(load, s, end) for load, s, pole, end in feeds if pole == p]) for p in source.poles)


def _is_guess(plan: Plan, load: Load) -> bool:
    """Whether a usual power was taken for a load of which the plan could state it."""
    return (
        bool(load.parts[0].assumed) and load.kind in ("coil", "load") and plan.devices[load.device].kind not in NOTHING_TO_STATE
    )


def _against(
    plan: Plan, device: Device, carried: Carried, certain: Carried | None, high: float, loads: Sequence[Load]
) -> tuple[float | None, tuple[Missing, ...]]:
    """The load where it is known well enough: an estimate that is too high alone proves nothing, and becomes a question."""
    amps, asked = carried.against(high)
    guessed = {load.device for load in loads if _is_guess(plan, load)}
    if amps is None or amps <= high or not guessed:
        return amps, asked
    known = certain.against(high)[0] if certain else None
    if known is not None and known > high:  # without any guess it is too much already
        return known, ()
    return None, tuple(Missing(f"{name} {_key(plan, loads, name)}", device.spot, DECIDES) for name in sorted(guessed))


def _key(plan: Plan, loads: Sequence[Load], name: str) -> str:
    coil = any(load.device == name and load.kind == "coil" for load in loads)
    return "coil_power" if coil and plan.devices[name].kind != "custom" else "power"


def _reference(plan: Plan, drive: Device) -> Iterator[Number]:
    """The knobs between plus and common of a drive's reference."""
    limit, volts = given(drive, "control.reference.current"), given(drive, "control.reference.voltage")
    control = drive.values.get("control")
    block = control.get("reference") if isinstance(control, dict) else None
    if limit is None or volts is None or not isinstance(block, dict) or not {"plus", "common"} <= block.keys():
        return
    metal = Metal(plan)
    ends = [metal.net(drive.terminal(block[key])) for key in ("plus", "common")]
    knobs = [d for d in plan.devices.values() if d.kind == "potentiometer" and _is_between(metal, d, ends)]
    stated = [(knob, given(knob, "resistance")) for knob in knobs]
    asked = tuple(missing(knob, "resistance", "whether the reference can feed the knob") for knob, ohm in stated if ohm is None)
    known = [(knob, ohm) for knob, ohm in stated if ohm is not None]
    if knobs:
        words = " and ".join(f"{k.name} {figure(volts.value)} V divided by {in_words(o.value, 'ohm')}" for k, o in known)
        total = sum(volts.value / o.value for _, o in known)
        yield Number(
            name=REFERENCE,
            device=drive.name,
            at=(knobs[0].lines.get("resistance") or knobs[0].spot),
            value=None if asked else total,
            unit="A",
            high=limit.value,
            working=f"{words or 'The resistance of the knob is not known'}: {in_words(total, 'A')}. "
            f"{drive.name} gives {limit.quantity.text} there.",
            inputs=(*(o.input for _, o in known), volts.input, limit.input),
            source="common practice",
            devices=(*(k.name for k in knobs), drive.name),
            missing=asked,
            advice=f"Use a knob of at least {in_words(volts.value / limit.value, 'ohm')}; 5 to 10 kohm is usual.",
        )


def _is_between(metal: Metal, knob: Device, ends: Sequence[Terminal]) -> bool:
    return {metal.net(knob.terminal(mark)) for mark in "13"} == set(ends)
