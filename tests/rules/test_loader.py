"""Rule files: what is read of them, and that every mistake is told with its line and column."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from wirecheck.errors import PlanErrors
from wirecheck.nodes import compose, plain_data
from wirecheck.rules.checker import check_rule
from wirecheck.rules.examples import read_rule
from wirecheck.rules.loader import read_rule_head

SCHEMA = json.loads((Path(__file__).parents[2] / "schemas" / "rule.schema.json").read_text(encoding="utf-8"))
FILE = "emergency-stops-are-red.yaml"
HEAD = """\
name: emergency-stops-are-red
title: Every emergency stop is red.
severity: advice
claim:
  kind: marked
  of: {kind: emergency-stop}
  key: colour
  one_of: [RD]
message: "{device} is {value}."
why: >-
  In a fright a hand
  goes for red.
remedy: Fit a red one in place of {devices}.
sources:
  - {body: IEC 60204-1, edition: 2016, clause: 10.7.2}
  - {body: ISO 13850, edition: "2015", clause: 4.3.6, note: value from memory}
  - common practice
since: 0.1
"""
EXAMPLES = """\
examples:
  bad:
    - plan: |-
        wirecheck: 1
        name: x
      findings:
        - {line: 2, devices: [S2, S1]}
  good:
    - {plan: "wirecheck: 1"}
