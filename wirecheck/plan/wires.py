"""Reads places, cables and wires, and checks that they fit the devices: terminals, cables, cores, numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from wirecheck.kinds import Parameter
from wirecheck.nodes import Node
from wirecheck.plan.devices import Read
from wirecheck.plan.model import SCREENS, Cable, Place, Quantity, Terminal, Wire
from wirecheck.plan.problems import Problems
from wirecheck.plan.scalars import is_name
from wirecheck.plan.sections import sections
from wirecheck.plan.values import ValueReader

ALIKE = 0.9
"""Sizes of which the smaller is more than this much of the larger count as the same, as 0.75 mm2 and 18 AWG do."""


def named_items(node: Node | None, what: str, problems: Problems) -> Iterator[tuple[Node, Node]]:
    """The pairs of a mapping of names, each name checked."""
    if node is None or node.is_empty:
        return
    if node.kind != "mapping":
        problems.add(node, f"{what}: {node.what()} stands here", "a mapping, each key a name of your own")
        return
    for key, value in node.pairs:
        if is_name(key.text):
            yield key, value
        else:
            problems.add(key, f"{what}: `{key.text}` cannot be a name", "a word without blanks, colons, commas or brackets")


def read_places(node: Node | None, problems: Problems) -> dict[str, Place]:
    """The places of a plan."""
    reader, found = ValueReader(problems), {}
    for key, value in named_items(node, "places", problems):
        given = reader.mapping(value, sections()["place"], f"place {key.text}")
        swarf, coolant = given.get("swarf") is True, given.get("coolant") is True
        found[key.text] = Place(
            key.text, text(given, "title"), text(given, "ip"), swarf, coolant, base(given, "ambient"), problems.spot(key)
        )
    return found


def read_cables(node: Node | None, problems: Problems, awg: bool) -> dict[str, Cable]:
    """The cables of a plan."""
    reader, found = ValueReader(problems, awg), {}
    for key, value in named_items(node, "cables", problems):
        given = reader.mapping(value, sections()["cable"], f"cable {key.text}")
        cores, screened = given.get("cores"), given.get("screened")
        found[key.text] = Cable(
            key.text,
            problems.spot(key),
            cores if isinstance(cores, int) else None,
            base(given, "size"),
            written(given, "size"),
            base(given, "length"),
            screened if isinstance(screened, bool) else None,
            base(given, "voltage_rating"),
            text(given, "insulation") or None,
            text(given, "method") or None,
            text(given, "route") or None,
        )
    return found


def text(values: Mapping[str, object], key: str) -> str:
    """A text, empty where it is not stated."""
    return str(values.get(key, ""))


def base(values: Mapping[str, object], key: str) -> float | None:
    """A quantity in its base unit, None where it is not stated."""
    found = values.get(key)
    return found.value if isinstance(found, Quantity) else None


def written(values: Mapping[str, object], key: str) -> str:
    """A quantity as the user wrote it, empty where it is not stated."""
    found = values.get(key)
    return found.text if isinstance(found, Quantity) else ""


class Known(NamedTuple):
    """What a wire may refer to."""

    devices: Mapping[str, Read]
    lost: tuple[str, ...]
    cables: Mapping[str, Cable]


class WireReader:
    """Reads the runs one by one, and keeps what the checks over all of them need."""

    def __init__(self, known: Known, problems: Problems, awg: bool) -> None:
        self.known, self.problems = known, problems
        self.reader = ValueReader(problems, awg)
        self.wires: list[Wire] = []
        self.used: dict[str, list[str]] = {}
        self.cores: dict[str, dict[str, Node]] = {}
        self.in_cable: dict[str, list[Node]] = {}
        self.numbers: dict[str, list[tuple[Node, Terminal, str]]] = {}

    def read(self, node: Node) -> None:
        """All runs of the `wires` list."""
        if node.kind != "list":
            self.problems.add(
                node, f"wires: {node.what()} stands here", "a list, each item such as {number: 1, run: [S1:12, S2:11]}"
            )
            return
        for number, item in enumerate(node.items):
            self._run(item, number)
        self._count_cores()

    def _run(self, node: Node, number: int) -> None:
        keys: dict[str, Parameter | None] = {**sections()["wire"], "run": None}
        given = self.reader.mapping(node, keys, f"wire {_number(node)}".rstrip())
        if node.kind != "mapping":
            return
        what = f"wire {text(given, 'number')}".rstrip()
        nodes = {key.text: value for key, value in node.pairs}
        if "run" not in nodes:
            self.problems.add(node, f"{what} lacks `run`", sections()["wire"]["run"].help)
            return
        terminals = self._terminals(nodes["run"], what)
        if "number" in given and not _is_number(text(given, "number")):
            self.problems.add(
                nodes["number"], f"`{text(given, 'number')}` cannot be a wire number", "a number or short word without blanks"
            )
        self._cable(given, nodes, what)
        self._add(given, node, number, terminals)

    def _add(self, given: Mapping[str, object], node: Node, number: int, terminals: list[Terminal | None]) -> None:
        label, spot = text(given, "number"), self.problems.spot(node)
        cable = self.known.cables.get(text(given, "cable"))
        own, of_cable = base(given, "size"), cable.size_mm2 if cable else None
        # A core has the size of its cable where it states none itself, and the smaller of two that differ.
        core_of = cable if own is None or (of_cable is not None and of_cable < own * ALIKE) else None
        rest = (
            number,
            core_of.size_mm2 if core_of else own,
            core_of.size_text if core_of else written(given, "size"),
            text(given, "colour"),
            text(given, "cable") or None,
            text(given, "core") or None,
            written(given, "size") if own and of_cable and not ALIKE < own / of_cable < 1 / ALIKE else "",
        )
        for a, b in zip(terminals, terminals[1:], strict=False):
            if a is not None and b is not None:
                self.wires.append(Wire(len(self.wires), label, a, b, spot, *rest))
        first = next((t for t in terminals if t is not None), None)
        if label and first is not None:
            self.numbers.setdefault(label, []).append((node, first, text(given, "colour")))

    def _terminals(self, node: Node, what: str) -> list[Terminal | None]:
        """The terminals of a run; None for one that does not exist, so that the run breaks there."""
        if node.kind != "list":
            self.problems.add(node, f"{what}: run: {node.what()} stands here", "a list of terminals, such as [S1:12, S2:11]")
            return []
        if len(node.items) < 2:
            self.problems.add(
                node, f"{what} has {len(node.items) or 'no'} end{'' if len(node.items) == 1 else 's'}", "two terminals or more"
            )
        found = [self._terminal(item, what) for item in node.items]
        for a, b, item in zip(found, found[1:], node.items[1:], strict=False):
            if a is not None and a == b:
                self.problems.add(
                    item, f"{what}: the run passes {a} twice in a row", "the next terminal that the conductor goes to"
                )
        return found

    def _terminal(self, node: Node, what: str) -> Terminal | None:
        device, colon, mark = node.text.partition(":")
        if node.kind != "scalar" or not (device and colon and is_name(mark)):
            self.problems.add(
                node,
                f"{what}: {node.what()} is not a terminal",
                "DEVICE:MARK, such as S1:12 (in quotes where the mark is + or -)",
            )
            return None
        if device in self.known.lost:
            return None
        read = self.known.devices.get(device)
        if read is None:
            everyone = [*self.known.devices, *self.known.lost]
            self.problems.unknown(node, f"{what}: there is no device {device}", device, everyone, listed=len(everyone) < 12)
            return None
        if mark not in read.possible and not read.kind.any_terminal:
            if read.sound:
                marks = dict.fromkeys([*read.device.marks, *sorted(read.possible)])
                self.problems.unknown(node, f"{what}: {device} ({read.kind.name}) has no terminal {mark}", mark, marks)
            return None
        self.used.setdefault(device, []).append(mark)
        return Terminal(device, mark)

    def _cable(self, given: Mapping[str, object], nodes: Mapping[str, Node], what: str) -> None:
        name, core = text(given, "cable"), text(given, "core")
        if not name:
            if core:
                self.problems.add(nodes["core"], f"{what} names a core but no cable", "the cable as well, such as cable: W2")
            return
        if name not in self.known.cables:
            self.problems.unknown(nodes["cable"], f"{what}: there is no cable {name}", name, self.known.cables)
            return
        if (core or "").lower() not in SCREENS:
            self.in_cable.setdefault(name, []).append(nodes["cable"])
        if core:
            taken = self.cores.setdefault(name, {})
            if core in taken:
                self.problems.add(
                    nodes["core"],
                    f"{what}: core {core} of {name} already carries the wire in line {taken[core].line}",
                    "a core of its own",
                )
            taken.setdefault(core, nodes["core"])

    def _count_cores(self) -> None:
        for name, nodes in self.in_cable.items():
            cores = self.known.cables[name].cores
            if cores is not None and len(nodes) > cores:
                has = f"{name} has {cores} core{'s' if cores > 1 else ''}"
                message = f"{has}, and this is the {_ordinal(cores + 1)} conductor in it ({len(nodes)} in all)"
                self.problems.add(nodes[cores], message, "as many conductors as cores: a cable with more cores, or another cable")


def _number(node: Node) -> str:
    return next((value.text for key, value in node.pairs if key.text == "number"), "")


def _is_number(label: str) -> bool:
    return len(label) <= 32 and label.isprintable() and not any(c.isspace() or c in "[]" for c in label)


def _ordinal(n: int) -> str:
    ending = "th" if n % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending}"
