"""Reads one value of a plan as its parameter says: quantities with their unit, known words, lists and mappings."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Final

from wirecheck.findings import Spot
from wirecheck.kinds import COLOURS, Parameter
from wirecheck.nodes import Node
from wirecheck.plan.model import Quantity
from wirecheck.plan.problems import Problems
from wirecheck.units import UnitError, fitting, read_quantity

LONGEST_NAME = 64
_WHOLE = re.compile("0|[1-9][0-9]{0,8}")
_DECIMAL = re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?")
_NAME = re.compile(r"[^\s:=,\[\]{}\"'`]+")


class _NotStated:
    """What is read where a value is `unknown`, or wrong (which is noted): nothing that anybody may use."""

    def __repr__(self) -> str:
        return "NOT_STATED"


NOT_STATED: Final = _NotStated()


def is_name(text: str) -> bool:
    """Whether a text can name a device, a mark or a position."""
    return len(text) <= LONGEST_NAME and text.isprintable() and _NAME.fullmatch(text) is not None


def split_path(text: str) -> tuple[str, ...]:
    """The marks in a contact's name: `11-12`, `21-22-24`; empty where it is not such a name."""
    marks = tuple(text.split("-"))
    return marks if len(marks) > 1 and all(map(is_name, marks)) else ()


