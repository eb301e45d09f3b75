"""Every element of a plan that stands between two terminals: what conducts, what is a load, what is a winding."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import NamedTuple

from wirecheck.plan.model import Contact, Device, Plan, Quantity, Terminal, Wire

CONDUCTS = frozenset({"wire", "link", "contact", "diode"})
"""The element kinds that join their two terminals; all others are loads of some kind."""

LOAD_KINDS = frozenset({"lamp", "buzzer", "solenoid", "fan", "pump", "heater", "load"})
COIL_KINDS = frozenset({"relay", "contactor", "timer-relay", "thermistor-relay", "no-volt-release", "safety-relay"})


class Element(NamedTuple):
    """An edge of the circuit.

    `kind` is wire, link, contact, diode, coil, load, winding, resistor or capacitor; `ident` is unique within a kind and leads
    back to the plan. `closed_in` are the states of `device` in which a contact conducts, None for what always does.
    A diode conducts from `a` (anode) to `b` (cathode).
    """

    kind: str
    ident: str
    a: Terminal
    b: Terminal
    device: str | None = None
    closed_in: frozenset[str] | None = None
    contact: Contact | None = None
    wire: Wire | None = None
    rated: Quantity | None = None

    @property
    def key(self) -> tuple[str, str]:
        """The edge key in the multigraph."""
        return (self.kind, self.ident)


def quantity(values: Mapping[str, object], key: str) -> Quantity | None:
    """The quantity under `key`, None where it was not stated or is no quantity."""
    found = values.get(key)
    return found if isinstance(found, Quantity) else None


def marks_of(values: Mapping[str, object], key: str, default: tuple[str, ...]) -> tuple[str, ...]:
    """A list of terminal marks under `key`."""
    found = values.get(key)
    return tuple(str(mark) for mark in found) if isinstance(found, list | tuple) else default


def section(values: Mapping[str, object], *path: str) -> Mapping[str, object]:
    """The mapping at a path of keys, empty where there is none."""
    here: object = values
    for key in path:
        here = here.get(key) if isinstance(here, Mapping) else None
    return here if isinstance(here, Mapping) else {}


def pairs(marks: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Neighbours of a list of marks: the joints that make all of them one."""
    items = list(marks)
    yield from zip(items, items[1:], strict=False)


def _link(device: Device, a: str, b: str, why: str) -> Element:
    return Element("link", f"{device.name}:{a}-{b} {why}", Terminal(device.name, a), Terminal(device.name, b), device.name)


def _switched(device: Device, a: str, b: str, closed_in: str) -> Element:
    """A conducting path that is no contact in the plan's list: a thermistor, a sensor's output."""
    ident = f"{device.name}:{a}-{b}"
    return Element("contact", ident, Terminal(device.name, a), Terminal(device.name, b), device.name, frozenset({closed_in}))


def custom_parts(device: Device, kind: str) -> Iterator[tuple[str, str, Mapping[str, object]]]:
    """The parts of one kind in a custom device: their two marks and their values."""
    given = device.values.get("elements")
    for part in given if device.kind == "custom" and isinstance(given, list | tuple) else ():
        if isinstance(part, Mapping) and kind in part:
            a, _, b = str(part[kind]).partition("-")
            yield a, b, part


def has_coil(device: Device) -> bool:
    """Whether a device has a coil or a supply that moves its contacts."""
    return device.kind in COIL_KINDS or any(True for _ in custom_parts(device, "coil"))


def coil_ends(device: Device) -> tuple[str, str]:
    """The two terminals of a device's coil or supply."""
    if device.kind == "custom":
        return next((a, b) for a, b, _ in custom_parts(device, "coil"))
    marks = marks_of(device.values, "supply", ("A1", "A2")) if device.kind == "safety-relay" else ("A1", "A2")
    return (marks[0], marks[1])


def coil_rating(device: Device) -> Quantity | None:
    """What a coil or supply is rated for, None where not stated."""
    if device.kind == "custom":
        return next((quantity(part, "voltage") for _, _, part in custom_parts(device, "coil")), None)
    return quantity(device.values, "coil" if device.kind in ("relay", "contactor", "timer-relay") else "voltage")


def windings_of(device: Device) -> tuple[tuple[str, str], ...]:
    """The windings between a motor's terminals (IEC 60034-8 marks).

    Dahlander: six half windings in a ring, the corner ends U1 V1 W1 and the middles U2 V2 W2. Separate windings: two sets, each
    with a star point of its own that is not brought out (`*1`, `*2`).
    """
    kind = device.values.get("windings")
    if kind == "dahlander":
        return (("U1", "U2"), ("U2", "V1"), ("V1", "V2"), ("V2", "W1"), ("W1", "W2"), ("W2", "U1"))
    if kind == "separate":
        return tuple((f"{phase}{n}", f"*{n}") for n in "12" for phase in "UVW")
    return (("U1", "U2"), ("V1", "V2"), ("W1", "W2"))


