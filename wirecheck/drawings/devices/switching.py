"""Devices that open and close something: buttons, relays, breakers, and whatever stands in the line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from wirecheck.drawings.captions import words
from wirecheck.drawings.devices.elements import closed_way, listed, mark_room, two_ended
from wirecheck.drawings.figures import Element
from wirecheck.drawings.lettering import SMALLEST, shorten, width
from wirecheck.drawings.shapes import Shape, Text
from wirecheck.drawings.symbols import blocks, contacts, loads
from wirecheck.plan.model import Contact, Device

_POLE_MARKS = {
    "isolator": "isolator",
    "circuit-breaker": "breaker",
    "residual-current-device": "breaker",
    "contactor": "contactor",
}
_NOTE_SIZE = SMALLEST
_NOTE_ROOM = 46.0


def closed_at_rest(device: Device, contact: Contact) -> bool:
    """Whether the contact conducts with nothing operated, coils out and the supply off."""
    if device.kind == "drive":  # its relays stand as their form says while the drive has no supply
        return contact.form == "NC"
    if device.kind == "no-volt-release":
        return "off" in contact.closed_in
    rest = device.positions[0] if device.positions else "out"
    # Whatever has a coil stands `out`, also where it has positions that are no states of its contacts.
    return rest in contact.closed_in or "out" in contact.closed_in


def contact_elements(device: Device, poles: bool | None = None) -> list[Element]:
    """The contacts in the plan's order; the halves of a change-over become one element.

    `poles` asks for main poles alone, or for the others alone.
    """
    out: list[Element] = []
    done: set[str] = set()
    for contact in device.contacts:
        if poles is not None and contact.pole != poles:
            continue
        if contact.changeover is None:
            out.append(_single_contact(device, contact))
        elif contact.changeover not in done:
            done.add(contact.changeover)
            out += _changeover(device, [c for c in device.contacts if c.changeover == contact.changeover])
    return out


def _single_contact(device: Device, contact: Contact) -> Element:
    closed = closed_at_rest(device, contact)
    pole = _POLE_MARKS.get(device.kind, "isolator") if contact.pole else ""
    note = shorten(_note(device, contact), _NOTE_SIZE, _NOTE_ROOM)

    def draw(xs: Sequence[float], top: float, bottom: float) -> list[Shape]:
        x, middle = xs[0], (top + bottom) / 2
        shapes = contacts.contact(x, top, bottom, closed=closed, pole=pole)
        if contact.direct_opening:
            shapes += contacts.direct_opening(x - 7 if closed else x + 6, middle)
        if _is_delayed(device, contact):
            shapes += contacts.delayed(x - 6, middle, _acts_late_on(device, contact))
        return [*shapes, *(Text(x + 3, middle + 13, line, _NOTE_SIZE) for line in [note] if line)]

    room = max(mark_room(contact.a, contact.b), width(note, _NOTE_SIZE) + 5)
    state = {"state": "closed" if closed else "open"}
    return Element((contact.a,), (contact.b,), draw, "contact", contact.name, state, 13, room, linked=device.kind != "drive")


def _note(device: Device, contact: Contact) -> str:
    """What must be said of a contact in words: the positions it is closed in, what a drive's relay tells, that it opens early."""
    if device.kind in ("selector", "key-switch"):
        return "/".join(p for p in device.positions if p in contact.closed_in)
    if device.kind == "drive":
        return "/".join(sorted(contact.closed_in))
    return "early" if contact.early_break else ""


def _is_delayed(device: Device, contact: Contact) -> bool:
    own = contact.on_delay_s is not None or contact.off_delay_s is not None
    return own or (device.kind == "timer-relay" and not contact.pole and contact.a[-1:] in "5678")


def _acts_late_on(device: Device, contact: Contact) -> bool:
    if contact.on_delay_s is not None or contact.off_delay_s is not None:
        return contact.on_delay_s is not None
    return words(device.values.get("mode")) != "off-delay"


