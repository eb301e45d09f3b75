"""What limits the current in a conductor for long: the fuse or breaker ahead, the source itself, or a device further on."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from functools import cached_property
from typing import NamedTuple

from wirecheck.circuit.currents import Currents, Passage
from wirecheck.circuit.elements import Element
from wirecheck.circuit.sources import Source
from wirecheck.electrics.given import given, missing
from wirecheck.electrics.number import Input, Missing, in_words
from wirecheck.plan.model import Device, Plan, Terminal

SUPPLY_OVERLOAD = 1.5
"""What an electronic d.c. supply gives at most, times its rated current, before it limits itself. Common practice, no source."""

SMALL_SUPPLY_A = 1.0
"""A drive's own control supply or reference, where not stated: these limit themselves. Common practice, no source."""

DECIDES = "whether the conductors behind it are protected"


class Guard(NamedTuple):
    """What limits a current, in A: infinite where nothing does or its rating is not known, which `missing` then asks."""

    amps: float
    devices: tuple[str, ...] = ()
    words: str = "nothing"
    inputs: tuple[Input, ...] = ()
    missing: tuple[Missing, ...] = ()


NONE = Guard(math.inf)


class Protection:
    """The protection of every conductor of a plan."""

    def __init__(self, plan: Plan, currents: Currents) -> None:
        self._plan, self._currents = plan, currents
        self._ratings: dict[str, Guard] = {}
        self._of_source: dict[str, Guard] = {}

    def ahead(self, passages: Iterable[Passage]) -> Guard:
        """The least that lies ahead on every way, of the way that is protected least."""
        found = {(p.source.name, p.ahead): p for p in passages}
        return max((self._on_way(p.source, p.ahead) for p in found.values()), key=_amps, default=NONE)

    def beyond(self, passages: Sequence[Passage]) -> Guard:
        """The sum of the devices through which all goes that passes; nothing where one load has no such device."""
        return self._sum(self._least(p.beyond) for p in passages)

    def other_side(self, passages: Sequence[Passage]) -> Guard:
        """For a return: what limits the loads on their live side."""
        return self._sum(self._live_side(p) for p in passages)

    def short_circuit(self, source: Source, pole: Terminal, end: Terminal) -> Guard:
        """The least breaker or fuse on the way to a terminal. An overload relay is too slow for a fault."""
        quick = [e for e in self._currents.guards(pole, end) if self._plan.devices[str(e.device)].kind != "overload-relay"]
        return self._on_way(source, quick)

    def of_all(self, source: Source) -> Guard | None:
        """What limits all that a source gives: the sum of the devices on the ways to its loads; None where one has none."""
        feeds = [f for f in self._currents.fed if f[1] is source]
        best = {id(f[0]): NONE for f in feeds}
        for load, _, pole, end in feeds:
            best[id(load)] = min(best[id(load)], self._least(self._currents.guards(pole, end)), key=_amps)
        if any(math.isinf(guard.amps) for guard in best.values()):
            asked = tuple(m for guard in best.values() for m in guard.missing)
            return Guard(math.inf, (), "", (), asked) if asked else None
        return self._sum(best.values())

    def is_return(self, passage: Passage) -> bool:
        """Whether a passage is on the side of its source that needs no protection of its own."""
        source, pole = passage.source, passage.pole
        transformer = source.kind == "AC" and source.feed is not None
        live = transformer and bool(self._earthed & set(source.poles) - {pole})
        return pole in source.returns and not live

    def of_element(self, element: Element) -> Guard:
        """The rating of a fuse, breaker or overload relay."""
        name = str(element.device)
        if name not in self._ratings:
            self._ratings[name] = self._rated(self._plan.devices[name])
        return self._ratings[name]

    def _rated(self, device: Device) -> Guard:
        key = "setting" if device.kind == "overload-relay" else "rating"
        found = given(device, key)
        if found is None:
            return Guard(math.inf, (device.name,), device.name, (), (missing(device, key, DECIDES),))
        return Guard(found.value, (device.name,), f"{device.name} ({found.quantity.text})", (found.input,))

    def _least(self, elements: Iterable[Element]) -> Guard:
        return min((self.of_element(e) for e in elements), key=_amps, default=NONE)

    def _on_way(self, source: Source, elements: Collection[Element]) -> Guard:
        own = self.of_source(source)
        guard = self._least(elements)
        if not math.isinf(guard.amps):
            return guard if guard.amps <= own.amps else own
        if not math.isinf(own.amps) or not guard.missing:
            return own
        return guard

    def _live_side(self, passage: Passage) -> Guard:
        load, source = passage.load, passage.source
        feeds = [f for f in self._currents.fed if f[0] is load and f[1] is source]
        live = [(pole, end) for _, _, pole, end in feeds if source.voltage_between(pole, passage.pole) > 1e-6]
        return max((self._on_way(source, self._currents.guards(pole, end)) for pole, end in live), key=_amps, default=NONE)

    def _sum(self, guards: Iterable[Guard]) -> Guard:
        each: dict[tuple[str, ...], Guard] = {guard.devices: guard for guard in guards}
        if any(math.isinf(guard.amps) for guard in each.values()):
            return next(guard for guard in each.values() if math.isinf(guard.amps))
        total = sum(guard.amps for guard in each.values())
        return Guard(
            total if each else math.inf,
            tuple(name for guard in each.values() for name in guard.devices),
            " and ".join(guard.words for guard in each.values()),
            tuple(i for guard in each.values() for i in guard.inputs),
        )

    def of_source(self, source: Source) -> Guard:
        """What a source can give for long."""
        if source.name not in self._of_source:
            self._of_source[source.name] = NONE  # a source that feeds itself limits nothing
            self._of_source[source.name] = self._limit(source, self._plan.devices[source.device])
        return self._of_source[source.name]

    def _limit(self, source: Source, device: Device) -> Guard:
        if device.kind == "mains":
            return self._stated(device, "protected_by.rating", "protective device ahead of")
        if device.kind == "transformer":
            return self._through(device, source)
        if source.role == "output":
            path = "settings.motor_current" if given(device, "settings.motor_current") else "output.current"
            return self._stated(device, path, "overload protection of")
        if device.kind == "dc-supply":
            return self._of_supply(device)
        found = given(device, f"control.{source.role}.current")
        amps = found.high if found else SMALL_SUPPLY_A
        guess = Input(f"{source.name} current", in_words(amps, "A"), device.spot, "estimated")
        return Guard(amps, (device.name,), f"{source.name} ({in_words(amps, 'A')})", (found.input if found else guess,))

    def _stated(self, device: Device, path: str, words: str) -> Guard:
        found = given(device, path)
        if found is None:
            return Guard(math.inf, (device.name,), device.name, (), (missing(device, path, DECIDES),))
        return Guard(found.high, (device.name,), f"the {words} {device.name} ({found.quantity.text})", (found.input,))

    def _of_supply(self, device: Device) -> Guard:
        found = given(device, "current")
        if found is None:
            return Guard(math.inf, (device.name,), device.name, (), (missing(device, "current", DECIDES),))
        amps = SUPPLY_OVERLOAD * found.high
        guess = Input(f"{device.name} greatest current", in_words(amps, "A"), device.spot, "estimated")
        words = f"{device.name} itself (about 1.5 times {found.quantity.text})"
        return Guard(amps, (device.name,), words, (found.input, guess))

    def _through(self, device: Device, source: Source) -> Guard:
        """The protection of a transformer's primary as the secondary feels it."""
        volts, gives = given(device, "primary_voltage"), given(device, "secondary_voltage")
        feeds = [f for f in self._currents.fed if f[0].device == device.name and f[1] is not source]
        ends = {end for _, _, _, end in feeds}
        each = [
            max((self._on_way(s, self._currents.guards(p, e)) for _, s, p, e in feeds if e == end), key=_amps) for end in ends
        ]
        guard = min(each, key=_amps, default=NONE)
        if math.isinf(guard.amps) or volts is None or gives is None:
            lacking = [key for key, known in (("primary_voltage", volts), ("secondary_voltage", gives)) if known is None]
            asked = guard.missing or tuple(missing(device, key, DECIDES) for key in lacking)
            return Guard(math.inf, (device.name,), device.name, (), asked)
        amps = guard.amps * volts.high / gives.value
        words = f"{guard.words} as {device.name} passes it on (times {volts.high:g} / {gives.value:g}: {in_words(amps, 'A')})"
        return Guard(amps, (*guard.devices, device.name), words, (*guard.inputs, volts.input, gives.input))

    @cached_property
    def _earthed(self) -> frozenset[Terminal]:
        """The poles of sources that wires and links join to a PE pole of the mains."""
        return self._currents.joined_to_earth()


def _amps(guard: Guard) -> float:
    return guard.amps
