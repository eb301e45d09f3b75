"""The circuit with the supply off, as an ohmmeter sees it: every path with the least and the most that it may read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from wirecheck.circuit.elements import COIL_KINDS, CONDUCTS, Element, elements_of, has_coil, marks_of, section
from wirecheck.circuit.impedances import Impedance, impedances_of
from wirecheck.plan.model import Device, Event, Plan, Terminal
from wirecheck.plan.potentials import Joined

CLOSED, OHMS, OPEN = 0, 1, 2
"""What a meter shows: next to nothing, some ohms to some hundred thousand, nothing that conducts."""

CLOSED_OHM, OPEN_OHM = 2.0, 1e6
"""Below the first a reading counts as closed, above the second as open. Common practice, no source."""

SURE_OHM = 4.0
"""So much a coil, resistor or winding must have at the least to be told from a piece of wire. Common practice, no source."""

WINDING_SHARE = 0.05
"""The resistance of copper in a motor winding as a share of its impedance at rated load. Common practice, no source."""

STATES_WITHOUT_POWER = frozenset({"out", "not healthy", "not fault", "not running", "not at-speed"})
"""The states of whatever a coil, a supply or a drive would move."""

OHMIC_COILS = frozenset({"relay", "contactor", "no-volt-release"})
OHMIC_LOADS = frozenset({"solenoid", "heater", "transformer"})
"""Kinds of which a meter reads the copper or the wire; all others have electronics or a lamp in them, which may read anything."""

ON_IN_THE_TEST = frozenset({"isolator", "mains"})
"""Kinds that rest in their off position, and that are put on for the test where they do not isolate the supply."""


class Path(NamedTuple):
    """What joins two terminals for a meter: by itself it reads at least `least` and at most `most`, each a level.

    `closed_in` is None for what always joins.
    """

    ident: str
    a: Terminal
    b: Terminal
    least: int
    most: int
    device: str | None = None
    closed_in: frozenset[str] | None = None
    element: Element | None = None
    ohm: float | None = None


def paths_of(plan: Plan) -> tuple[Path, ...]:
    """All paths of a plan, those of its elements in their order, then those through electronics."""
    ohms = {(i.device, i.a, i.b): i for i in impedances_of(plan)}
    inside = [_of_element(plan, e, ohms.get((str(e.device), e.a, e.b))) for e in elements_of(plan)]
    joined = Joined()
    for path in inside:
        if path.most == CLOSED and path.closed_in is None:
            joined.join((path.a, path.b))
    bridges = (path for device in plan.devices.values() for path in _bridges(device, joined))
    return (*inside, *(path for device in plan.devices.values() for path in _electronics(device)), *bridges)


def _bridges(device: Device, joined: Joined) -> Iterator[Path]:
    """Commons that a drive may have joined inside: that of its control supply with those of its reference and torque-off inputs.

    Those that the plan joins by wires it has not: else nobody would wire them.
    """
    control = section(device.values, "control") if device.kind == "drive" else {}
    one = section(control, "supply").get("common")
    for other in (section(control, key).get("common") for key in ("reference", "safe_torque_off")):
        if one and other and joined.root(device.terminal(one)) != joined.root(device.terminal(other)):
            ends = device.terminal(one), device.terminal(other)
            yield Path(f"bridge {ends[0]}-{other}", *ends, CLOSED, OPEN, device.name)


def _of_element(plan: Plan, element: Element, impedance: Impedance | None) -> Path:
    device = plan.devices[element.device] if element.device else None
    least, most, ohm = _levels(device, element, impedance)
    ident = f"{element.kind} {element.ident}"
    return Path(ident, element.a, element.b, least, most, element.device, element.closed_in, element, ohm)


def _levels(device: Device | None, element: Element, impedance: Impedance | None) -> tuple[int, int, float | None]:
    """The least and the most that an element reads, and about how many ohms where that can be told."""
    if element.kind == "diode" or (device is not None and device.kind == "sensor"):
        return OHMS, OPEN, None
    if element.kind in CONDUCTS:
        warm = device is not None and element.contact is None and element.kind == "contact" and _is_thermistor(device)
        return (OHMS, OHMS, None) if warm else (CLOSED, CLOSED, None)
    if device is None or not _is_ohmic(device, element) or impedance is None:
        return OHMS, OPEN, None
    ohm, sure = _resistance(device, element, impedance)
    return (OHMS if ohm >= SURE_OHM else CLOSED), OHMS, ohm if sure else None


def _is_thermistor(device: Device) -> bool:
    return device.kind == "thermistor" or device.values.get("sensor") == "thermistor"


def _is_ohmic(device: Device, element: Element) -> bool:
    if element.kind == "coil":
        return device.kind in OHMIC_COILS
    return element.kind in ("winding", "resistor") or (element.kind == "load" and device.kind in OHMIC_LOADS)


def _resistance(device: Device, element: Element, impedance: Impedance) -> tuple[float, bool]:
    """The resistance that a meter reads, and whether it follows from the plan: that of copper made for a.c. does not."""
    if element.kind == "winding" or device.kind == "transformer":
        return WINDING_SHARE * abs(1 / impedance.admittance_s(50.0)), False
    alternating = element.rated is not None and element.rated.current == "AC" and element.kind == "coil"
    return impedance.resistance_ohm, not alternating and not impedance.assumed and device.kind != "heater"


def _electronics(device: Device) -> Iterator[Path]:
    """Paths through what a device has inside and no plan shows."""
    for title, marks, least in _inside(device):
        star = Terminal(device.name, f"*{title}")
        for mark in dict.fromkeys(marks):
            yield Path(f"{title} {device.name}:{mark}", device.terminal(mark), star, least, OPEN, device.name)


def _inside(device: Device) -> Iterator[tuple[str, tuple[str, ...], int]]:
    """Terminals of a device that may hang together inside: as electronics do, or even as a bridge between commons does."""
    values = device.values
    contacts = {mark for c in device.contacts for mark in (c.a, c.b)}
    rest = tuple(m for m in device.marks if m not in contacts and m != "PE" and not m.startswith("*"))
    if device.kind == "drive":
        control = section(values, "control")
        power = (
            *marks_of(section(values, "input"), "terminals", ("L", "N")),
            *marks_of(section(values, "output"), "terminals", ("U", "V", "W")),
            *marks_of(section(control, "brake_resistor"), "terminals", ()),
        )
        yield "power part", power, OHMS
        yield "control part", tuple(m for m in rest if m not in power), OHMS
    elif device.kind == "dc-supply":
        yield "input", ("L", "N"), OHMS
        yield "output", ("+", "-"), OHMS
    elif device.kind in ("safety-relay", "thermistor-relay", "timer-relay"):
        yield "inside", rest, OHMS
    elif device.kind in ("residual-current-device", "line-filter"):
        yield "inside", device.marks, OHMS
    elif device.kind == "transformer":
        yield "secondary", marks_of(values, "secondary", ("3", "4")), CLOSED
    elif device.kind == "sensor":
        yield "inside", marks_of(values, "terminals", ("+", "-", "OUT")), OHMS


def states_in(plan: Plan, setting: tuple[Event, ...], supply_on: frozenset[str]) -> Mapping[str, frozenset[str]]:
    """For every device the states in which it is: at rest, but for what `setting` puts elsewhere.

    `supply_on` are isolators that are on in the test, since they do not isolate the supply.
    """
    moved = {event.device: event.position for event in setting}
    return {name: _states(device, moved.get(name), name in supply_on) for name, device in plan.devices.items()}


def _states(device: Device, position: str | None, on: bool) -> frozenset[str]:
    if device.kind in COIL_KINDS or has_coil(device):
        return STATES_WITHOUT_POWER | {"off"}
    if device.kind == "drive":
        return STATES_WITHOUT_POWER
    if not device.positions:
        return frozenset()
    rest = device.positions[1] if on and len(device.positions) > 1 else device.positions[0]
    return frozenset({position or rest})


def joins(path: Path, states: Mapping[str, frozenset[str]]) -> bool:
    """Whether a path joins its ends while the devices are in these states."""
    return path.closed_in is None or bool(path.closed_in & states[str(path.device)])
