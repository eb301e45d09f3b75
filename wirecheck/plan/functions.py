"""Reads the safety functions and the accepted findings of a plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from wirecheck.errors import nearest_word
from wirecheck.kinds import Parameter
from wirecheck.nodes import Node
from wirecheck.plan.devices import Read
from wirecheck.plan.model import Accepted, Event, Function
from wirecheck.plan.problems import Problems
from wirecheck.plan.sections import sections
from wirecheck.plan.values import ValueReader
from wirecheck.plan.wires import named_items, text

RISK_GRAPH = {"111": "a", "112": "b", "121": "b", "122": "c", "211": "c", "212": "d", "221": "d", "222": "e"}
"""The required level for severity, frequency and possibility (ISO 13849-1, annex A; mapping from memory)."""

MUST = ("stopped", "off")
MOTORS = ("motor",)
TURNING_LOADS = ("fan", "pump")
"""Loads with a motor of their own: that they are stopped is that they are off."""


def read_functions(
    node: Node | None, devices: Mapping[str, Read], lost: tuple[str, ...], problems: Problems
) -> tuple[Function, ...]:
    """The safety functions that the plan states."""
    found = []
    for key, value in named_items(node, "functions", problems):
        what = f"function {key.text}"
        reader = ValueReader(problems)
        given = reader.mapping(value, sections()["function"], what)
        nodes = {k.text: v for k, v in value.pairs}
        causes = tuple(_causes(nodes.get("when"), what, devices, lost, problems))
        must = tuple(_musts(nodes.get("must"), what, devices, lost, problems))
        required = _section(given, "required")
        level = required.get("level") or _risk_level(_section(given, "risk"))
        category = required.get("category")
        found.append(
            Function(
                key.text, causes, must, problems.spot(key), str(category) if category else None, str(level) if level else None
            )
        )
    return tuple(found)


def _section(given: Mapping[str, object], key: str) -> Mapping[str, object]:
    found = given.get(key)
    return found if isinstance(found, Mapping) else {}


def _risk_level(risk: Mapping[str, object]) -> str | None:
    return RISK_GRAPH.get("".join(str(risk.get(letter, "")) for letter in "SFP"))


def _scalars(node: Node | None) -> Iterator[Node]:
    for item in () if node is None else node.items if node.kind == "list" else (node,):
        if item.kind == "scalar":
            yield item


def _causes(
    node: Node | None, what: str, devices: Mapping[str, Read], lost: tuple[str, ...], problems: Problems
) -> Iterator[Event]:
    for item in _scalars(node):
        name, equals, position = item.text.partition("=")
        if not (name and equals and position):
            problems.add(item, f"{what}: {item.what()} is not an event", "DEVICE=POSITION, such as S2=open")
            continue
        read = _device(item, name, what, devices, lost, problems)
        if read is None:
            continue
        if position not in read.events:
            if read.sound:
                problems.unknown(item, f"{what}: {name} ({read.kind.name}) has no position `{position}`", position, read.events)
            continue
        yield Event(name, position)


def _musts(
    node: Node | None, what: str, devices: Mapping[str, Read], lost: tuple[str, ...], problems: Problems
) -> Iterator[tuple[str, str]]:
    for item in _scalars(node):
        words = item.text.split()
        if len(words) != 2 or words[1] not in MUST:
            message = f"{what}: {item.what()} does not say what must be"
            problems.add(item, message, "DEVICE stopped, or DEVICE off", nearest_word(words[-1] if words else "", MUST))
            continue
        read = _device(item, words[0], what, devices, lost, problems)
        if read is None:
            continue
        demand = "off" if read.kind.name in TURNING_LOADS else words[1]
        able = "stopped" if read.kind.name in MOTORS else "off" if _can_be_off(read) else ""
        if demand != able:
            expected = f"{words[0]} {able}" if able else "a motor that must be stopped, or a load or coil that must be off"
            problems.add(item, f"{what}: {words[0]} ({read.kind.name}) cannot be {words[1]}", expected)
            continue
        yield words[0], demand


def _can_be_off(read: Read) -> bool:
    """Whether a device takes current of its own: a load, or whatever has a coil."""
    inside = read.device.values.get("elements")
    own = isinstance(inside, tuple) and any("load" in element or "coil" in element for element in inside)
    return (
        read.kind.coil
        or "A1" in read.kind.terminals
        or ("terminals" in read.kind.parameters and read.kind.group == "load")
        or own
    )


def _device(
    node: Node, name: str, what: str, devices: Mapping[str, Read], lost: tuple[str, ...], problems: Problems
) -> Read | None:
    if name not in devices and name not in lost:
        everyone = [*devices, *lost]
        problems.unknown(node, f"{what}: there is no device {name}", name, everyone, listed=len(everyone) < 12)
    return devices.get(name)


def default_functions(devices: Mapping[str, Read]) -> tuple[Function, ...]:
    """Every emergency stop and every guard, each to stop every motor, with nothing required: for a plan that states none."""
    must = tuple((name, "stopped") for name, read in devices.items() if read.kind.name in MOTORS)
    causes = {"emergency-stop": "pressed", "guard-switch": "open"}
    return tuple(
        Function(f"{name} {read.kind.name}", (Event(name, causes[read.kind.name]),), must, read.device.spot, stated=False)
        for name, read in devices.items()
        if read.kind.name in causes and must
    )


def read_accepted(
    node: Node | None, devices: Mapping[str, Read], lost: tuple[str, ...], problems: Problems
) -> tuple[Accepted, ...]:
    """The findings that the owner accepts."""
    if node is None or node.is_empty:
        return ()
    if node.kind != "list":
        problems.add(
            node, f"accepted: {node.what()} stands here", "a list, each item such as {rule: ..., devices: [...], because: ...}"
        )
        return ()
    found = []
    keys: Mapping[str, Parameter | None] = sections()["accepted"]
    for item in node.items:
        given = ValueReader(problems).mapping(item, keys, "accepted")
        listed = next((value.items for key, value in item.pairs if key.text == "devices"), [])
        names = tuple(n.text for n in listed if n.kind == "scalar" and _device(n, n.text, "accepted", devices, lost, problems))
        found.append(
            Accepted(
                text(given, "rule"), names, problems.spot(item), text(given, "because"), text(given, "by"), text(given, "date")
            )
        )
    return tuple(found)
