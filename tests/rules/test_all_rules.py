"""Every rule of wirecheck: whole, sourced, understood by its claim kind, and with examples that behave."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from wirecheck.nodes import compose, plain_data
from wirecheck.rules.checker import check_rule
from wirecheck.rules.examples import complaints, read_rule_file
from wirecheck.rules.loader import load_rules, rule_files

SCHEMA = json.loads((Path(__file__).parents[2] / "schemas" / "rule.schema.json").read_text(encoding="utf-8"))
FILES = rule_files()


def test_there_are_rules_and_all_of_them_are_loaded() -> None:
    assert FILES
    assert [rule.name for rule in load_rules()] == [path.stem for path in FILES]


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_rule_has_all_headings_and_fits_the_schema(path: Path) -> None:
    rule, examples = read_rule_file(path)
    assert rule.sources
    assert examples
    jsonschema.Draft202012Validator(SCHEMA).validate(plain_data(compose(path.read_text(encoding="utf-8"), path.name)))


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_rule_is_understood_by_its_claim_kind(path: Path) -> None:
    check_rule(path.read_text(encoding="utf-8"), path.name)


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_examples_behave(path: Path) -> None:
    rule, examples = read_rule_file(path)
    assert [complaint for example in examples for complaint in complaints(rule, example)] == []


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_no_rule_calls_anything_safe(path: Path) -> None:
    rule, _ = read_rule_file(path)
    for text in (rule.message, rule.why, rule.remedy):
        assert " is safe" not in text