def _changeover(device: Device, halves: list[Contact]) -> list[Element]:
    common = set.intersection(*({c.a, c.b} for c in halves))
    if len(halves) != 2 or len(common) != 1:
        return [_single_contact(device, c) for c in halves]
    shared = common.pop()
    first, second = ((c.b if c.a == shared else c.a) for c in halves)
    closed = closed_at_rest(device, halves[0])

    def draw(xs: Sequence[float], top: float, bottom: float) -> list[Shape]:
        return contacts.changeover((xs[0], xs[0], xs[1]), top, bottom, closed)

    states = " ".join(f"{c.name}={'closed' if closed_at_rest(device, c) else 'open'}" for c in halves)
    name = " ".join(c.name for c in halves)
    return [Element((shared,), (first, second), draw, "contact", name, {"state": states}, 10, mark_room(second), linked=True)]


def coil_and_contacts(device: Device) -> list[Element]:
    """A relay, contactor or timer: the coil, then what it moves."""
    timer = device.kind == "timer-relay"
    symbol = partial(loads.delayed_coil, mode=words(device.values.get("mode")) or "on-delay") if timer else loads.coil

    def draw(xs: Sequence[float], top: float, bottom: float) -> list[Shape]:
        return symbol(xs[0], top, bottom)

    coil = Element(("A1",), ("A2",), draw, "coil", device.name, left=18 if timer else 12, right=16)
    return [coil, *contact_elements(device)]


def no_volt_release(device: Device) -> list[Element]:
    """A no-volt switch: the coil that holds it, then its poles and contacts."""
    return [two_ended(loads.coil, "A1", "A2"), *contact_elements(device)]


def monitoring_relay(device: Device) -> list[Element]:
    """A relay that watches something: its supply, the loops it watches, then its contacts."""
    pairs = [(listed(device, "supply") or ["A1", "A2"], "supply"), (listed(device, "sensor"), "sensor")]
    channels = device.values.get("channels")
    for n, channel in enumerate(channels if isinstance(channels, list | tuple) else (), 1):
        pairs.append(([str(mark) for mark in channel], f"chan. {n}"))
    pairs.append((listed(device, "reset_loop"), "reset"))
    symbols = [(partial(blocks.box_element, word), pair) for pair, word in pairs if len(pair) == 2]
    loops = [two_ended(draw, pair[0], pair[1], right=16) for draw, pair in symbols]
    return [*loops, *contact_elements(device)]


def fuse(_device: Device) -> list[Element]:
    """A fuse link."""
    return [closed_way(loads.fuse, "1", "2")]


def in_line(draw: loads.Draw) -> Callable[[Device], list[Element]]:
    """Devices whose poles are always joined: the symbol stands in the line."""

    def build(device: Device) -> list[Element]:
        pairs = [[c.a, c.b] for c in device.contacts if c.pole] or _listed_poles(device)
        shown = [closed_way(draw, *pair) for pair in pairs if len(pair) == 2]
        return shown + contact_elements(device, poles=False)

    return build


def _listed_poles(device: Device) -> list[list[str]]:
    poles = device.values.get("poles")
    return [_pair(pole) for pole in poles] if isinstance(poles, list | tuple) else []


def _pair(pole: object) -> list[str]:
    return [str(mark) for mark in pole] if isinstance(pole, list | tuple) else str(pole).split("-", 1)


def custom(device: Device) -> list[Element]:
    """What the plan says a device of its own making consists of: coil, loads, resistors, links and contacts."""
    symbols = {"coil": loads.coil, "load": loads.load, "resistor": loads.resistor}
    out: list[Element] = []
    elements = device.values.get("elements")
    for element in elements if isinstance(elements, list | tuple) else ():
        for kind, draw in symbols.items():
            pair = _pair(element[kind]) if kind in element else []
            if len(pair) == 2:
                out.append(two_ended(draw, pair[0], pair[1]))
    return out + contact_elements(device)
