"""From a plan's text to a Plan, or to the list of everything that is wrong with it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from wirecheck.errors import PlanError, PlanErrors
from wirecheck.kinds import Kinds
from wirecheck.nodes import Node, compose
from wirecheck.plan.assumptions import assumptions, functions_assumed, not_asked_to_stop
from wirecheck.plan.devices import Read, read_devices
from wirecheck.plan.functions import default_functions, read_accepted, read_functions
from wirecheck.plan.model import Device, Machine, Place, Plan
from wirecheck.plan.potentials import always_joined, check_numbers
from wirecheck.plan.problems import Problems
from wirecheck.plan.sections import TOP_LEVEL, sections
from wirecheck.plan.values import ValueReader
from wirecheck.plan.wires import Known, WireReader, read_cables, read_places, text

MOST_BYTES = 4_000_000
"""A larger file is no plan: about 40 000 wires."""


def read_plan(source: str | Path, text: str | None = None, kinds: Kinds | None = None) -> Plan:
    """Read a plan from a file, or from `text` with `source` as its name; `kinds` where the house has device kinds of its own.

    Raises
    ------
    PlanErrors
        The file cannot be read, or something in it is wrong; all errors of the file at once.
    """
    if text is not None:
        return read_plan_text(text, str(source), kinds)
    path = Path(source)
    return read_plan_text(decode_plan(read_bytes(path), str(source)), str(source), kinds)


def read_bytes(path: Path) -> bytes:
    """The bytes of a file that is not too large to be a plan; PlanErrors where it cannot be read."""
    try:
        if path.is_dir():
            raise _no_plan(str(path), "this is a folder", "a plan, which is a text file")
        if path.stat().st_size > MOST_BYTES:
            raise _too_large(str(path), path.stat().st_size)
        return path.read_bytes()
    except FileNotFoundError:
        raise _no_plan(str(path), "there is no such file", "a plan") from None
    except (OSError, ValueError) as bad:
        reason = getattr(bad, "strerror", None) or str(bad)
        raise _no_plan(str(path), f"the file cannot be read: {reason}", "a file that you may read") from None


def decode_plan(data: bytes, name: str) -> str:
    """The text in the bytes of a plan; PlanErrors where they are no UTF-8 text."""
    if len(data) > MOST_BYTES:
        raise _too_large(name, len(data))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as bad:
        if b"\0" in data[:4096]:
            raise _no_plan(name, "this is not a text file", "a plan, saved as UTF-8 text") from None
        line = data[: bad.start].count(b"\n") + 1
        column = len(data[data.rfind(b"\n", 0, bad.start) + 1 : bad.start].decode("utf-8", "replace")) + 1
        message = f"the text is not UTF-8 (byte 0x{data[bad.start]:02x})"
        raise PlanErrors([PlanError(name, line, column, message, "the file saved as UTF-8")]) from None


def _too_large(name: str, size: int) -> PlanErrors:
    return _no_plan(name, f"the file has {size / 1e6:.1f} MB", f"a plan, of at most {MOST_BYTES // 1_000_000} MB")


def _no_plan(name: str, message: str, expected: str) -> PlanErrors:
    return PlanErrors([PlanError(name, 1, 1, message, expected)])


def read_plan_text(text: str, name: str, kinds: Kinds | None = None) -> Plan:
    """Read a plan from its text; `name` is what errors and findings call the file."""
    if len(text) > MOST_BYTES:
        raise _too_large(name, len(text))
    text = text.removeprefix("\ufeff")
    root = compose(text, name)
    problems = Problems(name, tuple(text.splitlines()))
    parts = _top_level(root, problems)
    plan = _assemble(parts, problems, kinds or Kinds())
    problems.raise_if_any()
    return plan


def _top_level(root: Node, problems: Problems) -> dict[str, Node]:
    """The sections of a plan by their key. A text that is no plan of this version is told so, and nothing else."""
    if root.kind != "mapping":
        problems.add(root, f"{root.what()} stands here instead of a plan", "a mapping that begins with `wirecheck: 1`")
        problems.raise_if_any()
    parts = {key.text: value for key, value in root.pairs}
    version = parts.get("wirecheck")
    if version is None:
        problems.add(root, "this is no plan: the key `wirecheck` is missing", "`wirecheck: 1`, the version of the plan format")
        problems.raise_if_any()
    elif version.text != "1" or version.kind != "scalar":
        problems.add(version, f"{version.what()} is no version of the plan format that is known", "wirecheck: 1")
        problems.raise_if_any()
    for key, _ in root.pairs:
        if key.text not in TOP_LEVEL:
            problems.unknown(key, f"a plan has no key `{key.text}`", key.text, TOP_LEVEL)
    for key_text, (needed, help_text) in TOP_LEVEL.items():
        if needed and key_text not in parts:
            problems.add(root, f"the plan lacks `{key_text}`", help_text)
    return parts


def _assemble(parts: dict[str, Node], problems: Problems, kinds: Kinds) -> Plan:
    nothing = Node("mapping", 1, 1)
    machine = _machine(parts.get("machine"), problems)
    awg = machine.region == "NA"
    places = read_places(parts.get("places"), problems)
    devices, lost = read_devices(parts.get("devices", nothing), problems, kinds)
    _check_references(devices, lost, places, problems)
    cables = read_cables(parts.get("cables"), problems, awg)
    wires = WireReader(Known(devices, lost, cables), problems, awg)
    wires.read(parts.get("wires", Node("list", 1, 1)))
    complete = {name: _with_marks(read, wires.used.get(name, [])) for name, read in devices.items()}
    if not problems.found:  # numbers of runs that could not be read would only mislead
        check_numbers(wires.numbers, always_joined(complete.values(), wires.wires), problems)
    functions = read_functions(parts.get("functions"), devices, lost, problems)
    assumed = assumptions(devices, wires.wires)
    if functions:
        assumed = (*assumed, *not_asked_to_stop(devices, functions))
    else:
        functions, assumed = default_functions(devices), (*assumed, functions_assumed(devices))
    accepted = read_accepted(parts.get("accepted"), devices, lost, problems)
    return Plan(
        problems.file, machine, complete, tuple(wires.wires), cables, places, functions, accepted, assumed, problems.lines
    )


def _machine(node: Node | None, problems: Problems) -> Machine:
    if node is None:
        node = Node("mapping", 1, 1)
        return Machine("", "IEC", problems.spot(node))
    reader = ValueReader(problems)
    values = reader.mapping(node, sections()["machine"], "machine")
    name, region = text(values, "name"), text(values, "region") or "IEC"
    rest = {key: value for key, value in values.items() if key not in ("name", "region")}
    return Machine(name, region, problems.spot(node), rest, reader.lines)


def _check_references(devices: dict[str, Read], lost: tuple[str, ...], places: dict[str, Place], problems: Problems) -> None:
    """What one device says of a place, of another device, or of its own positions."""
    for read in devices.values():
        nodes = {key.text: value for key, value in read.node.pairs}
        name, values = read.device.name, read.device.values
        if read.device.place is not None and read.device.place not in places:
            problems.unknown(nodes["place"], f"{name}: there is no place {read.device.place}", read.device.place, places)
        other = values.get("mechanical_interlock")
        if isinstance(other, str) and other not in lost:
            _check_interlock(name, other, devices, nodes["mechanical_interlock"], problems)
        if isinstance(values.get("run_positions"), tuple):
            for item in nodes["run_positions"].items:
                if item.text not in read.device.positions:
                    problems.unknown(item, f"{name} has no position `{item.text}`", item.text, read.device.positions)


def _check_interlock(name: str, other: str, devices: dict[str, Read], node: Node, problems: Problems) -> None:
    able = [n for n, read in devices.items() if n != name and "mechanical_interlock" in read.kind.parameters]
    if other not in devices:
        problems.unknown(node, f"{name}: there is no device {other}", other, able)
    elif other not in able:
        problems.unknown(node, f"{name}: a mechanical interlock with {other} is not possible", other, able)


def _with_marks(read: Read, used: list[str]) -> Device:
    """The device with the marks that wires use beside those that it always has."""
    more = [mark for mark in dict.fromkeys(used) if mark not in read.device.marks]
    if not more:
        return read.device
    late = read.kind.late_terminals
    marks = [mark for mark in read.device.marks if mark not in late]
    return replace(read.device, marks=(*marks, *more, *(m for m in read.device.marks if m in late)))
