"""What takes current in a plan, as impedances: coils, lamps, loads, windings, resistors, capacitors, inputs of drives.

A plan states voltages and powers, seldom ohms. Where it states neither, a usual value is taken and `assumed` says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from wirecheck.circuit.elements import Element, custom_parts, elements_of, marks_of, quantity, section
from wirecheck.circuit.sources import drive_feed
from wirecheck.plan.model import Device, Plan, Quantity, Terminal

COIL_W = {"contactor": 5.0, "no-volt-release": 5.0, "safety-relay": 3.0, "thermistor-relay": 2.0}
"""Holding power of a coil or supply that is not stated, W; any other coil 1 W. Common practice, no source."""

LOAD_W = {"solenoid": 10.0, "fan": 20.0, "pump": 200.0, "heater": 1000.0, "load": 10.0, "transformer": 63.0}
"""Power of a load that is not stated, W. Common practice, no source."""

SMALL_LAMP_W, MAINS_LAMP_W, SMALL_V = 2.0, 5.0, 60.0
"""An indicator or buzzer that states no power: 2 W up to 60 V, 5 W above. Common practice, no source."""

INPUT_OHM = 4700.0
"""An input of a drive against its common. Common practice, no source."""

SENSOR_A = 0.010
"""What a three-wire sensor takes for itself, A. Common practice, no source."""

SUPPLY_W = 24.0
DRIVE_W = 1000.0
WINDING_OHM = 50.0
POWER_FACTOR = 0.8
RESISTOR_OHM = 1000.0
CAPACITOR_F = 0.1e-6
"""What is taken for values that are not stated. Common practice, no source."""


class Impedance(NamedTuple):
    """Something between two terminals that takes current: resistance and inductance in series, or a capacitance.

    `kind` is that of the element (coil, load, winding, resistor, capacitor) or `input` for an electronic input; `ident` leads
    back to the element. `assumed` says what was taken because the plan does not state it, empty where it does.
    """

    kind: str
    ident: str
    device: str
    a: Terminal
    b: Terminal
    resistance_ohm: float = 0.0
    inductance_h: float = 0.0
    capacitance_f: float = 0.0
    assumed: str = ""

    def admittance_s(self, frequency_hz: float) -> complex:
        """Its admittance at a frequency, 0 Hz for d.c."""
        omega = 2 * math.pi * frequency_hz
        if self.kind == "capacitor":
            return complex(0.0, omega * self.capacitance_f)
        return 1 / complex(max(self.resistance_ohm, 1e-6), omega * self.inductance_h)


def value_of(given: Quantity | None) -> float | None:
    """The value of a quantity that is stated and more than nothing; the upper end of a range."""
    if given is None:
        return None
    value = given.high or given.value
    return value if value > 0 else None


def _watts(device: Device, element: Element) -> tuple[float, str]:
    """What a coil or load takes at its rated voltage, and what was assumed for it."""
    key = "coil_power" if element.kind == "coil" else "power"
    stated = value_of(quantity(part_values(device, element), key) or quantity(part_values(device, element), "power"))
    if stated is not None:
        return stated, ""
    volts = value_of(element.rated) or 24.0
    if element.kind == "coil":
        watts = COIL_W.get(device.kind, 1.0)
    else:
        watts = LOAD_W.get(device.kind, SMALL_LAMP_W if volts <= SMALL_V else MAINS_LAMP_W)
    return watts, f"{device.name} {key} is not stated, {watts:g} W is assumed"


def part_values(device: Device, element: Element) -> Mapping[str, object]:
    """The values that tell of an element: the device's own, or those of the part of a custom device."""
    marks = (element.a.mark, element.b.mark)
    return next((part for a, b, part in custom_parts(device, element.kind) if (a, b) == marks), device.values)


def _by_power(device: Device, element: Element) -> Impedance:
    watts, assumed = _watts(device, element)
    volts = value_of(element.rated)
    if volts is None:
        volts = 24.0
        assumed = f"{device.name} voltage is not stated, 24 V and {watts:g} W are assumed"
    return _made(element, resistance_ohm=volts**2 / watts, assumed=assumed)


def _made(element: Element, **values: float | str) -> Impedance:
    return Impedance(element.kind, element.ident, str(element.device), element.a, element.b, **values)  # type: ignore[arg-type]  # by name


def _resistor(device: Device, element: Element) -> Impedance:
    stated = value_of(quantity(part_values(device, element), "resistance"))
    share = 0.5 if device.kind == "potentiometer" else 1.0  # the wiper stands in the middle
    assumed = "" if stated is not None else f"{device.name} resistance is not stated, {RESISTOR_OHM:g} ohm is assumed"
    return _made(element, resistance_ohm=share * (stated or RESISTOR_OHM), assumed=assumed)


def _capacitor(device: Device, element: Element) -> Impedance:
    stated = value_of(quantity(device.values, "capacitance"))
    assumed = "" if stated is not None else f"{device.name} capacitance is not stated, 0.1 uF is assumed"
    return _made(element, capacitance_f=stated or CAPACITOR_F, assumed=assumed)


