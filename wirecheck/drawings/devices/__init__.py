"""From a device of the plan to its figure: every kind's symbols, in the order they stand in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial

from wirecheck.drawings.devices import power, switching
from wirecheck.drawings.devices.elements import earth, marks_of, single
from wirecheck.drawings.devices.switching import closed_at_rest
from wirecheck.drawings.figures import BODY_HEIGHT, BOTTOM, TOP, Draw, Element, Figure, Head, Pin
from wirecheck.drawings.shapes import Shape
from wirecheck.drawings.symbols import blocks, contacts, loads
from wirecheck.plan.model import Device

__all__ = ["closed_at_rest", "figure"]

_PARTS: Mapping[str, Callable[[Device], list[Element]]] = {
    "mains": power.mains,
    "transformer": power.transformer,
    "dc-supply": power.dc_supply,
    "earth-bar": power.earth_bar,
    "terminal-block": power.terminal_block,
    "frame": power.frame,
    "motor": power.motor,
    "drive": power.drive,
    "potentiometer": power.potentiometer,
    "sensor": power.sensor,
    "diode": power.diode,
    "lamp": power.load(loads.lamp),
    "buzzer": power.load(loads.buzzer),
    "solenoid": power.load(loads.solenoid),
    "fan": power.load(loads.machine_circle("M")),
    "pump": power.load(loads.machine_circle("M")),
    "heater": power.load(loads.heater),
    "load": power.load(loads.load),
    "resistor": power.load(loads.resistor),
    "braking-resistor": power.load(loads.resistor),
    "capacitor": power.load(loads.capacitor),
    "thermistor": power.load(loads.thermistor),
    "fuse": switching.fuse,
    "line-filter": switching.in_line(loads.filter_pole),
    "line-reactor": switching.in_line(loads.reactor),
    "overload-relay": switching.in_line(loads.thermal_element),
    "plug-connector": switching.in_line(loads.plug_pole),
    "relay": switching.coil_and_contacts,
    "contactor": switching.coil_and_contacts,
    "timer-relay": switching.coil_and_contacts,
    "no-volt-release": switching.no_volt_release,
    "thermistor-relay": switching.monitoring_relay,
    "safety-relay": switching.monitoring_relay,
    "custom": switching.custom,
}
"""The kinds with symbols of their own; every other kind is its contacts."""

_HEIGHTS = {"drive": 85.0, "motor": 80.0, "residual-current-device": 65.0}


def figure(device: Device) -> Figure:
    """The figure of a device; terminals that its symbols do not show are added as plain ends, so that none is ever missing."""
    elements = _PARTS.get(device.kind, switching.contact_elements)(device)
    known = marks_of(elements)
    elements += [earth(m) if m == "PE" else single(loads.plain_end, m) for m in device.marks if m not in known]
    bare = Figure(device, tuple(elements), _head(device), _HEIGHTS.get(device.kind, BODY_HEIGHT))
    # A motor's bars are part of its windings' picture.
    bars = () if device.kind == "motor" else tuple(_bars(bare))
    return replace(bare, bars=bars, over=_over(device))


def _over(device: Device) -> Draw | None:
    """The summation transformer of a residual-current device, around all its poles."""
    poles = sum(c.pole for c in device.contacts)
    return partial(contacts.summation_transformer, poles) if poles and device.kind == "residual-current-device" else None


def _bars(bare: Figure) -> Iterable[tuple[Pin, Pin]]:
    """Links, and the joints between two columns that carry one mark."""
    pins = bare.pins()
    first = {pin.mark: pin for pin in reversed(pins)}
    for link in bare.device.links:
        joined = sorted((first[m] for m in link if m in first), key=lambda p: p.column)
        # A way that the symbol itself shows, such as a pole that always conducts, needs no bar.
        yield from ((a, b) for a, b in zip(joined, joined[1:], strict=False) if a.column != b.column)
    for side in (TOP, BOTTOM):
        for column, mark in enumerate(bare.marks(side)):
            own = next((p for p in pins if p.mark == mark and p.side == side), None)
            if own and own.column != column:
                yield own, Pin(own.mark, side, column)


Actuator = Callable[[float, float], Sequence[Shape]]


def _head(device: Device) -> Head | None:
    """What moves the contacts, drawn left of them; for a motor its circle."""
    if device.kind == "motor":
        return Head(_motor_circle, 28, linked=False)
    if device.kind == "residual-current-device":  # room for its release, which is drawn with the summation transformer
        return Head(lambda _x, _y: [], 14, linked=False)
    heads: Mapping[str, tuple[Callable[[float, float], list[Shape]], float]] = {
        "push-button": (contacts.push_button, 16),
        "no-volt-release": (contacts.push_button, 16),
        "emergency-stop": (partial(contacts.mushroom_head, latching=device.values.get("latching") is True), 16),
        "selector": (contacts.rotary, 18),
        "key-switch": (contacts.key, 16),
        "guard-switch": (contacts.guard, 22),
        "limit-switch": (contacts.roller, 16),
        "foot-switch": (contacts.pedal, 16),
        "thermal-switch": (contacts.heat, 18),
        "isolator": (partial(contacts.handle, lockable=device.values.get("lockable") is True), 20),
    }
    return Head(*heads[device.kind]) if device.kind in heads else None


def _motor_circle(x: float, y: float) -> list[Shape]:
    return blocks.motor_circle(x + 12, y, "3")
