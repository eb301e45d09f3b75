"""What is lost in the conductors on the way to each load, and what a coil still gets at the lowest supply."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from wirecheck.circuit.currents import Load
from wirecheck.circuit.elements import coil_rating
from wirecheck.circuit.sources import Source
from wirecheck.electrics.conductors import Conductors
from wirecheck.electrics.number import Input, Missing, Number, figure, in_words
from wirecheck.electrics.resistance import RECKONING, SOURCE, length_inputs, resistance_ohm
from wirecheck.electrics.states import States
from wirecheck.electrics.tables import limit, table
from wirecheck.plan.model import Plan, Terminal, Wire

DROP, COIL = "voltage drop", "coil voltage at the lowest supply"
NUMBERS = (DROP, COIL)

SMALL_V = 1e-6

LIMITS = "conductor-limits"


class Leg(NamedTuple):
    """One conductor's way from a pole of the source to an end of the load: the volts lost, where, and how that is worked out."""

    end: Terminal
    volts: float
    words: str
    wires: tuple[Wire, ...]
    missing: tuple[Missing, ...]


class Lost(NamedTuple):
    """What a load loses on both its sides, in V."""

    volts: float
    words: str
    wires: tuple[Wire, ...]
    inputs: tuple[Input, ...]
    missing: tuple[Missing, ...]


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """For each load and each source of it, where the plan states any length on the way."""
    found = states.conductors()
    feeds: dict[tuple[int, str], tuple[Load, Source, list[tuple[Terminal, Terminal]]]] = {}
    for load, source, pole, end in found.currents.fed:
        feeds.setdefault((id(load), source.name), (load, source, []))[2].append((pole, end))
    for load, source, ways in feeds.values():
        legs = [leg for pole, end in ways if (leg := _leg(found, pole, end)).wires]
        if legs and load.kind == "coil":
            yield from _coil(plan, load, source, legs, found.currents.voltages(load, source)[-1])
        elif legs and load.kind in ("load", "winding") and (source.role == "output" or source.feed is None):
            yield _drop(plan, load, source, legs, found.currents.voltages(load, source)[-1])


def _leg(found: Conductors, pole: Terminal, end: Terminal) -> Leg:
    volts, words, wires = 0.0, [], []
    asked: list[Missing] = []
    for wire in found.currents.way(pole, end):
        ohm = resistance_ohm(found.plan, wire)
        if ohm is not None:
            carried = found.carried(found.passages(wire))
            amps = carried.least if carried.amps is None else carried.amps
            asked += carried.missing if carried.amps is None else ()
            volts += ohm * amps
            words.append(f"{in_words(amps, 'A')} through {figure(ohm)} ohm in {wire.cable}")
            wires.append(wire)
    return Leg(end, volts, f"{' and '.join(words)} lose {figure(volts)} V", tuple(wires), tuple(asked))


def _lost(plan: Plan, source: Source, legs: list[Leg]) -> Lost:
    """What is lost between the ends of the load: in two conductors, or in three with currents 120 degrees apart."""
    worst: dict[Terminal, Leg] = {}
    for leg in legs:
        if leg.end not in worst or leg.volts > worst[leg.end].volts:
            worst[leg.end] = leg
    each = sorted(worst.values(), key=lambda leg: -leg.volts)
    wires = tuple(dict.fromkeys(wire for leg in legs for wire in leg.wires))
    asked = tuple(dict.fromkeys(m for leg in legs for m in leg.missing))
    lines = sum(abs(volts) > SMALL_V for volts in source.poles.values())
    if lines == 3 and len(each) > 2:
        volts, words = math.sqrt(3) * each[0].volts, f"{each[0].words}, in three lines together 1.732 times that"
    elif len(each) > 1 and each[0].words == each[1].words:
        volts, words = 2 * each[0].volts, f"{each[0].words}, there and back twice that"
    else:
        volts, words = sum(leg.volts for leg in each[:2]), " and ".join(leg.words for leg in each[:2])
    return Lost(volts, words, wires, length_inputs(plan, wires), asked)


def _drop(plan: Plan, load: Load, source: Source, legs: list[Leg], volts: float) -> Number:
    lost = _lost(plan, source, legs)
    device = plan.devices[load.device]
    return Number(
        name=DROP,
        device=load.device,
        at=device.spot,
        value=None if lost.missing else lost.volts / volts * 100,
        unit="%",
        high=limit("voltage drop to a load", LIMITS),
        working=f"{lost.words}: {figure(lost.volts)} V of {figure(volts)} V. {RECKONING}; wires inside enclosures are left out.",
        inputs=lost.inputs,
        source=f"{table(LIMITS).cite()}; {SOURCE}",
        case=f"from {source.device}",
        devices=(load.device, source.device),
        wires=tuple(dict.fromkeys(wire.number for wire in lost.wires)),
        missing=lost.missing,
        advice=f"Use thicker conductors on the way to {load.device}, the longest cable first: twice the section loses half.",
    )


def _coil(plan: Plan, load: Load, source: Source, legs: list[Leg], gives: float) -> Iterator[Number]:
    device = plan.devices[load.device]
    rated = coil_rating(device)
    rows = table("coil-operating-range")
    least, most = (float(rows.rows[0][column]) for column in ("least", "most"))
    if rated is None or not rated.value * least <= gives <= (rated.high or rated.value) * most:
        return  # a coil of another voltage than its supply is a matter of its own
    lost = _lost(plan, source, legs)
    percent = 100.0 if source.kind == "DC" else limit("lowest supply", LIMITS)  # a d.c. supply keeps its voltage all the same
    lowest = gives * percent / 100
    share = "" if source.kind == "DC" else f", {figure(percent)} % of {figure(gives)} V"
    left = lowest - lost.volts
    yield Number(
        name=COIL,
        device=load.device,
        at=device.spot,
        value=None if lost.missing else left,
        unit="V",
        low=rated.value * least,
        working=f"The lowest supply is {figure(lowest)} V{share}. At full load {lost.words}: {figure(left)} V are left."
        f" The coil must pull in at {figure(least * 100)} % of {rated.text}. {RECKONING}.",
        inputs=(Input(f"{load.device} coil", rated.text, device.lines.get("coil", device.spot)), *lost.inputs),
        source=rows.cite(),
        case=f"from {source.device}",
        devices=(load.device, source.device),
        wires=tuple(dict.fromkeys(wire.number for wire in lost.wires)),
        missing=lost.missing,
        advice=f"Use thicker cores on the way to {load.device}, or bring the supply nearer.",
    )
