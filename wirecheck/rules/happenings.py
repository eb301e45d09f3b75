"""Events and standing positions in the words of a workshop: `Q1=on` is "Q1 is switched on"."""

from __future__ import annotations

from wirecheck.plan.model import Device

OF_ANY = {
    "pressed": "{device} is pressed",
    "released": "{device} is let go",
    "on": "{device} is switched on",
    "off": "{device} is switched off",
    "tripped": "{device} trips",
    "blown": "{device} blows",
    "whole": "{device} is renewed",
    "normal": "{device} is reset",
    "reset": "{device} is reset",
    "parted": "the plug {device} is pulled",
    "mated": "the plug {device} is put in",
    "hot": "{device} gets hot",
    "cold": "{device} cools down",
    "elapsed": "the delay of {device} ends",
    "active": "{device} sees something",
    "idle": "{device} sees nothing any more",
}
"""By position, for whatever device has it."""

OF_KIND = {
    ("mains", "on"): "the supply comes on",
    ("mains", "off"): "the supply goes off",
    ("emergency-stop", "pressed"): "{device} is pressed",
    ("emergency-stop", "released"): "{device} is released",
    ("guard-switch", "open"): "{device} is opened",
    ("guard-switch", "closed"): "{device} is closed",
    ("drive", "faulted"): "{device} trips",
    ("drive", "healthy"): "the trip of {device} is reset, or it resets itself",
    ("drive", "keypad-run"): "run is pressed on the keypad of {device}",
    ("drive", "keypad-stop"): "stop is pressed on the keypad of {device}",
    ("no-volt-release", "start"): "the start of {device} is pressed",
    ("no-volt-release", "stop"): "the stop of {device} is pressed",
}

TURNED = frozenset({"selector", "key-switch"})

WORKED = frozenset({"push-button", "emergency-stop", "guard-switch", "foot-switch", "limit-switch", *TURNED})
"""What a hand or the machine works, and stands in a walk with its position."""


def happening(device: Device, position: str) -> str:
    """What happens when a device is put into a position, as a clause."""
    if device.kind in TURNED:
        return f"{device.label()} is turned to {position}"
    if meant := device.meaning(position):
        return f"{device.name}: {meant}"
    words = OF_KIND.get((device.kind, position)) or OF_ANY.get(position) or "{device} goes to " + position
    return words.replace("{device}", named(device))


def named(device: Device) -> str:
    """A device in a sentence, an emergency stop or a guard with what it is ahead of it."""
    what = {"emergency-stop": "the emergency stop ", "guard-switch": "the guard "}.get(device.kind, "")
    return f"{what}{device.label()}"


def stopper(device: Device, position: str) -> str:
    """What stops something, as it is then: it is the hot motor that stops itself, and not the motor."""
    return f"a hot {device.label()}" if position == "hot" else named(device)


def standing(device: Device, position: str) -> str:
    """What a device on the way of a current is, and how it stands; nothing where that would say no more than its designation."""
    title = device.title or str(device.values.get("guards") or "")
    if device.kind in WORKED:
        what = {"emergency-stop": "emergency stop", "guard-switch": f"guard {title}".strip()}.get(device.kind, title)
        return ", ".join(part for part in (what, position) if part)
    if position == "in":
        return f"{title + ', ' if title else ''}pulled in"
    return ""
