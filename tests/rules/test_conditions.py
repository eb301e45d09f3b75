"""The conditions of claims: every misfit with its place, and the same verdict as a JSON Schema validator gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import jsonschema
import pytest

from wirecheck.errors import PlanErrors
from wirecheck.nodes import compose
from wirecheck.rules.conditions import KEYWORDS, check_conditions
from wirecheck.rules.loader import Faults, condition
from wirecheck.rules.registry import claim_kinds, conditions_of

KINDS = claim_kinds()

SCHEMA: dict[str, Any] = {
    "required": ["of"],
    "anyOf": [{"required": ["least"]}, {"required": ["part"]}],
    "properties": {
        "of": {
            "type": "object",
            "required": ["kind"],
            "additionalProperties": {
                "anyOf": [
                    {"type": ["string", "boolean", "integer"]},
                    {"type": "array", "minItems": 1, "items": {"type": ["string", "integer"]}},
                ]
            },
        },
        "least": {"type": "integer", "minimum": 1},
        "share": {"type": "number"},
        "part": {"enum": ["stop", "start"]},
        "stated": {"const": True},
        "met": {"type": "boolean"},
    },
}

FITS = [
    "{of: {kind: lamp}, least: 1}",
    "{of: {kind: lamp, lit: true, poles: 4}, part: stop}",
    "{of: {kind: [lamp, fan], poles: [4, 2]}, part: start, share: 0.5}",
    "{of: {kind: lamp}, least: 1, share: 2, stated: true, met: false}",
]
MISFITS = {
    "{least: 1}": (1, 1, "lacks `of`", "a mapping, written {key: value, ...}"),
    "{of: {kind: lamp}}": (1, 1, "lacks a condition", "one of least, part"),
    "{of: lamp, least: 1}": (1, 6, "of: `lamp` stands here", "a mapping, written {key: value, ...}"),
    "{of: {role: stop}, least: 1}": (1, 6, "of lacks `kind`", ""),
    "{of: {kind: []}, least: 1}": (1, 13, "kind: the list is too short", "1 or more of them"),
    "{of: {kind: {a: b}}, least: 1}": (
        1,
        13,
        "kind: a mapping stands here",
        "a word, or true or false, or a whole number, or a list",
    ),
    "{of: {kind: [a, [b]]}, least: 1}": (1, 17, "kind: a list stands here", "a word, or a whole number"),
    "{of: {kind: lamp}, least: 0}": (1, 27, "least: `0` is too small", "1 or more"),
    "{of: {kind: lamp}, least: some}": (1, 27, "least: `some` stands here", "a whole number"),
    "{of: {kind: lamp}, least: 1.5}": (1, 27, "least: `1.5` stands here", "a whole number"),
    "{of: {kind: lamp}, least: true}": (1, 27, "least: `true` stands here", "a whole number"),
    "{of: {kind: lamp}, least: }": (1, 27, "least: nothing stands here", "a whole number"),
    "{of: {kind: lamp}, part: stopp}": (1, 26, "part: `stopp` is not known here", "one of stop, start"),
    "{of: {kind: lamp}, part: stop, stated: false}": (1, 40, "stated: `false` is not known here", "true"),
    "{of: {kind: lamp}, part: stop, met: maybe}": (1, 37, "met: `maybe` stands here", "true or false"),
    "{of: {kind: lamp}, part: stop, shar: 1}": (1, 32, "has no condition `shar`", "one of of, least, share, part, stated, met"),
}


def errors(text: str, schema: Mapping[str, Any] = SCHEMA) -> list[tuple[int, int, str, str, str]]:
    faults = Faults("x.yaml", text)
    check_conditions(faults, compose(text, "x.yaml"), schema, "lit")
    try:
        faults.tell()
    except PlanErrors as bad:
        return [(e.line, e.column, e.message, e.expected, e.nearest) for e in bad.errors]
    return []


def valid(text: str) -> bool:
    schema = {"type": "object", "additionalProperties": False, **SCHEMA}
    return jsonschema.Draft202012Validator(schema).is_valid(condition(compose(text, "x.yaml")))


@pytest.mark.parametrize("text", FITS)
def test_what_fits_passes(text: str) -> None:
    assert errors(text) == []
    assert valid(text)


@pytest.mark.parametrize(("text", "told"), MISFITS.items(), ids=MISFITS)
def test_a_misfit_is_told_once_with_its_place_and_what_was_expected(text: str, told: tuple[int, int, str, str]) -> None:
    ((line, column, message, expected, _),) = errors(text)
    assert (line, column) == told[:2]
    assert message.endswith(told[2])
    assert expected.startswith(told[3])
    assert not valid(text)


def test_the_nearest_word_is_offered() -> None:
    assert errors("{of: {kind: lamp}, part: stopp}")[0][4] == "stop"
    assert errors("{of: {kind: lamp}, part: stop, shar: 1}")[0][4] == "share"


def test_all_misfits_are_told_at_once() -> None:
    assert len(errors("{of: lamp, least: 0, part: go, x: y}")) == 4


def schemas_in(value: object) -> Iterator[Mapping[str, Any]]:
    """A schema and all schemas inside it."""
    if isinstance(value, Mapping):
        yield value
        for key, inner in value.items():
            for each in inner.values() if key == "properties" else inner if isinstance(inner, list | tuple) else [inner]:
                yield from schemas_in(each)


@pytest.mark.parametrize("kind", KINDS)
def test_a_claim_kind_uses_only_what_is_looked_at(kind: str) -> None:
    jsonschema.Draft202012Validator.check_schema(conditions_of(kind))
    assert [set(schema) - KEYWORDS for schema in schemas_in(conditions_of(kind)) if set(schema) - KEYWORDS] == []
