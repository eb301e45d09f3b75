"""Which contacts are closed: by position, by coil, late, or for a passing moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wirecheck.plan.model import Contact, Device, Plan

COIL_KINDS = ("relay", "contactor", "timer-relay", "thermistor-relay", "safety-relay")
PASSING = ("relay", "contactor")
"""Kinds whose change-over contacts pass a moment with both halves open."""
ALWAYS = ("line-filter", "line-reactor")

Values = Mapping[str, str]
"""Positions and memory bits by name. A coil device is `out`, `up` (going in), `down` (going out) or `in`."""

Moment = tuple[tuple[str, bool], ...]
"""Contacts, as `S1:13-14`, that for a passing moment are closed or open whatever the positions say."""


@dataclass(frozen=True)
class Delay:
    """Contacts of one device that follow it late: `name` is the bit that holds what they follow.

    `off` is what the device is when it is off: at rest, but for a contact that is closed while a guard is, with the guard open.
    """

    name: str
    device: str
    contacts: tuple[str, ...]
    on_s: float | None
    off_s: float | None
    off: str

    def pending_s(self, actual: str, held: str) -> float | None:
        """The time still to run; None where the contacts have caught up or follow at once."""
        if actual == held:
            return None
        return self.off_s if actual == self.off else self.on_s


def key_of(contact: Contact) -> str:
    """A name for one contact; the halves of a change-over have one each."""
    return f"{contact.device}:{contact.a}-{contact.b}"


def _late(device: Device, contact: Contact) -> tuple[float | None, float | None]:
    if contact.on_delay_s is not None or contact.off_delay_s is not None:
        return contact.on_delay_s, contact.off_delay_s
    if device.kind != "timer-relay" or not {contact.a[-1], contact.b[-1]} & set("5678"):
        return None, None
    return _timer(device)


def _timer(device: Device) -> tuple[float | None, float | None]:
    """On-delay and off-delay of a timer's delayed contacts."""
    stated = device.values.get("delay")
    seconds = float(getattr(stated, "value", 0.0))
    return (None, seconds) if device.values.get("mode") == "off-delay" else (seconds, None)


def rest_word(device: Device) -> str:
    """What a device is at rest, in the words of its contacts."""
    if device.kind == "drive":
        return "off"
    if device.kind == "no-volt-release":
        return "off"
    return "out" if has_coil(device) else device.positions[0]


def has_coil(device: Device) -> bool:
    """Whether a device is out or in; a custom one is where one of its elements is a coil."""
    return device.kind in COIL_KINDS or bool(custom_elements(device, "coil"))


def custom_elements(device: Device, what: str) -> list[Mapping[str, object]]:
    """The elements of one sort of a custom device."""
    stated = device.values.get("elements")
    elements = stated if device.kind == "custom" and isinstance(stated, list | tuple) else ()
    return [e for e in elements if isinstance(e, Mapping) and what in e]


def delays_of(plan: Plan) -> list[Delay]:
    """All groups of late contacts; contacts of one device with the same times move together."""
    groups: dict[tuple[str, float | None, float | None, str, str], list[str]] = {}
    for device in plan.devices.values():
        for contact in device.contacts:
            on_s, off_s = _late(device, contact)
            if on_s is not None or off_s is not None:
                acts_on = _acts_on(contact)[0] if device.kind == "drive" else ""
                off = "open" if contact.form == "guard-closed" else rest_word(device)
                groups.setdefault((device.name, on_s, off_s, off, acts_on), []).append(key_of(contact))
        if device.kind == "timer-relay":
            groups.setdefault((device.name, *_timer(device), "out", ""), [])  # it runs, whether a delayed contact is wired or not
    return [
        Delay(f"{name}.late{number}", name, tuple(contacts), on_s, off_s, off)
        for number, ((name, on_s, off_s, off, _), contacts) in enumerate(groups.items())
    ]


def drive_word(contact: Contact, running: bool, values: Values) -> str:
    """What a drive's relay contact acts on, where that is so; else `off`."""
    powered, healthy = values[f"{contact.device}.P"] == "1", values[contact.device] == "healthy"
    true = {"healthy": powered and healthy, "fault": powered and not healthy, "running": running, "at-speed": running}
    return next((word for word in _acts_on(contact) if true.get(word)), "off")


