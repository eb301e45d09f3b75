"""The highest voltage in each cable against its rating: cores of low voltage beside mains need insulation for the mains."""

from __future__ import annotations

from collections.abc import Iterator

from wirecheck.circuit.metal import is_earth_terminal
from wirecheck.circuit.sources import Source
from wirecheck.electrics.number import Input, Missing, Number, figure
from wirecheck.electrics.states import States
from wirecheck.plan.model import Cable, Plan, Terminal, Wire

VOLTAGE = "voltage in a cable"
NUMBERS = (VOLTAGE,)

LOW_VOLTAGE_V = 50.0
"""Up to here a core counts as one of low voltage (IEC 61140:2016, value from memory)."""

SOURCE = "IEC 60204-1:2016, 13.1.3 (value from memory)"
DECIDES = "whether its low voltage cores are kept apart from mains in the same cable"


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """One for each cable with a rating, or with cores of low voltage beside others."""
    for name, cable in plan.cables.items():
        inside = [w for w in plan.wires if w.cable == name and not any(is_earth_terminal(plan, t) for t in (w.a, w.b))]
        cores = [(wire, volts) for wire in inside if (volts := _volts(states, wire)) is not None]
        highest = max((volts for _, volts in cores), default=0.0)
        low = [wire for wire, volts in cores if volts <= LOW_VOLTAGE_V]
        mixed = highest > LOW_VOLTAGE_V and bool(low)
        if cores and (mixed or cable.voltage_rating_v is not None):
            yield _number(cable, cores, highest, low if mixed else [])


def _volts(states: States, wire: Wire) -> float | None:
    """What a core may have against earth; None for what no source reaches."""
    met = [(source, pole) for source, pole in states.poles_at(wire.a) if pole.mark != "PE"]
    return max((_against_earth(source, pole) for source, pole in met), default=None)


def _against_earth(source: Source, pole: Terminal) -> float:
    """A pole's voltage against the reference of its source; that of a return is 0 V, and insulated for what it returns from."""
    return abs(source.poles[pole]) or max(abs(volts) for volts in source.poles.values())


def _number(cable: Cable, cores: list[tuple[Wire, float]], highest: float, low: list[Wire]) -> Number:
    rating = cable.voltage_rating_v
    worst = next(wire for wire, volts in cores if volts == highest)
    beside = f", beside low voltage in wire {low[0].number}" if low else ""
    rated = f"It is rated {figure(rating)} V." if rating is not None else "Its rating is not stated."
    stated = () if rating is None else (Input(f"{cable.name} voltage rating", f"{figure(rating)} V", cable.spot),)
    return Number(
        name=VOLTAGE,
        device=cable.name,
        at=cable.spot,
        value=highest if rating is not None else None,
        unit="V",
        high=rating,
        working=f"Wire {worst.number} in {cable.name} has {figure(highest)} V against earth{beside}. {rated}",
        inputs=(Input(f"voltage of wire {worst.number}", f"{figure(highest)} V", worst.spot, "computed"), *stated),
        source=SOURCE,
        devices=tuple(dict.fromkeys(t.device for wire in (worst, *low) for t in (wire.a, wire.b))),
        wires=tuple(dict.fromkeys(wire.number for wire in (worst, *low))),
        missing=() if rating is not None else (Missing(f"{cable.name} voltage_rating", cable.spot, DECIDES),),
        advice=f"Use a cable that is rated for {figure(highest)} V, or lay the low voltage in a cable of its own.",
    )
