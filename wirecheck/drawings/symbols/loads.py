"""Devices with two ends that current flows through: coils, lamps, fuses, resistors, diodes and the like."""

from __future__ import annotations

from collections.abc import Callable

from wirecheck.drawings.lettering import SMALLEST
from wirecheck.drawings.shapes import BLACK, NORMAL, THIN, Circle, Line, Pen, Shape, Text, arc, line, rectangle

Draw = Callable[[float, float, float], list[Shape]]


def _with_leads(x: float, top: float, bottom: float, half: float, *body: Shape) -> list[Shape]:
    middle = (top + bottom) / 2
    return [line((x, top), (x, middle - half)), line((x, middle + half), (x, bottom)), *body]


def coil(x: float, top: float, bottom: float) -> list[Shape]:
    """The coil of a relay or contactor: a flat rectangle."""
    y = (top + bottom) / 2
    return _with_leads(x, top, bottom, 5, rectangle(x - 9, y - 5, x + 9, y + 5))


def delayed_coil(x: float, top: float, bottom: float, mode: str) -> list[Shape]:
    """The coil of a timer: a second field, crossed for an on-delay, black for an off-delay."""
    y = (top + bottom) / 2
    field: list[Shape] = [rectangle(x - 15, y - 5, x - 9, y + 5, fill=BLACK if mode == "off-delay" else None)]
    if mode != "off-delay":
        field += [line((x - 15, y - 5), (x - 9, y + 5)), line((x - 15, y + 5), (x - 9, y - 5))]
    return coil(x, top, bottom) + field


def lamp(x: float, top: float, bottom: float) -> list[Shape]:
    """A lamp: a circle with a cross."""
    y, d = (top + bottom) / 2, 5.3
    cross = (line((x - d, y - d), (x + d, y + d)), line((x - d, y + d), (x + d, y - d)))
    return _with_leads(x, top, bottom, 7.5, Circle(x, y, 7.5), *cross)


def buzzer(x: float, top: float, bottom: float) -> list[Shape]:
    """A sounder: a half disc."""
    y = (top + bottom) / 2
    return _with_leads(x, top, bottom, 4, arc(x, y, 8, -90, 90), line((x, y - 8), (x, y + 8)))


def solenoid(x: float, top: float, bottom: float) -> list[Shape]:
    """A solenoid: a coil with its plunger."""
    y = (top + bottom) / 2
    return [*coil(x, top, bottom), line((x + 9, y), (x + 14, y), pen=THIN), line((x + 14, y - 4), (x + 14, y + 4))]


def resistor(x: float, top: float, bottom: float) -> list[Shape]:
    """A resistor: an upright rectangle."""
    y = (top + bottom) / 2
    return _with_leads(x, top, bottom, 10, rectangle(x - 3.5, y - 10, x + 3.5, y + 10))


def heater(x: float, top: float, bottom: float) -> list[Shape]:
    """A heating element: an upright rectangle in fields."""
    y = (top + bottom) / 2
    bars = [line((x - 4.5, y + d), (x + 4.5, y + d), pen=THIN) for d in (-5, 0, 5)]
    return _with_leads(x, top, bottom, 10, rectangle(x - 4.5, y - 10, x + 4.5, y + 10), *bars)


def load(x: float, top: float, bottom: float) -> list[Shape]:
    """Something that takes current: an upright rectangle with a slanted line."""
    y = (top + bottom) / 2
    return _with_leads(
        x, top, bottom, 10, rectangle(x - 6, y - 10, x + 6, y + 10), line((x - 6, y + 10), (x + 6, y - 10), pen=THIN)
    )


def capacitor(x: float, top: float, bottom: float) -> list[Shape]:
    """A capacitor: two plates."""
    y = (top + bottom) / 2
    plates = [line((x - 7, y + d), (x + 7, y + d), pen=Pen(BLACK, 1.4)) for d in (-2, 2)]
    return _with_leads(x, top, bottom, 2, *plates)


