"""A piece of a YAML text with its place, and what it comes to as plain data."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

_WHOLE = re.compile("0|-?[1-9][0-9]{0,15}")
_PLAIN = {"true": True, "false": False, "": None, "~": None, "null": None}


@dataclass(slots=True)
class Node:
    """A scalar (`text`), a list (`items`) or a mapping (`pairs`), with the line and column (from 1) where it begins.

    `plain` is True for a scalar without quotes: only such a one can be a number, a boolean or nothing.
    """

    kind: str
    line: int
    column: int
    text: str = ""
    plain: bool = False
    items: Sequence[Node] = ()
    pairs: Sequence[tuple[Node, Node]] = ()
    size: int = 1

    @property
    def is_empty(self) -> bool:
        """Whether nothing stands here: `key:` alone, `~` or `null`."""
        return self.plain and self.text in ("", "~", "null")

    @property
    def is_boolean(self) -> bool:
        """Whether this is one of the two words that are booleans."""
        return self.plain and self.text in ("true", "false")

    def what(self) -> str:
        """What stands here, for a message."""
        if self.kind != "scalar":
            return f"a {self.kind}"
        return "nothing" if self.is_empty else f"`{self.text[:60]}`"


def plain_data(node: Node) -> Any:
    """A node as plain lists, dictionaries and texts; `true` and `false` as booleans and whole numbers as such."""
    if node.kind == "list":
        return [plain_data(item) for item in node.items]
    if node.kind == "mapping":
        return {key.text: plain_data(value) for key, value in node.pairs}
    if not node.plain:
        return node.text
    if node.text in _PLAIN:
        return _PLAIN[node.text]
    return int(node.text) if _WHOLE.fullmatch(node.text) else node.text
