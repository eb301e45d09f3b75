"""What conductors carry and what protects them, against what they may carry."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from wirecheck.electrics.capacity import Capacity, next_rating, next_size
from wirecheck.electrics.conductors import Alike, Conductors, wire_words
from wirecheck.electrics.number import Missing, Number
from wirecheck.electrics.protection import Guard
from wirecheck.electrics.states import States
from wirecheck.plan.model import Plan, Wire

LOAD, PROTECTED = "conductor current", "conductor protection"
IN_TRUNKING, FURTHER_ON = "conductor protection in trunking", "conductor protection further on"
NUMBERS = (LOAD, PROTECTED, IN_TRUNKING, FURTHER_ON)


EFFECTS = {
    IN_TRUNKING: "Wires packed close together in trunking can get too hot",
    FURTHER_ON: "A fault inside the cable is switched off by nothing but a device too large for it",
}


class Guarded(NamedTuple):
    """What limits a wire's current, by which name it is judged, and the current that it may have."""

    wire: Wire
    can: Capacity
    name: str
    guard: Guard
    high: float
    missing: tuple[Missing, ...] = ()


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """The current of each group of like conductors, then their protection."""
    found = states.conductors()
    loads: dict[object, tuple[list[Wire], Capacity]] = {}
    guards: dict[object, list[Guarded]] = {}
    for wire, can in found.sized:
        loads.setdefault((wire.cable, wire.size_text, can.low, can.high), ([], can))[0].append(wire)
        amps = found.carried(found.passages(wire)).amps
        if amps is None or amps <= can.high:  # of what is overloaded already the protection is no matter of its own
            one = _guarded(found, wire, can)
            guards.setdefault(_alike(one), []).append(one)
    for wires, can in loads.values():
        yield _load(plan, found.alike(wires, can))
    for each in guards.values():
        yield from _protection(plan, each)


def _alike(one: Guarded) -> object:
    """What is told as one: conductors laid alike that are protected alike, or all that one device fails to protect."""
    if one.guard.amps > one.high and not math.isinf(one.guard.amps):
        return one.name, one.guard.devices
    return one.name, one.guard.amps, one.wire.cable, one.wire.size_text, one.high, one.can.low


def _load(plan: Plan, group: Alike) -> Number:
    carried, can = group.carried, group.capacity
    high = can.low if carried.amps is not None and carried.amps <= can.low else can.high
    amps, asked = carried.against(high)
    size = next_size(plan, group.worst, amps or 0.0)
    return Number(
        name=LOAD,
        device=_device(group.wires),
        at=group.worst.spot,
        value=amps,
        unit="A",
        high=high,
        working=f"Through wire {group.worst.number}: {carried.words or 'what is not known'}. {can.words}.",
        inputs=(*carried.inputs, *can.inputs),
        source=can.source,
        devices=carried.devices,
        wires=tuple(dict.fromkeys(wire.number for wire in group.wires)),
        events=carried.events,
        missing=asked or _unsure(amps, can),
        advice=f"Use at least {size}, or lay them so that they carry more." if size else "Divide the load.",
    )


def _unsure(amps: float | None, can: Capacity) -> tuple[Missing, ...]:
    """What to ask where a current lies between what a conductor carries laid well and laid badly."""
    return () if amps is None or amps <= can.low or amps > can.high else can.missing


def _guarded(found: Conductors, wire: Wire, can: Capacity) -> Guarded:
    """The guard ahead. A device further on counts where the wire to it is short; where it is long that is told."""
    ahead, beyond, short = found.guard(wire), found.protection.beyond(found.passages(wire)), found.is_short(wire)
    if beyond.amps < ahead.amps and ahead.amps > can.low:
        if short:
            ahead = beyond
        elif beyond.amps <= can.low:
            return Guarded(wire, can, FURTHER_ON, ahead, can.high, _length(found, wire))
    if can.low < ahead.amps <= can.high and not can.missing:
        return Guarded(wire, can, IN_TRUNKING, ahead, can.low)
    return Guarded(wire, can, PROTECTED, ahead, can.low if ahead.amps <= can.low else can.high)


def _length(found: Conductors, wire: Wire) -> tuple[Missing, ...]:
    """The length of a cable that might be a short tap."""
    cable = found.plan.cables.get(wire.cable) if wire.cable else None
    unknown = cable is not None and cable.length_m is None
    return (
        (Missing(f"{cable.name} length", cable.spot, "whether a protective device at its end is enough"),)
        if cable and unknown
        else ()
    )


def _protection(plan: Plan, each: Sequence[Guarded]) -> Iterator[Number]:
    worst = min(each, key=lambda one: one.high)
    known, asked = not math.isinf(worst.guard.amps), worst.guard.missing
    if not known and not asked:
        return
    by = " or ".join(dict.fromkeys(one.guard.words for one in each))
    size, rating = next_size(plan, worst.wire, worst.guard.amps if known else 0.0), next_rating(worst.high)
    thicker = f", or use at least {size}" if size else ""
    yield Number(
        name=worst.name,
        device=_device([one.wire for one in each]),
        at=each[0].wire.spot,
        value=worst.guard.amps if known and not worst.missing else None,
        unit="A",
        high=worst.high,
        working=f"What limits the current there for long: {by}. {worst.can.words}.",
        inputs=(*dict.fromkeys(i for one in each for i in one.guard.inputs), *worst.can.inputs),
        source=worst.can.source,
        devices=tuple(dict.fromkeys(d for one in each for d in one.guard.devices)),
        wires=tuple(dict.fromkeys(one.wire.number for one in each)),
        missing=worst.missing or (_unsure(worst.guard.amps, worst.can) if known else asked),
        effect=EFFECTS.get(worst.name, ""),
        advice=f"Fit a fuse or breaker of at most {rating} where {_begin([one.wire for one in each])}{thicker}.",
    )


def _begin(wires: Sequence[Wire]) -> str:
    words = wire_words(wires)
    return f"{words} {'begin' if words.startswith('wires') else 'begins'}"


def _device(wires: Sequence[Wire]) -> str:
    """Wires in words, those of each size and cable together."""
    alike: dict[tuple[str, str | None], list[Wire]] = {}
    for wire in wires:
        alike.setdefault((wire.size_text, wire.cable), []).append(wire)
    each = [f"{wire_words(ws)} ({size}){f' in {cable}' if cable else ''}" for (size, cable), ws in alike.items()]
    return each[0] if len(each) == 1 else f"{', '.join(each[:-1])} and {each[-1]}"
