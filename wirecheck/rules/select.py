"""Which devices and terminals a claim is for, as its conditions say: `{kind: push-button, role: [start, jog]}`.

`kind` takes one kind, a list, or `any`; every other key is a parameter of the device by its dotted path, or its place, title,
part or notes, with the value or the list of values that it must have. A device that does not state the parameter is not chosen.
Terminals are chosen by `marks` in addition, or by `marks_at`, the path of a parameter that lists them. Where no terminals are
asked for, `kind` may be `wire`, with number, size, colour, cable, core, `ends` (marks) and `at` (devices), or `cable`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from wirecheck.plan.model import Device, Plan, Terminal

WORDS = {"type": ["string", "boolean", "integer"]}
WORD_OR_LIST = {"anyOf": [WORDS, {"type": "array", "minItems": 1, "items": WORDS}]}
DEVICES = {"type": "object", "required": ["kind"], "additionalProperties": WORD_OR_LIST}
"""JSON Schema of a choice of devices."""
TERMINALS = {**DEVICES, "anyOf": [{"required": ["marks"]}, {"required": ["marks_at"]}]}
"""JSON Schema of a choice of terminals."""

ANY_KIND, WIRE, CABLE = CHOICES = ("any", "wire", "cable")
"""What a choice may have as its kind beside a device kind."""
OF_ALL = ("title", "place", "part", "notes")
"""What every device may have, whatever its kind."""


def described(schema: Mapping[str, object], text: str) -> dict[str, object]:
    """The schema of a condition with what it is, in words."""
    return {"description": text, **schema}


CHOICE_OF_MARKS = ("marks", "marks_at")


def devices_of(plan: Plan, where: object) -> tuple[Device, ...]:
    """The devices that a choice is for, in the plan's order; of the kinds `wire` and `cable` these as if they were devices."""
    wanted = {key: frozenset(listed(value)) for key, value in section(where).items() if key not in CHOICE_OF_MARKS}
    others = [
        thing for kind, things in ((WIRE, _wires), (CABLE, _cables)) if kind in wanted.get("kind", ()) for thing in things(plan)
    ]
    found = (*plan.devices.values(), *others)
    return tuple(device for device in found if all(_has(device, key, values) for key, values in wanted.items()))


def named(things: Iterable[Device]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The devices and the wires that a finding on some of the chosen names: of a wire its number and what is at its ends."""
    chosen = list(things)
    at = [str(name) for thing in chosen for name in (listed(thing.values["at"]) if thing.kind == WIRE else [thing.name])]
    wires = [str(thing.values["number"]) for thing in chosen if thing.kind == WIRE]
    return tuple(dict.fromkeys(at)), tuple(dict.fromkeys(wires))


def _wires(plan: Plan) -> Iterator[Device]:
    """The wires with what can be said of them; `ends` are the marks at their ends, `at` the devices."""
    for wire in plan.wires:
        stated = {"size": wire.size_text, "colour": wire.colour, "cable": wire.cable, "core": wire.core}
        values = {key: value for key, value in stated.items() if value}
        ends = {"ends": (wire.a.mark, wire.b.mark), "at": (wire.a.device, wire.b.device)}
        yield Device(str(wire), WIRE, wire.spot, values={"number": wire.number, **values, **ends})


def _cables(plan: Plan) -> Iterator[Device]:
    for cable in plan.cables.values():
        stated = {
            "cores": cable.cores,
            "size": cable.size_text,
            "screened": cable.screened,
            "insulation": cable.insulation,
            "method": cable.method,
            "route": cable.route,
        }
        yield Device(cable.name, CABLE, cable.spot, values={key: v for key, v in stated.items() if v not in (None, "")})


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


def _has(device: Device, key: str, values: Collection[object]) -> bool:
    if key == "kind":
        return bool({device.kind, device.house_kind} & set(values)) or (ANY_KIND in values and device.kind not in (WIRE, CABLE))
    # One stated value out of several is enough where the parameter is a list.
    return any(value in values for value in listed(value_at(device, key)))
