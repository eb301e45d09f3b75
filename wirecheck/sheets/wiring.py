"""What several lists ask of a plan: the wires at a terminal, what a terminal leads to inside its device, where things stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from wirecheck.circuit.elements import Element, elements_of, marks_of, section
from wirecheck.plan.model import Device, Plan, Terminal, Wire


def wires_at(plan: Plan) -> dict[Terminal, list[Wire]]:
    """The wires at every terminal that has any, in the plan's order."""
    found: dict[Terminal, list[Wire]] = {}
    for wire in plan.wires:
        found.setdefault(wire.a, []).append(wire)
        found.setdefault(wire.b, []).append(wire)
    return found


def other_end(wire: Wire, terminal: Terminal) -> Terminal:
    """The end of a wire that is not this one."""
    return wire.b if wire.a == terminal else wire.a


def place_of(plan: Plan, terminal: Terminal) -> str:
    """The place of a terminal's device, empty where the plan does not state it."""
    return plan.devices[terminal.device].place or ""


def size_of(plan: Plan, wire: Wire) -> str:
    """The section of a wire as the plan writes it, its cable's where it has none of its own."""
    cable = plan.cables.get(wire.cable or "")
    return wire.size_text or (cable.size_text if cable else "")


def used(plan: Plan) -> frozenset[Terminal]:
    """The terminals with a wire or a link."""
    linked = {Terminal(d.name, mark) for d in plan.devices.values() for link in d.links for mark in link}
    return frozenset(linked | set(wires_at(plan)))


def inside(plan: Plan) -> dict[Terminal, list[str]]:
    """For every terminal what it leads to inside its device, in words."""
    found: dict[Terminal, list[str]] = {}
    for element in elements_of(plan):
        if element.kind != "wire" and element.device and plan.devices[element.device].kind != "earth-bar":
            for end, other in ((element.a, element.b), (element.b, element.a)):
                found.setdefault(end, []).append(_words(element, other))
    for device in plan.devices.values():
        for mark, words in _named(device):
            found.setdefault(device.terminal(mark), []).append(words)
    return {terminal: list(dict.fromkeys(words)) for terminal, words in found.items()}


def _words(element: Element, other: Terminal) -> str:
    contact = element.contact
    if contact is not None:
        return f"pole {contact.a}-{contact.b}" if contact.pole else f"contact {contact.name} {contact.form}"
    if element.kind == "link":
        return f"link to {other.mark}"
    return f"{'switched path' if element.kind == 'contact' else element.kind} to {other.mark}"


def _named(device: Device) -> Iterator[tuple[str, str]]:
    """Terminals whose use the parameters of a device state."""
    values = device.values
    control = section(values, "control")
    for side in ("input", "output"):
        default = (("L", "N") if side == "input" else ("U", "V", "W")) if device.kind == "drive" else ()
        yield from (
            (mark, "supply" if side == "input" else "to the motor")
            for mark in marks_of(section(values, side), "terminals", default)
        )
    for mark, given in section(control, "inputs").items():
        yield mark, str(given.get("does") if isinstance(given, Mapping) else given)
    for part, title in (("supply", "control supply"), ("reference", "speed reference")):
        given = section(control, part)
        yield from ((str(given[key]), f"{title}, {key}") for key in ("plus", "wiper", "common") if key in given)
    torque = section(control, "safe_torque_off")
    yield from ((mark, "safe torque off") for mark in marks_of(torque, "channels", ()))
    if "common" in torque:
        yield str(torque["common"]), "safe torque off, common"
    yield from ((mark, "braking resistor") for mark in marks_of(section(control, "brake_resistor"), "terminals", ()))
    yield from ((mark, "motor thermistor") for mark in marks_of(control, "thermistor", ()))
    if device.kind == "safety-relay":
        channels = values.get("channels")
        for number, channel in enumerate(channels if isinstance(channels, list | tuple) else (), start=1):
            yield from ((str(mark), f"channel {number}") for mark in channel)
        yield from ((mark, "reset loop") for mark in marks_of(values, "reset_loop", ()))
    yield from ((mark, "sensor") for mark in marks_of(values, "sensor", ()))
    yield from ((mark, "secondary") for mark in marks_of(values, "secondary", ()))
