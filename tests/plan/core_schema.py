"""A plan's text as an editor sees it: plain data by the core schema of YAML 1.2, which knows numbers and booleans."""

from __future__ import annotations

import re
from typing import Any

from wirecheck.nodes import Node, compose

FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")


def core_data(text: str) -> Any:
    """The data of a text (YAML 1.2.2, 10.3.2)."""
    return _of(compose(text, "text"))


def _of(node: Node) -> Any:
    if node.kind == "list":
        return [_of(item) for item in node.items]
    if node.kind == "mapping":
        return {key.text: _of(value) for key, value in node.pairs}
    return _word(node.text) if node.plain else node.text


def _word(text: str) -> Any:
    if text in ("", "~", "null", "Null", "NULL"):
        return None
    if text in ("true", "True", "TRUE", "false", "False", "FALSE"):
        return text.lower() == "true"
    if re.fullmatch("[-+]?[0-9]+", text):
        return int(text)
    return float(text) if FLOAT.fullmatch(text) else text