def _first(values: Mapping[str, object], key: str) -> float | None:
    """A quantity, or the first one of a mapping of them: `{delta: 4.5 A, star: 2.6 A}`."""
    given = values.get(key)
    found = next(iter(given.values()), None) if isinstance(given, Mapping) else given
    return value_of(found) if isinstance(found, Quantity) else None


def _winding(device: Device, element: Element) -> Impedance:
    """A winding at rated load: from the plate's voltage and current in delta, else from its power."""
    plate, current = section(device.values, "plate"), section(device.values, "current")
    volts, amps = value_of(quantity(plate, "delta")) or _first(device.values, "plate"), value_of(quantity(current, "delta"))
    power = _first(device.values, "power")
    factor = device.values.get("power_factor")
    cosine = min(1.0, float(factor)) if isinstance(factor, int | float) and factor > 0 else POWER_FACTOR
    if volts and amps:
        ohm, assumed = volts * math.sqrt(3) / amps, ""
    elif volts and power:
        ohm, assumed = 3 * volts**2 * cosine / power, f"{device.name} current is not stated, it is taken from its power"
    else:
        ohm, assumed = WINDING_OHM, f"{device.name} plate is not stated, {WINDING_OHM:g} ohm a winding are assumed"
    hertz = value_of(quantity(device.values, "frequency")) or 50.0
    return _made(
        element,
        resistance_ohm=ohm * cosine,
        inductance_h=ohm * math.sqrt(1 - cosine**2) / (2 * math.pi * hertz),
        assumed=assumed,
    )


OF_ELEMENT: Mapping[str, Callable[[Device, Element], Impedance]] = {
    "coil": _by_power,
    "load": _by_power,
    "resistor": _resistor,
    "capacitor": _capacitor,
    "winding": _winding,
}


def _between(device: Device, kind: str, a: object, b: object, ohm: float, assumed: str) -> Impedance:
    ends = device.terminal(a), device.terminal(b)
    return Impedance(kind, f"{device.name}:{a}-{b}", device.name, *ends, resistance_ohm=ohm, assumed=assumed)


def input_ends(device: Device) -> Iterator[tuple[Terminal, Terminal]]:
    """The inputs of a drive, each with the terminal that its current comes back by: the common, or plus where inputs sink."""
    control = section(device.values, "control")
    supply, off = section(control, "supply"), section(control, "safe_torque_off")
    back = supply.get("plus" if control.get("logic") == "sinking" else "common")
    if back:
        yield from ((device.terminal(mark), device.terminal(back)) for mark in section(control, "inputs"))
    common = off.get("common") or supply.get("common")
    if common:
        yield from ((device.terminal(mark), device.terminal(common)) for mark in marks_of(off, "channels", ()))


def _drive(device: Device) -> Iterator[Impedance]:
    for a, b in input_ends(device):
        yield _between(device, "input", a.mark, b.mark, INPUT_OHM, f"{device.name}:{a.mark} is taken as {INPUT_OHM:g} ohm")
    given, marks = section(device.values, "input"), [t.mark for t in drive_feed(device).terminals]
    volts = value_of(quantity(given, "voltage")) or 230.0
    amps = value_of(quantity(given, "current")) or DRIVE_W / volts
    for i, one in enumerate(marks):
        for other in marks[:i]:
            yield _between(device, "load", other, one, volts / amps, f"{device.name} input is taken as a resistance")


def _supply(device: Device) -> Iterator[Impedance]:
    volts, amps = value_of(quantity(device.values, "voltage")), value_of(quantity(device.values, "current"))
    watts = volts * amps if volts and amps else SUPPLY_W
    yield _between(device, "load", "L", "N", 230.0**2 / watts, f"{device.name} input is taken as a resistance")


def _sensor(device: Device) -> Iterator[Impedance]:
    plus, minus = marks_of(device.values, "terminals", ("+", "-", "OUT"))[:2]
    volts = value_of(quantity(device.values, "voltage")) or 24.0
    yield _between(device, "load", plus, minus, volts / SENSOR_A, f"{device.name} is taken to need {SENSOR_A * 1000:g} mA")


BESIDES: Mapping[str, Callable[[Device], Iterator[Impedance]]] = {"drive": _drive, "dc-supply": _supply, "sensor": _sensor}
"""What kinds take besides their elements."""


def impedances_of(plan: Plan) -> tuple[Impedance, ...]:
    """All that takes current in a plan, in the plan's order of elements and then of devices.

    Parameters
    ----------
    plan : Plan
        A plan that was read without an error.

    Returns
    -------
    tuple of Impedance
        Coils and loads as the resistance U²/P of their rated values, an a.c. coil by its holding power; resistors and capacitors
        as stated, a potentiometer with its wiper in the middle; windings at rated load; electronic inputs as resistances.

    Notes
    -----
    Cold filaments, inrush of a.c. magnets, and the thresholds of rectifiers and light-emitting diodes are left out.
    """
    loads = [(e, e.device) for e in elements_of(plan) if e.kind in OF_ELEMENT and e.device is not None]
    inside = [OF_ELEMENT[element.kind](plan.devices[name], element) for element, name in loads]
    besides = [i for device in plan.devices.values() if device.kind in BESIDES for i in BESIDES[device.kind](device)]
    return (*inside, *besides)
