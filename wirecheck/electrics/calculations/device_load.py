"""What goes through the plug, the fuses, breakers and switches of the supply, against what each is made for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wirecheck.circuit.currents import Load
from wirecheck.circuit.sources import Source
from wirecheck.electrics.conductors import Carried, Conductors, worst_of
from wirecheck.electrics.given import Given, given
from wirecheck.electrics.number import Number
from wirecheck.electrics.states import States
from wirecheck.plan.model import Device, Plan, Terminal

PLUG, PROTECTIVE, SWITCH = "load of the plug", "load of a fuse or breaker", "load of a supply device"
ESTIMATED = "load by estimate"
NUMBERS = (PLUG, PROTECTIVE, SWITCH, ESTIMATED)

Looked = tuple[str, Device, Given, Carried]
"""What a number is about: its name, the device, what that is rated for, what goes through it."""

KINDS: Mapping[str, str] = {
    "fuse": PROTECTIVE,
    "circuit-breaker": PROTECTIVE,
    "isolator": SWITCH,
    "residual-current-device": SWITCH,
    "line-filter": SWITCH,
    "line-reactor": SWITCH,
}
"""What is looked at here. Contactors and relays are rated for what they switch, which is another matter."""

ADVICE: Mapping[str, str] = {
    PLUG: "Use an industrial plug and outlet for this current, or a fixed connection: a household plug gets hot.",
    PROTECTIVE: "Fit a larger one only where the conductors behind it may carry that; otherwise divide the circuit.",
    SWITCH: "Take one for this current.",
}


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """The plug and the protection of each mains, each rated device that currents pass, and where an estimate may be too much."""
    every = list(_looked_at(plan, states))
    yield from (_number(*looked) for looked in every)
    yield from _by_estimate(every)


def _by_estimate(every: Iterable[Looked]) -> Iterator[Number]:
    """The device with the least rating of those that an estimate leaves open: the others wait for the same figure."""
    unsure = [looked for looked in every if looked[3].amps is not None and looked[3].against(looked[2].value)[1]]
    if unsure:
        tightest = min(unsure, key=lambda looked: looked[2].value)
        asked = ", ".join(dict.fromkeys(missing.field for missing in tightest[3].missing))
        advice = f"Look the figure up in the manual and write it into the plan: {asked}."
        yield _number(*tightest)._replace(name=ESTIMATED, value=tightest[3].amps, missing=(), advice=advice)


def _looked_at(plan: Plan, states: States) -> Iterator[Looked]:
    found = states.conductors()
    for device in plan.devices.values():
        if device.kind == "mains":
            yield from _mains(found, device)
        elif device.kind in KINDS and (rating := given(device, "rating")) is not None:
            carried = worst_of(found.carried(passages) for passages in found.currents.through.get(device.name, {}).values())
            if carried is not None:
                yield KINDS[device.kind], device, rating, carried


def _mains(found: Conductors, device: Device) -> Iterator[Looked]:
    """All that is fed from one pole of the mains together."""
    poles: dict[str, list[tuple[Load, Source, Terminal]]] = {}
    for load, source, pole, end in found.currents.fed:
        if source.device == device.name:
            poles.setdefault(pole.mark, []).append((load, source, end))
    carried = worst_of(found.together(feeds) for feeds in poles.values())
    for name, path in ((PLUG, "plug"), (PROTECTIVE, "protected_by.rating")):
        rating = given(device, path)
        if rating is not None and carried is not None:
            yield name, device, rating, carried


def _number(name: str, device: Device, rating: Given, carried: Carried) -> Number:
    amps, asked = carried.against(rating.value)
    what = "The plug" if name == PLUG else "What protects the machine" if device.kind == "mains" else device.name
    return Number(
        name=name,
        device=device.name,
        at=rating.input.at or device.spot,
        value=amps,
        unit="A",
        high=rating.value,
        working=f"{carried.words or 'What it feeds is not known'}. {what} is rated {rating.quantity.text}.",
        inputs=(*carried.inputs, rating.input),
        source="common practice",
        devices=tuple(dict.fromkeys((device.name, *carried.devices))),
        events=carried.events,
        missing=asked,
        advice=ADVICE[name],
    )