def diode(x: float, top: float, bottom: float) -> list[Shape]:
    """A diode with its cathode above: current passes upward, in the direction of the triangle."""
    y = (top + bottom) / 2
    triangle = Line(((x - 6, y + 5.5), (x + 6, y + 5.5), (x, y - 5.5)), NORMAL, True)
    return [line((x, top), (x, bottom)), triangle, line((x - 6, y - 5.5), (x + 6, y - 5.5), pen=Pen(BLACK, 1.3))]


def fuse(x: float, top: float, bottom: float) -> list[Shape]:
    """A fuse link: a rectangle with the line running through."""
    y = (top + bottom) / 2
    return [line((x, top), (x, bottom)), rectangle(x - 4, y - 10, x + 4, y + 10)]


def thermal_element(x: float, top: float, bottom: float) -> list[Shape]:
    """The heater of an overload relay: a square bend in the line."""
    y = (top + bottom) / 2
    bend = line((x, top), (x, y - 5), (x + 7, y - 5), (x + 7, y + 5), (x, y + 5), (x, bottom))
    return [bend, rectangle(x - 4, y - 8, x + 10.5, y + 8, THIN)]


def thermistor(x: float, top: float, bottom: float) -> list[Shape]:
    """A resistor that changes with temperature."""
    y = (top + bottom) / 2
    slash = line((x - 8, y + 9), (x - 5, y + 9), (x + 7, y - 9), pen=THIN)
    return [*resistor(x, top, bottom), slash, Text(x + 5, y + 9, "t°", SMALLEST)]


def reactor(x: float, top: float, bottom: float) -> list[Shape]:
    """A choke: humps with a core."""
    return [*winding(x, top, bottom), line((x + 7, (top + bottom) / 2 - 11), (x + 7, (top + bottom) / 2 + 11), pen=THIN)]


def winding(x: float, top: float, bottom: float) -> list[Shape]:
    """A winding that stands upright: four humps."""
    y = (top + bottom) / 2
    humps = [arc(x, y + d, 3, -90, 90) for d in (-9, -3, 3, 9)]
    return _with_leads(x, top, bottom, 12, *humps)


def filter_pole(x: float, top: float, bottom: float) -> list[Shape]:
    """One conductor's way through a filter."""
    y = (top + bottom) / 2
    return _with_leads(x, top, bottom, 8, rectangle(x - 8, y - 8, x + 8, y + 8), Text(x, y + 2.5, "\u2248", 8, anchor="middle"))


def machine_circle(letter: str) -> Draw:
    """A rotating machine of two leads: a circle with its letter."""

    def draw(x: float, top: float, bottom: float) -> list[Shape]:
        y = (top + bottom) / 2
        return _with_leads(x, top, bottom, 8.5, Circle(x, y, 8.5), Text(x, y + 3, letter, 8, True, "middle"))

    return draw


def plug_pole(x: float, top: float, bottom: float) -> list[Shape]:
    """A plug in its socket: the socket's cup above, the pin below."""
    y = (top + bottom) / 2
    cup = arc(x, y - 1, 4.5, 180, 360)
    return [line((x, top), (x, y - 5.5)), cup, line((x, y), (x, bottom)), line((x, y - 2), (x, y + 8), pen=Pen(BLACK, 2.2))]


def protective_earth(x: float, top: float, bottom: float) -> list[Shape]:
    """The end of a protective conductor on metal: the earth symbol in a circle."""
    y, away = (top + bottom) / 2, 1 if bottom > top else -1  # the lead may come from below
    bars = [line((x - w, y + away * d), (x + w, y + away * d)) for w, d in ((5.5, 0.0), (3.5, 2.5), (1.5, 5.0))]
    return [line((x, top), (x, y)), *bars, Circle(x, y + away, 8.5, THIN)]


def plain_end(x: float, top: float, bottom: float) -> list[Shape]:
    """A terminal of which the plan tells nothing but its mark: a short lead."""
    y = (top + bottom) / 2
    return [line((x, top), (x, y)), Circle(x, y, 1.6, fill="#ffffff")]