def _always(device: Device) -> Iterator[Element]:
    """Contacts and links, which any kind may have."""
    for contact in device.contacts:
        ends = device.terminal(contact.a), device.terminal(contact.b)
        yield Element("contact", str(contact), *ends, device.name, contact.closed_in, contact)
    for number, link in enumerate(device.links):
        for a, b in pairs(link):
            yield _link(device, a, b, f"link {number + 1}")


def _bar(device: Device) -> Iterator[Element]:
    for a, b in pairs(device.marks):
        yield _link(device, a, b, "bar")


def _between(device: Device, kind: str, a: str, b: str, rated: Quantity | None = None, ident: str = "") -> Element:
    return Element(kind, ident or device.name, device.terminal(a), device.terminal(b), device.name, rated=rated)


def _coil(device: Device) -> Iterator[Element]:
    yield _between(device, "coil", *coil_ends(device), coil_rating(device))


def _load(device: Device) -> Iterator[Element]:
    a, b = marks_of(device.values, "terminals", ("X1", "X2"))[:2]
    yield _between(device, "load", a, b, quantity(device.values, "voltage"))


def _motor(device: Device) -> Iterator[Element]:
    for a, b in windings_of(device):
        yield _between(device, "winding", a, b, ident=f"{device.name}:{a}-{b}")
    if device.values.get("sensor") in ("thermistor", "opens-when-hot"):
        yield _switched(device, "TP1", "TP2", "cold")


def _thermistor(device: Device) -> Iterator[Element]:
    yield _switched(device, "1", "2", "cold")


def _diode(device: Device) -> Iterator[Element]:
    yield _between(device, "diode", "A", "K")


def _resistor(device: Device) -> Iterator[Element]:
    yield _between(device, "capacitor" if device.kind == "capacitor" else "resistor", "1", "2")


def _potentiometer(device: Device) -> Iterator[Element]:
    for a, b in (("1", "2"), ("2", "3")):
        yield _between(device, "resistor", a, b, ident=f"{device.name}:{a}-{b}")


def _sensor(device: Device) -> Iterator[Element]:
    plus, minus, out = marks_of(device.values, "terminals", ("+", "-", "OUT"))[:3]
    rail = minus if device.values.get("output") == "NPN" else plus
    yield _switched(device, rail, out, "idle" if device.values.get("form") == "NC" else "active")


def _plug(device: Device) -> Iterator[Element]:
    given = section(device.values, "dummy").get("links")
    for link in given if isinstance(given, list | tuple) else ():
        for a, b in pairs(link):
            ends = device.terminal(a), device.terminal(b)
            yield Element("contact", f"{device.name}:{a}-{b} dummy", *ends, device.name, frozenset({"parted"}))


def _custom(device: Device) -> Iterator[Element]:
    for kind in ("coil", "load", "resistor"):
        for a, b, part in custom_parts(device, kind):
            yield _between(device, kind, a, b, quantity(part, "voltage"), f"{device.name}:{a}-{b}")


def _primary(device: Device) -> Iterator[Element]:
    a, b = marks_of(device.values, "primary", ("1", "2"))[:2]
    yield _between(device, "load", a, b, quantity(device.values, "primary_voltage"))


OF_KIND: Mapping[str, Callable[[Device], Iterator[Element]]] = {
    "earth-bar": _bar,
    "motor": _motor,
    "thermistor": _thermistor,
    "diode": _diode,
    "resistor": _resistor,
    "braking-resistor": _resistor,
    "capacitor": _resistor,
    "potentiometer": _potentiometer,
    "sensor": _sensor,
    "plug-connector": _plug,
    "transformer": _primary,
    "custom": _custom,
    **dict.fromkeys(COIL_KINDS, _coil),
    **dict.fromkeys(LOAD_KINDS, _load),
}
"""What a kind has inside besides contacts and links."""


def _of_device(device: Device) -> Iterator[Element]:
    yield from _always(device)
    if device.kind in OF_KIND:
        yield from OF_KIND[device.kind](device)


def elements_of(plan: Plan) -> tuple[Element, ...]:
    """All elements of a plan, devices first in the plan's order, then its wires."""
    inside = [element for device in plan.devices.values() for element in _of_device(device)]
    wires = [Element("wire", str(wire.index), wire.a, wire.b, wire=wire) for wire in plan.wires]
    return (*inside, *wires)
