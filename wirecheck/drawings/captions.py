"""The words beside a device: designation, title and the few values that tell what it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from wirecheck.drawings.colours import COLOUR_NAMES
from wirecheck.plan.model import Device, Quantity


def words(value: object) -> str:
    """A parameter's value as the user wrote it; empty for what was not stated."""
    if isinstance(value, Quantity):
        return value.text
    if value is None or isinstance(value, Mapping | list | tuple | bool):
        return ""
    return str(value)


def key_data(device: Device) -> list[str]:
    """The lines of values under a device's title."""
    lines = _BY_KIND.get(device.kind, _any)(device)
    return [line for line in (" ".join(line.split()) for line in lines) if line]


def function_words(device: Device) -> dict[str, str]:
    """What each control terminal of a drive or a safety relay is for, in words."""
    control = _map(device.values.get("control"))
    supply, reference = _map(control.get("supply")), _map(control.get("reference"))
    torque = _map(control.get("safe_torque_off"))
    out = {words(supply.get("plus")): "+ control", words(supply.get("common")): "common"}
    out |= {words(reference.get("plus")): "+ speed", words(reference.get("wiper")): "speed"}
    out |= {words(reference.get("common")): "0 V speed"}
    for mark, does in _map(control.get("inputs")).items():
        out[mark] = words(_map(does).get("does") or does).replace("-", " ")
    channels = torque.get("channels")
    for mark in channels if isinstance(channels, list | tuple) else ():
        out[str(mark)] = "safe torque off"
    out[words(torque.get("common"))] = "torque off common"
    out.pop("", None)
    return out


def _map(value: object) -> Mapping[str, object]:
    return value if isinstance(value, Mapping) else {}


def _of(device: Device, *keys: str) -> str:
    return " ".join(words(device.values.get(key)) for key in keys)


def _rating_and_curve(values: Mapping[str, object]) -> str:
    return f"{words(values.get('rating'))} {words(values.get('curve'))}"


def _mains(device: Device) -> list[str]:
    phases = _of(device, "phases")
    protection = _map(device.values.get("protected_by"))
    fed = f"behind {_rating_and_curve(protection)}" if protection else ""
    return [f"{phases} phase" if phases else "", _of(device, "voltage", "frequency"), _of(device, "earthing"), fed]


def _breaker(device: Device) -> list[str]:
    return [_of(device, "rating", "curve", "class")]


def _isolator(device: Device) -> list[str]:
    return [_of(device, "rating"), "lockable" if device.values.get("lockable") is True else ""]


def _residual(device: Device) -> list[str]:
    kind = _of(device, "type")
    return [_of(device, "rating"), _of(device, "trip_current"), f"type {kind}" if kind.strip() else ""]


def _transformer(device: Device) -> list[str]:
    return [f"{_of(device, 'primary_voltage')} / {_of(device, 'secondary_voltage')}", _of(device, "power")]


def _coil(device: Device) -> list[str]:
    lock = _of(device, "mechanical_interlock")
    return [_of(device, "coil"), _of(device, "rating", "category"), _of(device, "delay", "mode"), f"locks {lock}" if lock else ""]


def _hand(device: Device) -> list[str]:
    role = device.role or ""
    spoken = "" if role.lower() == device.title.lower() or role == "other" else role
    colour = _of(device, "colour")
    latching = "latching" if device.values.get("latching") is True else ""
    return [spoken, COLOUR_NAMES.get(colour, colour), latching]


def _guard(device: Device) -> list[str]:
    kind = _of(device, "type")
    return [f"type {kind}" if kind.strip() else "", "locking" if device.values.get("locking") else ""]


def _overload(device: Device) -> list[str]:
    reset = _of(device, "reset")
    return [f"set {_of(device, 'setting')}" if "setting" in device.values else "", f"{reset} reset" if reset else ""]


def _motor(device: Device) -> list[str]:
    plate = [f"{name} {words(value)}" for name, value in _map(device.values.get("plate")).items()]
    return [_pair(device, "power"), _pair(device, "speed"), *plate]


def _pair(device: Device, key: str) -> str:
    value = device.values.get(key)
    return " / ".join(words(v) for v in value.values()) if isinstance(value, Mapping) else words(value)


def _drive(device: Device) -> list[str]:
    output, feed = _map(device.values.get("output")), _map(device.values.get("input"))
    mode = words(_map(device.values.get("control")).get("mode"))
    feeds = f"{words(feed.get('phases'))} phase {words(feed.get('voltage'))}" if feed else ""
    return [words(output.get("power")), feeds, f"out {words(output.get('voltage'))}" if output else "", mode]


def _any(device: Device) -> list[str]:
    keys = ("voltage", "current", "power", "resistance", "capacitance", "rating", "output", "senses")
    return [_of(device, key) for key in keys] + [COLOUR_NAMES.get(_of(device, "colour"), "")]


_BY_KIND: Mapping[str, Callable[[Device], list[str]]] = {
    "mains": _mains,
    "isolator": _isolator,
    "circuit-breaker": _breaker,
    "fuse": _breaker,
    "residual-current-device": _residual,
    "transformer": _transformer,
    "push-button": _hand,
    "emergency-stop": _hand,
    "selector": _hand,
    "key-switch": _hand,
    "foot-switch": _hand,
    "limit-switch": _hand,
    "guard-switch": _guard,
    "relay": _coil,
    "contactor": _coil,
    "timer-relay": _coil,
    "overload-relay": _overload,
    "motor": _motor,
    "drive": _drive,
}
