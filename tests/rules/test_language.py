"""The rule language is told of in one page and in a schema, and both are true."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.rules.test_loader import FILE, HEAD
from wirecheck.errors import PlanErrors
from wirecheck.nodes import compose, plain_data
from wirecheck.rules.checker import check_rule
from wirecheck.rules.house import with_house_rules
from wirecheck.rules.loader import NEEDED, OPTIONAL, condition, load_rules, rule_files
from wirecheck.rules.page import HEADING, claim_kinds_page
from wirecheck.rules.registry import about, claim_kinds, conditions_of, words_of
from wirecheck.rules.schema import rule_schema, schema_text

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "rules.md").read_text(encoding="utf-8")
BY_HAND = PAGE.partition(HEADING)[0]
SCHEMA = json.loads((ROOT / "schemas" / "rule.schema.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
YAML = re.findall(r"^```yaml\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
ALL_KEYS = {*NEEDED, *OPTIONAL, "replaces", "tightens", "examples"}


def test_the_page_ends_with_the_claim_kinds_as_they_are() -> None:
    assert PAGE.endswith("\n" + claim_kinds_page()), "python -m wirecheck.rules.page prints what docs/rules.md must end with"


def test_the_schema_is_that_of_the_claim_kinds() -> None:
    assert json.loads(schema_text()) == rule_schema() == SCHEMA, "python -m wirecheck.rules.schema prints the schema"


@pytest.mark.parametrize("kind", claim_kinds())
def test_a_claim_kind_explains_itself_its_conditions_and_its_words(kind: str) -> None:
    assert about(kind).endswith(".")
    properties: Mapping[str, Any] = conditions_of(kind)["properties"]  # type: ignore[assignment]
    assert [name for name, schema in properties.items() if not str(schema.get("description", "")).endswith(".")] == []
    assert [word for word in words_of(kind) if f"`{{{word}}}`" not in BY_HAND] == []


def test_the_page_tells_of_every_key() -> None:
    told = set(re.findall(r"`(\w+)`", "".join(re.findall(r"^\| (.*?) \|", BY_HAND, re.MULTILINE))))
    assert told >= ALL_KEYS
    assert set(SCHEMA["properties"]) == ALL_KEYS


@pytest.mark.parametrize("number", range(2))
def test_a_rule_of_the_page_can_be_copied(tmp_path: Path, number: int) -> None:
    text = YAML[number]
    (tmp_path / f"{text.partition('name: ')[2].split()[0]}.yaml").write_text(text, encoding="utf-8")
    (entry,) = with_house_rules(load_rules(), [tmp_path]).entries
    assert text.startswith(f"name: {entry['rule']}\n")
    VALIDATOR.validate(plain(text))


def plain(text: str) -> Any:
    """A rule as an editor's validator sees it: decimals are numbers."""
    root = compose(text, "x.yaml")
    return {key.text: (condition if key.text == "claim" else plain_data)(value) for key, value in root.pairs}


@pytest.mark.parametrize(
    "path", [*rule_files(), *sorted((ROOT / "examples" / "house-rules").glob("*.yaml"))], ids=lambda path: path.stem
)
def test_every_rule_fits_the_schema(path: Path) -> None:
    VALIDATOR.validate(plain(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    "claim",
    [
        "{kind: marqued}",
        "{kind: marked, of: {kind: lamp}, key: colour, one_off: [RD]}",
        "{kind: marked, of: {kind: lamp}, key: colour, one_of: RD}",
        "{kind: marked, of: {role: stop}, key: colour, one_of: [RD]}",
        "{kind: survives, faults: [wire opened], part: stop}",
        "{kind: count, of: {kind: lamp}, at_least: -1}",
        "{kind: marked, of: {kind: lamp}, key: colour, by: role, table: {stop: BK}}",
    ],
)
def test_the_schema_and_the_checker_refuse_the_same_claims(claim: str) -> None:
    text = re.sub(r"claim:\n(  .*\n)+", f"claim: {claim}\n", HEAD)
    assert not VALIDATOR.is_valid(plain(text))
    with pytest.raises(PlanErrors):
        check_rule(text, FILE)


def test_an_editor_may_not_take_a_rule_that_both_replaces_and_tightens() -> None:
    rule = {"name": "x", "tightens": "stop-stops-motion", "replaces": "stop-stops-motion"}
    assert not VALIDATOR.is_valid(rule)
    del rule["replaces"]
    assert VALIDATOR.is_valid(rule)
