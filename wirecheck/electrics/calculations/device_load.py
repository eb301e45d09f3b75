"""What goes through the plug, the fuses, breakers and switches of the supply, against what each is made for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wirecheck.circuit.currents import Load
from wirecheck.circuit.sources import Source
from wirecheck.electrics.conductors import Carried, Conductors
from wirecheck.electrics.given import Given, given
from wirecheck.electrics.number import Number
from wirecheck.electrics.states import States
from wirecheck.plan.model import Device, Plan, Terminal

PLUG, PROTECTIVE, SWITCH = "load of the plug", "load of a fuse or breaker", "load of a supply device"
NUMBERS = (PLUG, PROTECTIVE, SWITCH)

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
    """The plug and the protection of each mains, then each rated device that currents pass."""
    found = states.conductors()
    for device in plan.devices.values():
        if device.kind == "mains":
            yield from _mains(found, device)
        elif device.kind in KINDS and (rating := given(device, "rating")) is not None:
            carried = _worst(found.carried(passages) for passages in found.currents.through.get(device.name, {}).values())
            if carried is not None:
                yield _number(KINDS[device.kind], device, rating, carried)


def _mains(found: Conductors, device: Device) -> Iterator[Number]:
    """All that is fed from one pole of the mains together."""
    poles: dict[str, list[tuple[Load, Source, Terminal]]] = {}
    for load, source, pole, end in found.currents.fed:
        if source.device == device.name:
            poles.setdefault(pole.mark, []).append((load, source, end))
    carried = _worst(found.together(feeds) for feeds in poles.values())
    for name, path in ((PLUG, "plug"), (PROTECTIVE, "protected_by.rating")):
        rating = given(device, path)
        if rating is not None and carried is not None:
            yield _number(name, device, rating, carried)


def _worst(each: Iterable[Carried]) -> Carried | None:
    return max(each, key=lambda one: float("inf") if one.amps is None else one.amps, default=None)


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