"""
TEXT = HEAD + EXAMPLES
CLAIM = HEAD[HEAD.index("claim:") : HEAD.index("message:")]
FINDINGS = EXAMPLES[EXAMPLES.index("      findings:") : EXAMPLES.index("  good:")]


def wrong(old: str, new: str) -> str:
    assert old in TEXT
    return TEXT.replace(old, new, 1)


def test_rule_is_read_whole() -> None:
    rule, examples = read_rule(TEXT, FILE)
    assert (rule.name, rule.kind, rule.severity, rule.since) == ("emergency-stops-are-red", "marked", "advice", "0.1")
    assert rule.claim == {"of": {"kind": "emergency-stop"}, "key": "colour", "one_of": ["RD"]}
    assert rule.why == "In a fright a hand goes for red."
    assert rule.sources == ("IEC 60204-1:2016, 10.7.2", "ISO 13850:2015, 4.3.6 (value from memory)", "common practice")
    bad, good = examples
    assert (bad.plan, bad.findings) == ("wirecheck: 1\nname: x", ((2, ("S1", "S2")),))
    assert (good.plan, good.findings) == ("wirecheck: 1", ())


def test_numbers_and_booleans_of_a_claim_are_such_unless_quoted() -> None:
    claim = 'claim: {kind: marked, a: 0.1, b: [2, "2.5"], c: {d: true, e: NO, f: 1.2.3}}\n'
    rule = read_rule_head(wrong(CLAIM, claim), FILE)
    assert rule.claim == {"a": 0.1, "b": [2, "2.5"], "c": {"d": True, "e": "NO", "f": "1.2.3"}}


def test_head_is_the_same_rule_and_does_not_look_at_the_examples() -> None:
    assert read_rule_head(TEXT, FILE) == read_rule(TEXT, FILE)[0]
    assert read_rule_head(HEAD + "examples:\n  bad: {{{", FILE) == read_rule(TEXT, FILE)[0]


MISTAKES = {
    "unknown key": (wrong("remedy:", "remdy: x\nremedy:"), 13, 1, "no key `remdy`"),
    "missing key": (wrong("title: Every emergency stop is red.\n", ""), 1, 1, "needs the key `title`"),
    "name of another file": (wrong("name: emergency-stops", "name: stops"), 1, 7, "differs from that of the file"),
    "name with capitals": (wrong("name: emergency", "name: Emergency"), 1, 7, "no name of a rule"),
    "no severity": (wrong("advice", "advise"), 3, 11, "`advise` is not a severity"),
    "no version": (wrong("since: 0.1", "since: soon"), 18, 8, "no version"),
    "empty text": (wrong("title: Every emergency stop is red.", "title:"), 2, 7, "nothing stands here"),
    "claim without kind": (wrong("  kind: marked\n", ""), 5, 3, "needs the key `kind`"),
    "claim that is a word": (wrong(CLAIM, "claim: marked\n"), 4, 8, "stands here"),
    "no sources": (wrong("  - common practice\n", "  - hearsay\n"), 17, 5, "`hearsay` is no source"),
    "source without clause": (wrong(", clause: 10.7.2", ""), 15, 5, "needs the key `clause`"),
    "empty sources": (TEXT[: TEXT.index("sources:")] + "sources: []\nsince: 0.1\n" + EXAMPLES, 14, 10, "stands here"),
    "no examples": (HEAD, 1, 1, "no examples at its end"),
    "examples not last": (wrong("since: 0.1\n", "") + "since: 0.1\n", 1, 1, "no examples at its end"),
    "no good example": (wrong('  good:\n    - {plan: "wirecheck: 1"}\n', ""), 20, 3, "needs the key `good`"),
    "empty good examples": (wrong('  good:\n    - {plan: "wirecheck: 1"}\n', "  good: []\n"), 26, 9, "stands here"),
    "bad example without findings": (wrong(FINDINGS, ""), 21, 7, "needs the key `findings`"),
    "good example with findings": (wrong('{plan: "wirecheck: 1"}', '{plan: x, findings: []}'), 27, 17, "no key `findings`"),
    "no line": (wrong("line: 2", "line: two"), 25, 18, "`two` is no line"),
    "devices as a word": (wrong("[S2, S1]", "S1"), 25, 30, "stands here"),
    "no region": (wrong("since: 0.1\n", "since: 0.1\nregions: [IEC, EU]\n"), 19, 16, "`EU` is not a region"),
    "region as a word": (wrong("since: 0.1\n", "since: 0.1\nregions: NA\n"), 19, 10, "`NA` stands here"),
    "a list": ("- x\n", 1, 1, "a list stands here"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "line", "column", "message"), MISTAKES.values(), ids=MISTAKES)
def test_mistake_is_told_with_its_place(text: str, line: int, column: int, message: str) -> None:
    with pytest.raises(PlanErrors) as caught:
        read_rule(text, FILE)
    first = caught.value.errors[0]
    assert (first.file, first.line, first.column) == (FILE, line, column)
    assert message in first.message


def test_all_mistakes_are_told_at_once_with_the_nearest_word() -> None:
    with pytest.raises(PlanErrors) as caught:
        read_rule(TEXT.replace("advice", "advise").replace("since: 0.1", "since: soon").replace("remedy:", "remdy:"), FILE)
    assert [error.nearest for error in caught.value.errors] == ["", "advice", "remedy", ""]


def schema_refuses(text: str) -> bool:
    return not jsonschema.Draft202012Validator(SCHEMA).is_valid(plain_data(compose(text, FILE)))


NOT_FOR_A_SCHEMA = {"name of another file", "examples not last", "no examples"}


@pytest.mark.parametrize("name", sorted(set(MISTAKES) - NOT_FOR_A_SCHEMA))
def test_schema_refuses_what_the_loader_refuses(name: str) -> None:
    assert schema_refuses(MISTAKES[name][0])


def test_schema_is_sound_and_lets_a_good_rule_pass() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert not schema_refuses(TEXT)


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        (wrong("kind: marked", "kind: marqued"), 5, "`marqued` is not a claim kind"),
        (wrong("  key: colour\n", ""), 5, "lacks `key`"),
        (wrong("  key: colour", "  kee: colour\n  key: colour"), 7, "has no condition `kee`"),
        (wrong("one_of: [RD]", "one_of: RD"), 8, "one_of: `RD` stands here"),
        (wrong("one_of: [RD]", "one_of: [RD, {x: y}]"), 8, "one_of: a mapping stands here"),
        (wrong("  one_of: [RD]\n", ""), 5, "lacks a condition"),
        (wrong("of: {kind: emergency-stop}", "of: {role: stop}"), 6, "of lacks `kind`"),
        (wrong("in place of {devices}", "in place of {divice}"), 13, "{divice} is never filled"),
    ],
)
def test_claim_is_held_against_its_kind(text: str, line: int, message: str) -> None:
    with pytest.raises(PlanErrors) as caught:
        check_rule(text, FILE)
    assert [(error.line, message in error.message) for error in caught.value.errors] == [(line, True)]


def test_good_claim_passes() -> None:
    check_rule(TEXT, FILE)
