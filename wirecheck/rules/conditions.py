"""Holds the conditions of a claim against what its claim kind allows, and tells each misfit at its line and column.

A claim kind states its conditions as a JSON Schema, of which this reads the few keywords that conditions need: `type`, `enum`,
`const`, `required`, `properties`, `additionalProperties`, `anyOf`, `items`, `minItems`, `minimum` and `description`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from wirecheck.errors import nearest_word
from wirecheck.nodes import Node
from wirecheck.rules.loader import Faults, condition

Schema = Mapping[str, Any]

KEYWORDS = frozenset(
    ("type", "enum", "const", "required", "properties", "additionalProperties", "anyOf", "items", "minItems", "minimum")
) | {"description"}
SHAPES = {"object": "mapping", "array": "list"}
IN_WORDS = {
    "object": "a mapping, written {key: value, ...}",
    "array": "a list, written [one, another]",
    "string": "a word",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
}
PYTHON: Mapping[str, tuple[type, ...]] = {"string": (str,), "integer": (int,), "number": (int, float), "boolean": (bool,)}


def check_conditions(faults: Faults, claim: Node, schema: Schema, kind: str) -> None:
    """Note all that is wrong with the conditions of a claim; `kind` is its claim kind."""
    stated = [(key, value) for key, value in claim.pairs if key.text != "kind"]
    node = Node("mapping", claim.line, claim.column, pairs=stated)
    _check(faults, node, {"type": "object", "additionalProperties": False, **schema}, f"a claim of kind {kind}")


def _check(faults: Faults, node: Node, schema: Schema, what: str) -> None:
    if not _has_type(node, schema):
        faults.add(node, f"{what}: {node.what()} stands here", describe(schema))
    elif "enum" in schema or "const" in schema:
        _one_of(faults, node, schema.get("enum", [schema.get("const")]), what)
    elif node.kind == "mapping":
        _mapping(faults, node, schema, what)
    elif node.kind == "list":
        _list(faults, node, schema, what)
    elif "minimum" in schema and _less(node, schema["minimum"]):
        faults.add(node, f"{what}: {node.what()} is too small", f"{schema['minimum']} or more")
    if "anyOf" in schema:
        _any_of(faults, node, schema["anyOf"], what)


def _has_type(node: Node, schema: Schema) -> bool:
    types = schema.get("type", [])
    types = [types] if isinstance(types, str) else types
    if node.is_empty:
        return False
    return not types or any(_is(node, name) for name in types)


def _is(node: Node, name: str) -> bool:
    if name in SHAPES or node.kind != "scalar":
        return SHAPES.get(name) == node.kind
    value = condition(node)
    return isinstance(value, PYTHON[name]) and isinstance(value, bool) == (name == "boolean")


def _less(node: Node, least: float) -> bool:
    value = condition(node)
    return isinstance(value, int | float) and value < least


def _one_of(faults: Faults, node: Node, allowed: Sequence[object], what: str) -> None:
    if condition(node) not in allowed:
        words = [str(word).lower() if isinstance(word, bool) else str(word) for word in allowed]
        expected = f"one of {', '.join(words)}" if len(words) > 1 else words[0]
        faults.add(node, f"{what}: {node.what()} is not known here", expected, nearest_word(node.text, words))


def _mapping(faults: Faults, node: Node, schema: Schema, what: str) -> None:
    known = schema.get("properties", {})
    others = schema.get("additionalProperties", True)
    for key, value in node.pairs:
        if key.text in known:
            _check(faults, value, known[key.text], key.text)
        elif isinstance(others, Mapping):
            _check(faults, value, others, key.text)
        elif not others:
            listed = f"one of {', '.join(known)}" if known else "nothing: it has no conditions"
            faults.add(key, f"{what} has no condition `{key.text}`", listed, nearest_word(key.text, known))
    stated = {key.text for key, _ in node.pairs}
    for name in schema.get("required", ()):
        if name not in stated:
            faults.add(node, f"{what} lacks `{name}`", describe(known.get(name, {})))


def _list(faults: Faults, node: Node, schema: Schema, what: str) -> None:
    if len(node.items) < schema.get("minItems", 0):
        faults.add(node, f"{what}: the list is too short", f"{schema['minItems']} or more of them")
    for item in node.items:
        _check(faults, item, schema.get("items", {}), what)


def _any_of(faults: Faults, node: Node, choices: Sequence[Schema], what: str) -> None:
    """One of several forms: those that differ by their type, or by the key that is needed."""
    needed = [choice["required"] for choice in choices if set(choice) == {"required"}]
    if needed:
        stated = {key.text for key, _ in node.pairs}
        if not any(stated >= set(keys) for keys in needed):
            faults.add(node, f"{what} lacks a condition", f"one of {', '.join(' with '.join(keys) for keys in needed)}")
        return
    fitting = next((choice for choice in choices if _has_type(node, choice)), None)
    if fitting is None:
        faults.add(node, f"{what}: {node.what()} stands here", describe({"anyOf": choices}))
    else:
        _check(faults, node, fitting, what)


def describe(schema: Schema) -> str:
    """What may stand at a condition, in words."""
    if "enum" in schema:
        return f"one of {', '.join(map(str, schema['enum']))}"
    if "const" in schema:
        return str(schema["const"]).lower()
    if "type" in schema:
        types = schema["type"]
        return ", or ".join(IN_WORDS[name] for name in ([types] if isinstance(types, str) else types))
    return ", or ".join(dict.fromkeys(describe(choice) for choice in schema.get("anyOf", ()) if set(choice) != {"required"}))
