"""The JSON Schema of a plan, made from the kinds and the sections: it completes and explains keys in an editor.

`python -m wirecheck.plan.schema` prints it; `schemas/plan.schema.json` is that text. Reading a plan does not use it.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from typing import Any

from wirecheck.kinds import COLOURS, Kind, Parameter, load_kinds
from wirecheck.plan.contacts import LONG_FORM
from wirecheck.plan.sections import TOP_LEVEL, sections
from wirecheck.units import fitting, quantity_pattern

Schema = dict[str, Any]

NAME = "[^\\s:=,\\[\\]{}\"'`]+"
MARK = "[^\\s:=,\\[\\]{}\"'`-]+"
UNKNOWN = "unknown"
WIDEST_LINE = 160
_WORD = {"type": ["string", "number", "boolean"]}
_NAME = {"type": ["string", "number"], "pattern": f"^{NAME}$"}
_CODE = f"({'|'.join(COLOURS)})"
_PLAIN: Mapping[str, Schema] = {
    "boolean": {"type": "boolean"},
    "text": _WORD,
    "poles": {"type": ["string", "integer"], "pattern": "^[0-9]+(/[0-9]+)?$", "minimum": 2},
}
_PATTERNS = {
    "path": f"{MARK}-{MARK}",
    "colour": f"{_CODE}(/{_CODE})?",
    "terminal": f"[^\\s:]+:{NAME}",
    "event": "[^\\s=]+=[^\\s=]+",
    "demand": "\\s*\\S+\\s+(stopped|off)\\s*",
}


def plan_schema(kinds: Sequence[Kind] = ()) -> Schema:
    """The schema of a whole plan, of the packaged kinds or of those that are given."""
    kinds = kinds or load_kinds()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A plan of wirecheck, format version 1",
        **_object({key: _top(key) | {"description": text} for key, (_, text) in TOP_LEVEL.items()}),
        "required": [key for key, (needed, _) in TOP_LEVEL.items() if needed],
        "$defs": {
            **{section: _mapping(keys) for section, keys in sections().items()},
            "device": _device(kinds),
            "contact": _mapping(LONG_FORM),
            **{f"kind-{kind.called}": _kind(kind) for kind in kinds},
        },
    }


def _top(key: str) -> Schema:
    """What stands at a key of the top level."""
    items = {"places": "place", "cables": "cable", "functions": "function", "devices": "device"}
    if key == "wirecheck":
        return {"enum": [1, "1"]}
    if key == "machine":
        return {"$ref": "#/$defs/machine"}
    if key in items:
        named = {"propertyNames": {"pattern": f"^{NAME}$"}, "additionalProperties": {"$ref": f"#/$defs/{items[key]}"}}
        return {"type": "object" if key == "devices" else ["object", "null"], **named}
    item = {"$ref": "#/$defs/wire" if key == "wires" else "#/$defs/accepted"}
    return {"type": "array" if key == "wires" else ["array", "null"], "items": item}


def _object(properties: Mapping[str, Schema]) -> Schema:
    return {"type": "object", "properties": dict(properties), "additionalProperties": False}


def _mapping(keys: Mapping[str, Parameter]) -> Schema:
    needed = [name for name, parameter in keys.items() if parameter.needed]
    schema = _object({name: schema_of(parameter) for name, parameter in keys.items()})
    return schema | ({"required": needed} if needed else {})


def _device(kinds: Sequence[Kind]) -> Schema:
    """Any device: what its kind is decides which keys it may have."""
    names = [{"const": kind.called, "title": kind.title, "description": kind.about} for kind in kinds]
    return {
        "type": "object",
        "required": ["kind"],
        "properties": {"kind": {"description": "what the device is", "anyOf": names}},
        "allOf": [
            {
                "if": {"properties": {"kind": {"const": kind.called}}, "required": ["kind"]},
                "then": {"$ref": f"#/$defs/kind-{kind.called}"},
            }
            for kind in kinds
        ],
    }


def _kind(kind: Kind) -> Schema:
    """The keys of one kind."""
    keys = kind.keys
    properties = {name: schema_of(parameter) for name, parameter in keys.items() if parameter is not None}
    properties["kind"] = {"const": kind.called, "description": kind.about}
    if "contacts" in keys:
        properties["contacts"] = _contacts(kind)
    needed = ["kind", *(name for name, parameter in keys.items() if parameter is not None and parameter.needed)]
    if kind.poles is not None and kind.poles.needed:
        needed.append("poles")
    preset = {key.text for key, _ in kind.preset.pairs} if kind.preset is not None else set()
    needed = [name for name in needed if name not in preset]
    order = {name: properties[name] for name in keys}
    return {"title": kind.title, "description": kind.about, **_object(order), "required": needed}


def _contacts(kind: Kind) -> Schema:
    forms = list(kind.forms or {})
    forms += ["CO"] if {"NO", "NC"} <= set(forms) else []
    short = [{"enum": forms}] if forms else []
    return {
        "description": f"contacts by their marks, such as 13-14: {forms[0] if forms else '{closed_in: [...]}'}",
        "type": ["object", "string"],
        "pattern": f"^{UNKNOWN}$",
        "propertyNames": {"pattern": f"^{MARK}-{MARK}(-{MARK})?$"},
        "additionalProperties": {"anyOf": [*short, {"$ref": "#/$defs/contact"}]},
    }


def schema_of(parameter: Parameter) -> Schema:
    """The schema of one parameter, with its help; one that need not be stated may be `unknown`."""
    schema = _bare(parameter)
    if not parameter.needed:
        schema = _or_unknown(schema)
    worst = f" (where not stated, {parameter.worst} is assumed)" if parameter.worst else ""
    return ({"description": parameter.help + worst} if parameter.help else {}) | schema


def _or_unknown(schema: Schema) -> Schema:
    if "enum" in schema:
        return {**schema, "enum": [*schema["enum"], UNKNOWN]}
    return schema if schema == _WORD else {"anyOf": [schema, {"const": UNKNOWN}]}


def _bare(parameter: Parameter) -> Schema:
    kind = parameter.type
    if kind in ("list", "link"):
        return _list(parameter)
    if kind == "mapping":
        return _mapping(parameter.keys)
    if kind == "table":
        assert parameter.of is not None
        return {"type": "object", "propertyNames": {"pattern": f"^{NAME}$"}, "additionalProperties": _bare(parameter.of)}
    if kind == "either":
        return {"anyOf": [_bare(choice) for choice in parameter.choices]}
    return _scalar(parameter)


def _list(parameter: Parameter) -> Schema:
    items = _bare(parameter.of) if parameter.of is not None else _NAME
    low, high = (2, None) if parameter.type == "link" else (parameter.least, parameter.most)
    bounds = {key: int(bound) for key, bound in (("minItems", low), ("maxItems", high)) if bound is not None}
    return {"type": "array", "items": items, **bounds}


def _scalar(parameter: Parameter) -> Schema:
    kind = parameter.type
    if kind == "quantity":
        pattern = quantity_pattern(parameter.units, parameter.current, awg="mm2" in parameter.units)
        return {"type": "string", "pattern": f"^({pattern})$", "title": fitting(parameter.units, parameter.current)}
    if kind == "word":
        return {"enum": [form for word in parameter.words for form in ([int(word), word] if word.isdigit() else [word])]}
    if kind in ("integer", "number"):
        bounds = {key: bound for key, bound in (("minimum", parameter.least), ("maximum", parameter.most)) if bound is not None}
        return {"type": kind, **bounds}
    return {"type": "string", "pattern": f"^({_PATTERNS[kind]})$"} if kind in _PATTERNS else _PLAIN.get(kind, _NAME)


def schema_text(kinds: Sequence[Kind] = ()) -> str:
    """The schema as it stands in its file, or that of plans with other kinds."""
    return lines(plan_schema(kinds)) + "\n"


def lines(value: object, indent: str = "") -> str:
    """JSON with whatever is short enough on one line, so that a change of one parameter is a change of one line."""
    line = json.dumps(value, ensure_ascii=False)
    inner = indent + "  "
    if len(indent + line) <= WIDEST_LINE or not isinstance(value, dict | list) or not value:
        return line
    if isinstance(value, list):
        return "[\n" + ",\n".join(inner + lines(item, inner) for item in value) + f"\n{indent}]"
    pairs = (f"{inner}{json.dumps(key, ensure_ascii=False)}: {lines(item, inner)}" for key, item in value.items())
    return "{\n" + ",\n".join(pairs) + f"\n{indent}}}"


if __name__ == "__main__":
    sys.stdout.write(schema_text())
