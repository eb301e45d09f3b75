"""The JSON Schema of a rule file, made from the claim kinds: an editor completes and explains a claim's conditions by it.

`python -m wirecheck.rules.schema` prints it; `schemas/rule.schema.json` is that text. Reading a rule does not use it.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import Any

from wirecheck.findings import SEVERITIES
from wirecheck.plan.schema import lines
from wirecheck.rules.house import REPLACES, TIGHTENS
from wirecheck.rules.loader import COMMON_PRACTICE, NEEDED, REGIONS
from wirecheck.rules.registry import about, claim_kinds, conditions_of

Schema = dict[str, Any]

NAME = "^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
WORDS: Schema = {"type": "string", "minLength": 1}
VERSION = "^[0-9]+\\.[0-9]+(\\.[0-9]+)?$"


def rule_schema() -> Schema:
    """The schema of a rule: one of wirecheck, one of the house's own, or one that tightens another."""
    whole = [key for key in NEEDED if key != "since"]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A rule of wirecheck or of a house: one file NAME.yaml",
        "type": "object",
        "properties": _properties(),
        "additionalProperties": False,
        "if": {"required": [TIGHTENS]},
        "then": {"required": ["name", TIGHTENS], "not": {"required": [REPLACES]}},
        "else": {"required": whole, "properties": {"claim": {"required": ["kind"]}}},
        "$defs": {
            "claim": _claim(),
            **{f"claim-{kind}": _conditions(kind) for kind in claim_kinds()},
            "source": _source(),
            "example": _example(),
        },
    }


def _properties() -> dict[str, Schema]:
    return {
        "name": {"description": "The file's name without its ending, in plain words.", "type": "string", "pattern": NAME},
        TIGHTENS: {
            "description": "A rule of wirecheck in whose place this one stands; what this one does not state is taken from it.",
            "type": "string",
            "pattern": NAME,
        },
        REPLACES: {
            "description": "A rule of wirecheck that is not judged because this one stands in its place.",
            "type": "string",
            "pattern": NAME,
        },
        "title": {"description": "The claim in plain words: what holds where nothing is wrong.", **WORDS},
        "severity": {
            "description": "danger: can hurt somebody. damage: can destroy equipment or start a fire. malfunction: will not do "
            "what it is for. advice: good practice.",
            "enum": list(reversed(SEVERITIES)),
        },
        "claim": {"description": "A claim kind and its conditions.", "$ref": "#/$defs/claim"},
        "message": {
            "description": "What a finding says, the consequence first, where the claim kind does not word it. May use {words}.",
            **WORDS,
        },
        "why": {"description": "Why it matters. May use {words} of the finding.", **WORDS},
        "remedy": {"description": "What to do about it. May use {words} of the finding.", **WORDS},
        "sources": {"type": "array", "minItems": 1, "items": {"$ref": "#/$defs/source"}},
        "since": {
            "description": "The version of wirecheck that first had the rule.",
            "type": ["string", "number"],
            "pattern": VERSION,
        },
        "told_by": {
            "description": "Rules of which a finding with the same events on the same devices says all that one of this rule "
            "would say: only theirs is told then.",
            "type": "array",
            "minItems": 1,
            "items": {"type": "string", "pattern": NAME},
        },
        "follows_from": {
            "description": "Rules whose finding is the cause of a finding of this rule, on the same device or on one that the "
            "other names: the text tells theirs in full, and this one in a line below it. The rule itself may be named: what it "
            "finds several times that shares a device then has one cause.",
            "type": "array",
            "minItems": 1,
            "items": {"type": "string", "pattern": NAME},
        },
        "regions": {
            "description": "The regions in which it holds; all of them where it is left out.",
            "type": "array",
            "minItems": 1,
            "items": {"enum": list(REGIONS)},
        },
        "examples": {
            "description": "The last key of the file. Each example is a whole plan and a test: a bad one has exactly the "
            "findings that are listed, a good one none of this rule.",
            "$ref": "#/$defs/example",
        },
    }


def _claim() -> Schema:
    """A claim: its kind decides which conditions it may have."""
    kinds = [{"const": kind, "description": about(kind)} for kind in claim_kinds()]
    return {
        "type": "object",
        "properties": {"kind": {"description": "the claim kind", "anyOf": kinds}},
        "allOf": [
            {
                "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
                "then": {"$ref": f"#/$defs/claim-{kind}"},
            }
            for kind in claim_kinds()
        ],
    }


def _conditions(kind: str) -> Schema:
    """The conditions of one claim kind. None is required here: a rule that tightens another states only what it changes."""
    conditions: Mapping[str, Any] = conditions_of(kind)
    properties = {"kind": {"const": kind, "description": about(kind)}, **conditions["properties"]}
    return {"description": about(kind), "type": "object", "properties": properties, "additionalProperties": False}


def _source() -> Schema:
    parts = {
        "body": {"description": "The document, such as IEC 60204-1.", **WORDS},
        "edition": {
            "description": "A year, mostly; a bare number is read as the words it is written in.",
            "type": ["string", "number"],
            "minLength": 1,
        },
        "clause": {"type": ["string", "number"], "minLength": 1},
        "note": {"description": "Such as `value from memory`.", **WORDS},
    }
    whole = {"type": "object", "required": ["body", "edition", "clause"], "additionalProperties": False, "properties": parts}
    return {"anyOf": [{"const": COMMON_PRACTICE}, whole]}


def _example() -> Schema:
    finding = {
        "type": "object",
        "required": ["line", "devices"],
        "additionalProperties": False,
        "properties": {
            "line": {"description": "Line of the example's plan, from 1.", "type": "integer", "minimum": 1},
            "devices": {"type": "array", "items": {"type": "string"}},
        },
    }
    plan = {"plan": WORDS}
    bad = {**plan, "findings": {"type": "array", "minItems": 1, "items": finding}}
    return {
        "type": "object",
        "required": ["bad", "good"],
        "additionalProperties": False,
        "properties": {"bad": _examples(bad), "good": _examples(plan)},
    }


def _examples(keys: dict[str, Schema]) -> Schema:
    item = {"type": "object", "required": list(keys), "additionalProperties": False, "properties": keys}
    return {"type": "array", "minItems": 1, "items": item}


def schema_text() -> str:
    """The schema as it stands in its file."""
    return lines(rule_schema()) + "\n"


if __name__ == "__main__":
    sys.stdout.write(schema_text())