class ValueReader:
    """Reads values and notes what is wrong with them.

    `awg` says whether wire gauges are read; `lines` collects the place of every value by its dotted path.
    """

    def __init__(self, problems: Problems, awg: bool = False) -> None:
        self.problems, self.awg = problems, awg
        self.lines: dict[str, Spot] = {}

    def mapping(self, node: Node, keys: Mapping[str, Parameter | None], what: str, path: str = "") -> dict[str, object]:
        """A mapping with known keys. Keys whose parameter is None are left to the caller; what is not stated is left out."""
        found: dict[str, object] = {}
        if not self.is_mapping(node, what):
            return found
        for key, value in node.pairs:
            if key.text not in keys:
                self.problems.unknown(key, f"{what} has no key `{key.text}`", key.text, keys)
                continue
            parameter = keys[key.text]
            here = f"{path}{key.text}"
            self.lines[here] = self.problems.spot(value)
            if parameter is not None:
                read = self.value(value, parameter, f"{what}: {key.text}", here)
                if read is not NOT_STATED:
                    found[key.text] = read
        self._needed(node, keys, what)
        return found

    def is_mapping(self, node: Node, what: str) -> bool:
        """Whether a node is a mapping; noted where it is not."""
        if node.kind != "mapping":
            self.problems.add(node, f"{what}: {node.what()} stands here", "a mapping, written {key: value, ...} or one key a line")
        return node.kind == "mapping"

    def _needed(self, node: Node, keys: Mapping[str, Parameter | None], what: str) -> None:
        stated = {key.text for key, value in node.pairs}
        for name, parameter in keys.items():
            if parameter is not None and parameter.needed and name not in stated:
                self.problems.add(node, f"{what} lacks `{name}`", parameter.help or parameter.describe())

    def value(self, node: Node, parameter: Parameter, what: str, path: str = "") -> object:
        """The value that a node holds, or NOT_STATED where it is unknown or wrong."""
        if node.kind == "scalar" and node.text == "unknown":
            if parameter.needed:
                self.problems.add(node, f"{what} cannot be unknown", parameter.help or parameter.describe())
            return NOT_STATED
        if parameter.type == "either":
            return self._either(node, parameter, what, path)
        if node.kind != parameter.shape or node.is_empty:
            stands = "nothing stands here" if node.is_empty else f"{node.what()} stands here"
            hint = ", or `unknown`" if node.is_empty and not parameter.needed else ""
            self.problems.add(node, f"{what}: {stands}", self._expected(parameter) + hint)
            return NOT_STATED
        return _READERS[parameter.type](self, node, parameter, what, path)

    def _either(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        for choice in parameter.choices:
            if choice.shape == node.kind and not node.is_empty:
                return self.value(node, choice, what, path)
        self.problems.add(node, f"{what}: {node.what()} stands here", " or ".join(self._expected(c) for c in parameter.choices))
        return NOT_STATED

    @staticmethod
    def _expected(parameter: Parameter) -> str:
        return fitting(parameter.units, parameter.current) if parameter.type == "quantity" else parameter.describe()

    def _quantity(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        try:
            read = read_quantity(node.text, parameter.units, parameter.current, self.awg)
        except UnitError as bad:
            self.problems.add(node, f"{what}: {bad}", bad.expected)
            return NOT_STATED
        if read.value == 0 and not parameter.zero:
            self.problems.add(node, f"{what}: `{node.text}` must be more than nothing", self._expected(parameter))
            return NOT_STATED
        return Quantity(read.value, read.unit, node.text, read.high, read.current)

    def _wrong(self, node: Node, parameter: Parameter, what: str) -> object:
        self.problems.add(node, f"{what}: `{node.text}` stands here", parameter.describe())
        return NOT_STATED

    def _word(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        if node.text in parameter.words:
            return node.text
        self.problems.unknown(node, f"{what}: `{node.text}` is not known", node.text, parameter.words)
        return NOT_STATED

    def _boolean(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        return node.text == "true" if node.is_boolean else self._wrong(node, parameter, what)

    def _number(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        pattern, make = (_WHOLE, int) if parameter.type == "integer" else (_DECIMAL, float)
        if not node.plain or not pattern.fullmatch(node.text):
            return self._wrong(node, parameter, what)
        number: float = make(node.text)
        low, high = parameter.least, parameter.most
        if (low is not None and number < low) or (high is not None and number > high):
            return self._wrong(node, parameter, what)
        return number

    def _poles(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        counts = node.text.split("/")
        if len(counts) > 2 or not all(_WHOLE.fullmatch(n) and int(n) in range(2, 200, 2) for n in counts):
            return self._wrong(node, parameter, what)
        return node.text if len(counts) == 2 else int(node.text)

    def _text(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        return node.text

    def _colour(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        parts = node.text.split("/")
        wrong = [part for part in parts if part not in COLOURS]
        if not wrong and len(parts) < 3:
            return node.text
        self.problems.unknown(node, f"{what}: `{node.text}` is not a colour code", wrong[0] if wrong else node.text, COLOURS)
        return NOT_STATED

    def _name(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        return node.text if is_name(node.text) else self._wrong(node, parameter, what)

    def _path(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        return node.text if len(split_path(node.text)) == 2 else self._wrong(node, parameter, what)

    def _link(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        marks = self._items(node, Parameter("mark"), what, path)
        if len(node.items) < 2:
            self.problems.add(node, f"{what}: a link joins {len(node.items)} terminals", parameter.describe())
            return NOT_STATED
        return tuple(marks)

    def _list(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        assert parameter.of is not None
        items = self._items(node, parameter.of, what, path)
        low, high = parameter.least, parameter.most
        if (low is not None and len(node.items) < low) or (high is not None and len(node.items) > high):
            wanted = f"{low or 0:g}" if low == high else f"{low or 0:g} or more" if high is None else f"{low or 0:g} to {high:g}"
            self.problems.add(node, f"{what}: {len(node.items)} items stand here", f"{wanted} items; {parameter.help}".rstrip("; "))
            return NOT_STATED
        return tuple(items)

    def _items(self, node: Node, of: Parameter, what: str, path: str) -> list[object]:
        for item in node.items:
            if item.text == "unknown":
                self.problems.add(item, f"{what}: `unknown` stands in a list", "leave the whole key out, or write `unknown` for all of it")
        read = [self.value(item, of, what, f"{path}.{n}") for n, item in enumerate(node.items)]
        return [item for item in read if item is not NOT_STATED]

    def _mapping(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        return self.mapping(node, parameter.keys, what, f"{path}.")

    def _table(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        assert parameter.of is not None
        found: dict[str, object] = {}
        for key, value in node.pairs:
            if not is_name(key.text):
                self.problems.add(key, f"{what}: `{key.text}` cannot name a terminal", "a word without blanks, colons or brackets")
                continue
            here = f"{path}.{key.text}"
            self.lines[here] = self.problems.spot(value)
            read = self.value(value, parameter.of, f"{what}: {key.text}", here)
            if read is not NOT_STATED:
                found[key.text] = read
        return found


_READERS: dict[str, Callable[[ValueReader, Node, Parameter, str, str], object]] = {
    "quantity": ValueReader._quantity,
    "word": ValueReader._word,
    "boolean": ValueReader._boolean,
    "integer": ValueReader._number,
    "number": ValueReader._number,
    "poles": ValueReader._poles,
    "text": ValueReader._text,
    "colour": ValueReader._colour,
    "mark": ValueReader._name,
    "position": ValueReader._name,
    "device": ValueReader._name,
    "path": ValueReader._path,
    "link": ValueReader._link,
    "list": ValueReader._list,
    "mapping": ValueReader._mapping,
    "table": ValueReader._table,
}
