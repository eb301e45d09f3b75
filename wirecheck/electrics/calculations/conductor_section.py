"""The size of each conductor against the smallest that is strong enough where it lies."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from wirecheck.circuit.currents import Passage
from wirecheck.electrics.capacity import gauge_mm2
from wirecheck.electrics.conductors import Conductors, wire_words
from wirecheck.electrics.number import Input, Number
from wirecheck.electrics.states import States
from wirecheck.electrics.tables import table
from wirecheck.plan.model import Plan, Wire

NUMBERS = ("conductor section",)

CORES = {
    ("power", 1): "as a single core",
    ("power", 2): "in a cable",
    ("control", 1): "as a single core",
    ("control", 2): "in a cable of two cores",
    ("control", 3): "in a cable of three cores or more",
}


class Place(NamedTuple):
    """A row of the table: where a conductor lies, what it is for and how many cores its cable has."""

    where: str
    use: str
    cores: int


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """For each row of the table that the plan uses its thinnest conductor, and each cable that is too thin by itself."""
    found = states.conductors()
    groups: dict[tuple[Place, str | None], list[Wire]] = {}
    for wire in plan.wires:
        passages = found.passages(wire)
        if wire.size_mm2 is not None and passages:
            place = _place(found, wire, passages)
            low = least_mm2(plan, place)[0]
            groups.setdefault((place, wire.cable or wire.number if wire.size_mm2 < low * 0.99 else None), []).append(wire)
    for (place, _), wires in groups.items():
        yield _number(plan, place, wires)


def _place(found: Conductors, wire: Wire, passages: tuple[Passage, ...]) -> Place:
    use = "power" if any(_is_power(p) for p in passages) else "control"
    if found.inside(wire):
        return Place("inside", use, 1)
    cable = found.plan.cables.get(wire.cable) if wire.cable else None
    cores = 1 if cable is None else min(cable.cores or 3, 3)
    return Place("outside", use, min(cores, 2) if use == "power" else cores)


def _is_power(passage: Passage) -> bool:
    """From the mains or a drive's output to something that is no coil."""
    source = passage.source
    return (source.role == "output" or (source.kind == "AC" and source.feed is None)) and passage.load.kind != "coil"


def least_mm2(plan: Plan, place: Place) -> tuple[float, str, str]:
    """The smallest size in mm2, in words, and the source."""
    american = plan.machine.region == "NA"
    rows = table("smallest-section-na" if american else "smallest-section")
    row: Mapping[str, float | str] = rows.row(**{**place._asdict(), "cores": float(place.cores)}) or {}
    if american:
        return gauge_mm2(float(row["least_awg"])), f"{row['least_awg']:g} AWG", rows.cite()
    return float(row["least_mm2"]), f"{row['least_mm2']:g} mm2", rows.cite()


def _number(plan: Plan, place: Place, wires: list[Wire]) -> Number:
    thin = min(wires, key=lambda wire: wire.size_mm2 or 0.0)
    low, words, source = least_mm2(plan, place)
    size = thin.size_mm2 or 0.0
    lies = f"outside an enclosure {CORES[place.use, place.cores]}" if place.where == "outside" else "inside an enclosure"
    cable = f" in {thin.cable}" if thin.cable else ""
    return Number(
        name="conductor section",
        device=f"{wire_words([w for w in wires if w.size_mm2 == thin.size_mm2])}{cable}",
        at=thin.spot,
        value=low if abs(size - low) < 0.01 * low else size,
        unit="mm2",
        low=low,
        working=f"Wire {thin.number} is {thin.size_text}; a {place.use} conductor that lies {lies} must be at least {words}"
        " to be strong enough.",
        inputs=(Input(f"wire {thin.number} size", thin.size_text, thin.spot),),
        source=source,
        wires=tuple(dict.fromkeys(wire.number for wire in wires)),
        devices=tuple(dict.fromkeys(end.device for end in (thin.a, thin.b))),
        advice=f"Use at least {words}.",
    )
