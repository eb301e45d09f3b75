"""Reads the values of a plan as their parameters say, down through lists and mappings, and notes whatever does not fit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from wirecheck.findings import Spot
from wirecheck.kinds import Parameter
from wirecheck.nodes import Node
from wirecheck.plan.problems import Problems
from wirecheck.plan.scalars import Misfit, expected_of, is_name, read_scalar


class _NotStated:
    """What is read where a value is `unknown`, or wrong (which is noted): nothing that anybody may use."""

    def __repr__(self) -> str:
        return "NOT_STATED"


NOT_STATED: Final = _NotStated()
_MARK = Parameter("mark")


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
                self._unknown_key(key, keys, what)
                continue
            parameter = keys[key.text]
            here = f"{path}{key.text}"
            self.lines[here] = self.problems.spot(value)
            if parameter is not None:
                read = self.value(value, parameter, f"{what}: {key.text}", here)
                if read is not NOT_STATED:
                    found[key.text] = read
        stated = {key.text for key, _ in node.pairs}
        for name, parameter in keys.items():
            if parameter is not None and parameter.needed and name not in stated:
                self.problems.add(node, f"{what} lacks `{name}`", parameter.help or parameter.describe())
        return found

    def _unknown_key(self, key: Node, keys: Mapping[str, Parameter | None], what: str) -> None:
        if key.text == "<<":
            self.problems.add(key, f"{what}: `<<` does not merge here", "the keys themselves: YAML 1.2 has no merging")
        elif ":" in key.text and key.text.partition(":")[0] in keys:
            self.problems.add(
                key, f"{what} has no key `{key.text}`", f"a blank after the colon: `{key.text.replace(':', ': ', 1)}`"
            )
        else:
            self.problems.unknown(key, f"{what} has no key `{key.text}`", key.text, keys)

    def is_mapping(self, node: Node, what: str) -> bool:
        """Whether a node is a mapping; noted where it is not."""
        if node.kind != "mapping":
            self.problems.add(
                node, f"{what}: {node.what()} stands here", "a mapping, written {key: value, ...} or one key a line"
            )
        return node.kind == "mapping"

    def value(self, node: Node, parameter: Parameter, what: str, path: str = "") -> object:
        """The value that a node holds, or NOT_STATED where it is unknown or wrong."""
        if node.kind == "scalar" and node.text == "unknown":
            if parameter.needed:
                self.problems.add(node, f"{what} cannot be unknown", parameter.help or parameter.describe())
            return NOT_STATED
        fitting = [p for p in parameter.choices or (parameter,) if p.shape == node.kind]
        if not fitting or node.is_empty:
            hint = ", or `unknown`" if node.is_empty and not parameter.needed else ""
            stands = node.what() if not node.is_empty else "nothing"
            self.problems.add(node, f"{what}: {stands} stands here", expected_of(parameter) + hint)
            return NOT_STATED
        return self._read(node, fitting[0], what, path)

    def _read(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        """The value of a node that has the right shape."""
        if parameter.type == "mapping":
            return self.mapping(node, parameter.keys, what, f"{path}.")
        if parameter.type == "table":
            return dict(self._table(node, parameter, what, path))
        if parameter.type in ("list", "link"):
            return self._list(node, parameter, what, path)
        try:
            return read_scalar(node, parameter, self.awg)
        except Misfit as bad:
            self.problems.add(node, f"{what}: {bad.message}", bad.expected, bad.nearest)
            return NOT_STATED

    def _list(self, node: Node, parameter: Parameter, what: str, path: str) -> object:
        items = tuple(self._items(node, parameter.of or _MARK, what, path))
        low, high = (2.0, None) if parameter.type == "link" else (parameter.least, parameter.most)
        count = len(node.items)
        if (low is None or count >= low) and (high is None or count <= high):
            return items
        wanted = f"{low or 0:g}" if low == high else f"{low or 0:g} or more" if high is None else f"{low or 0:g} to {high:g}"
        stands = f"{count} item{'s stand' if count != 1 else ' stands'} here"
        self.problems.add(node, f"{what}: {stands}", f"{wanted} items" + (f": {parameter.help}" if parameter.help else ""))
        return NOT_STATED

    def _items(self, node: Node, of: Parameter, what: str, path: str) -> Iterator[object]:
        for number, item in enumerate(node.items):
            if item.text == "unknown":
                self.problems.add(
                    item, f"{what}: `unknown` stands in a list", "leave the whole key out, or write `unknown` for all of it"
                )
                continue
            read = self.value(item, of, what, f"{path}.{number}")
            if read is not NOT_STATED:
                yield read

    def _table(self, node: Node, parameter: Parameter, what: str, path: str) -> Iterator[tuple[str, object]]:
        assert parameter.of is not None
        for key, value in node.pairs:
            if not is_name(key.text):
                self.problems.add(
                    key, f"{what}: `{key.text}` cannot name a terminal", "a word without blanks, colons or brackets"
                )
                continue
            here = f"{path}.{key.text}"
            self.lines[here] = self.problems.spot(value)
            read = self.value(value, parameter.of, f"{what}: {key.text}", here)
            if read is not NOT_STATED:
                yield key.text, read
