"""What leaks to earth through a plug and through residual-current devices."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from wirecheck.circuit.upstream import behind
from wirecheck.electrics.calculations.protective_conductor import is_household
from wirecheck.electrics.given import Given, given, missing
from wirecheck.electrics.number import Number, figure, in_words
from wirecheck.electrics.states import States
from wirecheck.electrics.tables import Table, table
from wirecheck.plan.model import Device, Plan

PLUG, GUARD = "leakage current on the plug", "leakage current behind a residual-current device"
NUMBERS = (PLUG, GUARD)

LEAKS = ("drive", "line-filter")
"""What has capacitors to earth, and a leakage in its manual."""

ADVICE = {
    PLUG: "Connect the machine for good and give it a second protective conductor, or one of 10 mm2; or use a drive or filter "
    "that leaks less.",
    GUARD: "Give the drive a residual-current device of its own, use one with a higher trip current where that is allowed, or a "
    "drive or filter that leaks less.",
}
DECIDES = {
    PLUG: "whether the machine may hang on a plug, whose earth pin is its only protective conductor",
    GUARD: "whether the residual-current device trips for nothing",
}


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """One for each mains with a plug, and one for each residual-current device that states its trip current."""
    del states  # what leaks does so as long as the supply is on
    for device in plan.devices.values():
        plug, trip = given(device, "plug"), given(device, "trip_current")
        if device.kind == "mains" and plug and is_household(device):  # an industrial plug has an earth that holds
            limit = table("plug-leakage")
            yield from _number(plan, PLUG, device, float(limit.rows[0]["most_a"]), limit, plug, " on a plug")
        elif device.kind == "residual-current-device" and trip:
            limit = table("residual-current-share")
            share = float(limit.rows[0]["most"])
            how = f": {figure(share * 100)} % of {trip.quantity.text}, at which {device.name} trips"
            yield from _number(plan, GUARD, device, share * trip.value, limit, trip, how)


def _number(plan: Plan, name: str, device: Device, high: float, limit: Table, by: Given, how: str) -> Iterator[Number]:
    leaking = [d for d in plan.devices.values() if d.kind in LEAKS and d.name in _fed(plan, device)]
    stated = [(d, leak) for d in leaking if (leak := given(d, "leakage")) is not None]
    asked = tuple(missing(d, "leakage", DECIDES[name]) for d in leaking if given(d, "leakage") is None)
    total = sum(leak.high for _, leak in stated)
    if not leaking:
        return
    sure = total > high  # more can only make it worse
    together = f", together {in_words(total, 'A')}" if len(stated) > 1 else ""
    words = " and ".join(f"{d.name} {leak.quantity.text}" for d, leak in stated) or "What leaks is not known"
    yield Number(
        name=name,
        device=device.name,
        at=by.input.at or device.spot,
        value=total if sure or not asked else None,
        unit="A",
        high=high,
        working=f"{words}{together}. At most {in_words(high, 'A')} is allowed{how}.",
        inputs=(*(leak.input for _, leak in stated), by.input),
        source=limit.cite(),
        devices=(*(d.name for d in leaking), device.name),
        missing=() if sure else asked,
        advice=ADVICE[name],
    )


def _fed(plan: Plan, device: Device) -> Collection[str]:
    return behind(plan, device.name) if device.kind != "mains" else plan.devices.keys()
