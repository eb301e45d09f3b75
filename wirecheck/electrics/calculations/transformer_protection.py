"""The protection of control transformers, and which of two fuses in a row blows."""

from __future__ import annotations

from collections.abc import Iterator

from wirecheck.electrics.conductors import Conductors
from wirecheck.electrics.given import given, missing
from wirecheck.electrics.number import Number, figure, in_words
from wirecheck.electrics.states import States
from wirecheck.electrics.tables import table
from wirecheck.plan.model import Device, Plan

SECONDARY, RATIO = "protection of a transformer", "ratio of two fuses"
NUMBERS = (SECONDARY, RATIO)

DECIDES = "whether the transformer is protected from overload"


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """Each transformer's secondary, then each pair of fuses of which the ratio can be judged."""
    found = states.conductors()
    for device in plan.devices.values():
        if device.kind == "transformer":
            yield from _secondary(found, device)
    yield from _fuses(found)


def _secondary(found: Conductors, device: Device) -> Iterator[Number]:
    """What the loads of a secondary can draw for long against what it can give: the sum of the devices that they go through."""
    source = next(s for s in found.currents.sources if s.device == device.name)
    power, volts = given(device, "power"), given(device, "secondary_voltage")
    if not any(f[1] is source for f in found.currents.fed):
        return
    guard = found.protection.of_all(source)
    if guard is None:
        return
    rows = table("transformer-protection")
    percent = float((rows.row(side="secondary") or {})["most_percent"])
    rated = power.high / volts.value if power and volts else None
    lacking = tuple(
        missing(device, key, DECIDES) for key, known in (("power", power), ("secondary_voltage", volts)) if known is None
    )
    asked = (*guard.missing, *lacking)
    most = rated * percent / 100 if rated else None
    of = f"{power.quantity.text} by {volts.quantity.text} are {in_words(rated, 'A')}" if power and volts and rated else ""
    yield Number(
        name=SECONDARY,
        device=device.name,
        at=device.spot,
        value=None if asked else guard.amps,
        unit="A",
        high=most,
        working=f"{of}, and what protects it may have {figure(percent)} % of that. Its secondary is limited by {guard.words}.",
        inputs=(*guard.inputs, *(g.input for g in (power, volts) if g)),
        source=rows.cite(),
        devices=tuple(dict.fromkeys((device.name, *guard.devices))),
        missing=asked,
        advice=_advice(device, rated, most) if rated and most else "",
    )


def _advice(device: Device, rated: float, most: float) -> str:
    size, limit = in_words(rated, "A"), in_words(most, "A")
    return f"Fit a fuse of {size} at {device.name}'s secondary, or of the next size that there is, but no more than {limit}."


def _fuses(found: Conductors) -> Iterator[Number]:
    """Of gG fuses alone the ratio tells; of other pairs it takes their curves."""
    plan, seen = found.plan, set()
    for _, _, pole, end in found.currents.fed:
        names = [str(e.device) for e in found.currents.guards(pole, end)]
        fuses = [n for n in names if plan.devices[n].kind == "fuse" and str(plan.devices[n].values.get("class")) in ("gG", "gL")]
        for behind, ahead in zip(fuses, fuses[1:], strict=False):
            if (behind, ahead) not in seen:
                seen.add((behind, ahead))
                yield from _ratio(plan.devices[behind], plan.devices[ahead])


def _ratio(behind: Device, ahead: Device) -> Iterator[Number]:
    small, large = given(behind, "rating"), given(ahead, "rating")
    if small is None or large is None:
        return
    rows = table("fuse-ratio")
    yield Number(
        name=RATIO,
        device=behind.name,
        at=behind.spot,
        value=large.value / small.value,
        unit="",
        low=float(rows.rows[0]["ratio"]),
        working=f"{ahead.name} has {large.quantity.text}, {behind.name} behind it {small.quantity.text}:"
        f" {figure(large.value / small.value)} times as much.",
        inputs=(large.input, small.input),
        source=rows.cite(),
        devices=(behind.name, ahead.name),
        advice=f"Take a smaller {behind.name}, or a larger {ahead.name} where the conductors behind it may carry that.",
    )
