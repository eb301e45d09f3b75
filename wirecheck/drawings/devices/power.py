"""Sources, converters, motors, and what distributes current."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from wirecheck.drawings.captions import function_words, words
from wirecheck.drawings.devices.elements import MARK_SIZE, earth, listed, mark_room, marks_of, two_ended
from wirecheck.drawings.devices.switching import contact_elements
from wirecheck.drawings.figures import Element
from wirecheck.drawings.lettering import width
from wirecheck.drawings.shapes import Shape, line
from wirecheck.drawings.symbols import blocks, contacts, loads
from wirecheck.plan.model import Device


def mains(device: Device) -> list[Element]:
    """The supply from outside: all its conductors leave downwards."""
    live = tuple(m for m in device.marks if m != "PE")
    parts = [Element((), live, blocks.source, "source", device.name, right=mark_room(*live), pitch=24)] if live else []
    if "PE" in device.marks:
        parts.append(Element((), ("PE",), _earth_from_below, right=mark_room("PE")))
    return parts


def _earth_from_below(xs: Sequence[float], top: float, bottom: float) -> list[Shape]:
    return loads.protective_earth(xs[0], bottom, top)


def dc_supply(device: Device) -> list[Element]:
    """A d.c. supply between its a.c. and its d.c. side."""
    return [Element(("L", "N"), ("+", "-"), blocks.supply, "source", device.name, pitch=24), earth()]


def transformer(device: Device) -> list[Element]:
    """A transformer, the primary above; a terminal of its core or screen beside it."""
    first, second = listed(device, "primary") or ["1", "2"], listed(device, "secondary") or ["3", "4"]
    draw = partial(blocks.transformer, (len(first), len(second)))
    earthed = [earth()] if "PE" in device.marks else []
    return [Element(tuple(first), tuple(second), draw, "source", device.name, pitch=26), *earthed]


def earth_bar(device: Device) -> list[Element]:
    """The marks by turns above and below the bar, so that it stays short."""
    upper, lower = device.marks[::2], device.marks[1::2]
    if not upper:
        return []
    draw = partial(blocks.busbar, (len(upper), len(lower)))
    return [Element(upper, lower, draw, "bar", device.name, right=24, pitch=max(20, mark_room(*device.marks) + 3))]


def terminal_block(device: Device) -> list[Element]:
    """Every terminal of the block as a way through it."""
    return [two_ended(blocks.terminal_way, mark, mark) for mark in device.marks]


def motor(device: Device) -> list[Element]:
    """The windings with the bars of the terminal box, the protective conductor, the sensor in the windings."""
    two_speed = words(device.values.get("windings"))
    sensor = [two_ended(loads.thermistor, "TP1", "TP2", 18)] if {"TP1", "TP2"} <= set(device.marks) else []
    ends = ("U1", "V1", "W1", "U2", "V2", "W2")
    if two_speed:
        named = "two speeds in one winding" if two_speed == "dahlander" else "two windings"
        draw = partial(blocks.two_speed_motor, f"{named}: low U1 V1 W1, high U2 V2 W2")
        return [Element(ends, (), draw, "winding", device.name, right=16), earth(), *sensor]
    steps = [(a, b) for link in device.links for a, b in zip(link, link[1:], strict=False)]
    bars = [(ends.index(a), ends.index(b)) for a, b in steps if {a, b} <= set(ends)]
    draw = partial(blocks.windings, bars)
    return [Element(ends[:3], ends[3:], draw, "winding", device.name, left=16, pitch=30, right=16), earth(), *sensor]


def drive(device: Device) -> list[Element]:
    """Supply and motor side as power converter, then the control terminals with their functions, then the relays' contacts."""
    inputs = listed(device, "input", "terminals") or ["L", "N"]
    outputs = listed(device, "output", "terminals") or ["U", "V", "W"]

    def power(xs: Sequence[float], top: float, bottom: float) -> list[Shape]:
        return blocks.drive_power(xs[: len(inputs)], xs[: len(outputs)], top, bottom)

    parts = [Element(tuple(inputs), tuple(outputs), power, "converter", device.name, pitch=24), earth()]
    brake = listed(device, "control", "brake_resistor", "terminals")
    parts += [_control(device, brake, dict.fromkeys(brake, "brake resistor"))] if brake else []
    sensor = listed(device, "control", "thermistor")
    spoken = function_words(device) | dict.fromkeys(sensor, "motor sensor")
    known = marks_of(parts) | {m for c in device.contacts for m in (c.a, c.b)}
    control = [m for m in dict.fromkeys([*spoken, *device.marks]) if m not in known]
    return [*parts, *([_control(device, control, spoken)] if control else []), *contact_elements(device)]


def _control(device: Device, marks: Sequence[str], spoken: dict[str, str]) -> Element:
    longest = max((width(w, blocks.WORD_SIZE) for m in marks for w in spoken.get(m, "").split()), default=0.0)
    pitch = max(24.0, longest + 5, *(width(m, MARK_SIZE, True) + 5 for m in marks))

    def draw(xs: Sequence[float], top: float, _bottom: float) -> list[Shape]:
        columns = zip(xs, marks, strict=True)
        return [s for x, m in columns for s in blocks.control_terminal(x, top, m, spoken.get(m, ""), pitch - 3)]

    return Element(tuple(marks), (), draw, "control", device.name, left=pitch / 2, right=pitch / 2, pitch=pitch, labelled=True)


def load(draw: loads.Draw) -> Callable[[Device], list[Element]]:
    """A device of two ends; more ends, and a protective conductor, are added as they are."""

    def build(device: Device) -> list[Element]:
        ends = [m for m in device.marks if m != "PE"][:2]
        return [two_ended(draw, ends[0], ends[1])] if len(ends) == 2 else []

    return build


def diode(_device: Device) -> list[Element]:
    """A diode, its cathode above."""
    return [two_ended(loads.diode, "K", "A")]


def potentiometer(_device: Device) -> list[Element]:
    """The clockwise end and the wiper above, the anticlockwise end below."""
    return [Element(("3", "2"), ("1",), blocks.potentiometer)]


def frame(_device: Device) -> list[Element]:
    """An exposed metal part: where its protective conductor ends."""
    return [earth()]


def sensor(device: Device) -> list[Element]:
    """A sensor of three wires: plus above, minus below, the output on the side that is not the one it is joined to."""
    ends = [m for m in device.marks if m != "PE"]
    plus, minus, out = (*ends, "+", "-", "OUT")[:3] if len(ends) == 3 else ("+", "-", "OUT")
    to_minus = words(device.values.get("output")) == "NPN"
    closed = words(device.values.get("form")) == "NC"
    draw = partial(_sensor_symbol, closed, to_minus)
    tops, bottoms = ((plus, out), (minus,)) if to_minus else ((plus,), (minus, out))
    return [Element(tops, bottoms, draw, pitch=26, right=mark_room(out))]


def _sensor_symbol(closed: bool, to_minus: bool, xs: Sequence[float], top: float, bottom: float) -> list[Shape]:
    supply, out = xs
    middle, half = (top + bottom) / 2, 9.0
    switch = contacts.contact(out, middle - half, middle + half, closed=closed)
    if to_minus:
        leads = [((out, top), (out, middle - half)), ((out, middle + half), (out, bottom - 14), (supply, bottom - 14))]
    else:
        leads = [((out, middle + half), (out, bottom)), ((out, middle - half), (out, top + 14), (supply, top + 14))]
    return blocks.sensor([*switch, *(line(*points) for points in leads)], supply, top, bottom)
