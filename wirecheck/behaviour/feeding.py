"""What reaches what: the poles of live sources at a terminal, and the voltages that coils, lamps and loads get."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.behaviour.network import NEVER
from wirecheck.circuit import Element, Source
from wirecheck.circuit.elements import marks_of, quantity
from wirecheck.plan.model import Plan, Quantity, Terminal


class Way(NamedTuple):
    """A consumer between two poles of a live source, and the states in which it is."""

    element: Element
    source: Source
    poles: tuple[Terminal, Terminal]
    volts: float
    states: int


def consumers_of(plan: Plan, elements: Iterable[Element]) -> Iterator[Element]:
    """All that takes its voltage between two terminals: coils, lamps, loads, transformers' primaries, sensors."""
    yield from (e for e in elements if e.kind in ("coil", "load"))
    for device in plan.devices.values():
        if device.kind == "sensor":
            plus, minus = marks_of(device.values, "terminals", ("+", "-"))[:2]
            rated = quantity(device.values, "voltage")
            as_direct = rated if rated is None else _direct(rated)
            yield Element("load", device.name, device.terminal(plus), device.terminal(minus), device.name, rated=as_direct)


def _direct(rated: Quantity) -> Quantity:
    return Quantity(rated.value, rated.unit, rated.text, rated.high, "DC")


def ways_fed(b: Behaviour) -> Iterator[Way]:
    """Each way in which a consumer of the view gets voltage, whatever it is made for; of equal ones the first."""
    for element in consumers_of(b.plan, b.model.elements):
        if element.device not in b.subjects:
            continue
        seen: set[tuple[str, frozenset[Terminal]]] = set()
        shunted = b.model.network.flood(element.a, NEVER).get(b.model.network.net(element.b), 0)
        for source in b.model.sources:
            live = b.model.supplies.live[source.name] & b.reached & ~shunted
            for p, q, volts in source.pairs() if live else ():
                key = source.name, frozenset((p, q))
                if key in seen:
                    continue
                states = live & _between(b, source, element, p, q)
                if states:
                    seen.add(key)
                    yield Way(element, source, (p, q), volts, states)


def _between(b: Behaviour, source: Source, element: Element, p: Terminal, q: Terminal) -> int:
    at = b.model.supplies.at
    found = at(source, p, element.a) & at(source, q, element.b)
    return found | (at(source, p, element.b) & at(source, q, element.a))


def _live(b: Behaviour, source: Source) -> int:
    return b.space.full if source.role == "output" else b.model.supplies.live[source.name]


class Touched:
    """Which poles of live sources a terminal is ever joined to, in any state that is passed; worked out when asked for."""

    def __init__(self, views: Iterable[Behaviour]) -> None:
        # What hangs on a drive's output is there whether the drive runs or not.
        self._views = [(b, [(s, b.passed & _live(b, s)) for s in b.model.sources]) for b in views]
        self._known: dict[Terminal, tuple[tuple[Source, Terminal], ...]] = {}

    def poles(self, terminal: Terminal) -> tuple[tuple[Source, Terminal], ...]:
        """The sources and their poles, in the plan's order."""
        if terminal not in self._known:
            found = (
                (source.name, pole, source)
                for b, sources in self._views
                for source, live in sources
                if live
                for pole in source.poles
                if b.model.supplies.at(source, pole, terminal) & live
            )
            self._known[terminal] = tuple({(name, pole): (source, pole) for name, pole, source in found}.values())
        return self._known[terminal]
