"""Which devices and terminals a claim is for, as its conditions say: `{kind: push-button, role: [start, jog]}`.

`kind` takes one kind, a list, or `any`; every other key is a parameter of the device by its dotted path, or its place, title,
part or notes, with the value or the list of values that it must have. A device that does not state the parameter is not chosen.
Terminals are chosen by `marks` in addition, or by `marks_at`, the path of a parameter that lists them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wirecheck.plan.model import Device, Plan, Terminal

WORDS = {"type": ["string", "boolean", "integer"]}
WORD_OR_LIST = {"anyOf": [WORDS, {"type": "array", "minItems": 1, "items": WORDS}]}
DEVICES = {"type": "object", "required": ["kind"], "additionalProperties": WORD_OR_LIST}
"""JSON Schema of a choice of devices."""
TERMINALS = {**DEVICES, "anyOf": [{"required": ["marks"]}, {"required": ["marks_at"]}]}
"""JSON Schema of a choice of terminals."""

ANY_KIND = "any"
OF_ALL = ("title", "place", "part", "notes")
"""What every device may have, whatever its kind."""


def described(schema: Mapping[str, object], text: str) -> dict[str, object]:
    """The schema of a condition with what it is, in words."""
    return {"description": text, **schema}


CHOICE_OF_MARKS = ("marks", "marks_at")


def devices_of(plan: Plan, where: object) -> tuple[Device, ...]:
    """The devices that a choice is for, in the plan's order."""
    wanted = {key: frozenset(listed(value)) for key, value in section(where).items() if key not in CHOICE_OF_MARKS}
    return tuple(device for device in plan.devices.values() if all(_has(device, key, values) for key, values in wanted.items()))


def terminals_of(plan: Plan, where: object) -> Iterator[tuple[Device, Terminal]]:
    """The terminals that a choice is for, with their devices."""
    choice = section(where)
    for device in devices_of(plan, where):
        chosen = listed(choice["marks"]) if "marks" in choice else listed(value_at(device, str(choice["marks_at"])))
        for mark in map(str, chosen):
            if mark in device.marks:
                yield device, Terminal(device.name, mark)


def value_at(device: Device, path: str) -> object:
    """The parameter of a device at a dotted path, None where it is not stated."""
    if path in OF_ALL:
        return getattr(device, path) or None
    here: object = device.values
    for step in path.split("."):
        here = here.get(step) if isinstance(here, Mapping) else None
    return here


def listed(value: object) -> list[object]:
    """A list as it is, nothing as an empty one, anything else as a list of one."""
    if isinstance(value, list | tuple):
        return list(value)
    return [] if value is None else [value]


def section(value: object) -> Mapping[str, object]:
    """A mapping of the claim."""
    if not isinstance(value, Mapping):
        raise TypeError(f"a mapping is needed here: {value!r}")
    return value


def _has(device: Device, key: str, values: Iterable[object]) -> bool:
    if key == "kind" and ANY_KIND in values:
        return True
    # One stated value out of several is enough where the parameter is a list.
    return any(value in values for value in (listed(device.kind if key == "kind" else value_at(device, key))))