def _acts_on(contact: Contact) -> list[str]:
    """What a drive's relay acts on; a contact that is closed while that is not so says `not healthy`."""
    return sorted(word.removeprefix("not ") for word in contact.closed_in)


class Closing:
    """Says of every contact whether it is closed."""

    def __init__(self, plan: Plan, delays: list[Delay]) -> None:
        self._plan = plan
        self.late = {contact: delay for delay in delays for contact in delay.contacts}
        self.by_name = {key_of(c): c for d in plan.devices.values() for c in d.contacts}
        self.contacts = [c for d in plan.devices.values() for c in d.contacts if d.kind not in ALWAYS]

    def word(self, contact: Contact, values: Values, running: Mapping[str, bool]) -> str:
        """What the device is now, in the words of the contact, late or not."""
        if self._plan.devices[contact.device].kind == "drive":
            return drive_word(contact, running[contact.device], values)
        return self.device_word(self._plan.devices[contact.device], values)

    @staticmethod
    def device_word(device: Device, values: Values) -> str:
        """What a device is now, in the words of its contacts."""
        if device.kind == "no-volt-release":
            return nvr_word(device.name, values)
        if has_coil(device):
            return {"up": "out", "down": "in"}.get(values[device.name], values[device.name])
        return values[device.name]

    def closed(self, contact: Contact, values: Values, moment: Mapping[str, bool], running: Mapping[str, bool]) -> bool:
        """Whether a contact is closed."""
        name = key_of(contact)
        device = self._plan.devices[contact.device]
        if name in moment:
            return moment[name]
        delay = self.late.get(name)
        if delay:
            word = values[delay.name]
        else:
            if contact.changeover and has_coil(device) and values[device.name] in ("up", "down"):
                return False
            word = self.word(contact, values, running)
        return self.conducts(contact, word)

    def conducts(self, contact: Contact, word: str) -> bool:
        """Whether a contact is closed where its device is what a word says."""
        kind = self._plan.devices[contact.device].kind
        if kind == "overload-relay" and contact.pole:
            return True
        if kind == "drive" and any(w.startswith("not ") for w in contact.closed_in):
            return word == "off"
        return word in contact.closed_in


def nvr_word(name: str, values: Values) -> str:
    """Whether the poles of a no-volt release are closed."""
    position, latch = values[name], values[f"{name}.latch"] == "1"
    return "on" if latch and position != "stop" else "off"


def moments(device: Device, old: str, new: str, closing: Closing) -> list[Moment]:
    """What the contacts of a hand-operated device pass on the way from one position to another."""
    contacts = [c for c in device.contacts if key_of(c) not in closing.late]
    if device.kind == "no-volt-release":
        return [tuple((key_of(c), "on" in c.closed_in) for c in contacts)] if new == "start" else []
    if device.kind in ("selector", "key-switch") and device.values.get("make_before_break") is True:
        return [tuple((key_of(c), bool({old, new} & c.closed_in)) for c in contacts)]
    if device.kind in ("selector", "key-switch") or any(c.changeover for c in contacts):
        return [tuple((key_of(c), False) for c in contacts)]
    if any(c.early_break for c in contacts):
        main = _main_position(contacts, old, new)
        return [tuple((key_of(c), not c.early_break and main in c.closed_in) for c in contacts)]
    first = first_make(device)
    if first:
        return [(*((key_of(c), c.name in first) for c in contacts), (f"{device.name} dummy", False))]
    return []


def first_make(device: Device) -> set[str]:
    """The poles of a plug that make before the others and break after them."""
    stated = device.values.get("first_make")
    return {str(p) for p in stated} if isinstance(stated, list | tuple) else set()


def _main_position(contacts: list[Contact], old: str, new: str) -> str:
    """The position in which the poles are closed, or where there are none the early-breaking contacts."""
    poles = [c for c in contacts if c.pole] or [c for c in contacts if c.early_break]
    return max((new, old), key=lambda position: sum(position in c.closed_in for c in poles))
