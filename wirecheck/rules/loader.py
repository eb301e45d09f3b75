"""Reads rule files strictly: every error with its line and column, all errors of a file at once.

A check of a plan needs no examples, and they are most of a rule file: `load_rules` reads only what stands above them.
`schemas/rule.schema.json` states the same form for editors; a test holds the two against each other.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path, PurePath
from typing import Any, NoReturn

from wirecheck.errors import PlanError, PlanErrors, nearest_word
from wirecheck.findings import SEVERITIES
from wirecheck.nodes import Node, compose, plain_data
from wirecheck.resources import data_folder, read_text
from wirecheck.rules.record import Rule

NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
VERSION = re.compile(r"[0-9]+\.[0-9]+(\.[0-9]+)?")
DECIMAL = re.compile(r"-?[0-9]+\.[0-9]+")
COMMON_PRACTICE = "common practice"

NEED_FAULTS = frozenset({"survives", "survives-as-required", "survives-a-second-fault", "no-sneak-path-by-fault"})
"""The kinds of claims for which all single faults are tried: they take most of the time of a check."""

EXAMPLES = "examples"
NEEDED = ("name", "title", "severity", "claim", "why", "remedy", "sources", "since")
OPTIONAL = ("message", "regions", "told_by", "follows_from")
TEXTS = ("name", "title", "severity", "why", "remedy", "since", "message")
REGIONS = ("IEC", "NA")
"""Where a rule that states `regions` holds; one that states none holds everywhere."""
SOURCE_NEEDED, SOURCE_OPTIONAL = ("body", "edition", "clause"), ("note",)


def rule_files() -> tuple[Path, ...]:
    """The rule files of wirecheck, in the alphabet's order."""
    return tuple(sorted(data_folder("rules").glob("*.yaml")))


def load_rules() -> tuple[Rule, ...]:
    """All rules of wirecheck, without their examples."""
    return tuple(read_rule_head(read_text(path), path.name) for path in rule_files())


def read_rule_head(text: str, file: str) -> Rule:
    """A rule from the text of its file, of which the examples are not looked at."""
    return rule_of(compose(text_above_examples(text), file), file, text)


def text_above_examples(text: str) -> str:
    """What stands above a rule's examples."""
    # A line that begins with a key can only be a top-level key: whatever belongs to the key above it is indented.
    return text.partition(f"\n{EXAMPLES}:")[0]


def rule_of(root: Node, file: str, text: str) -> Rule:
    """A rule from the composed text of its file, with or without examples; PlanErrors with all that is wrong."""
    faults = Faults(file, text)
    keys = faults.mapping(root, NEEDED, (*OPTIONAL, EXAMPLES), "a rule")
    fields = read_fields(faults, keys, file)
    faults.tell()
    return Rule(**fields)


def read_fields(faults: Faults, keys: Mapping[str, Node], file: str) -> dict[str, Any]:
    """The fields of a rule that a file states, by their name in the record."""
    fields: dict[str, Any] = {key: faults.words(keys[key]) for key in TEXTS if key in keys}
    if "name" in keys:
        _check_name(faults, keys["name"], PurePath(file).stem)
    if "severity" in keys:
        faults.one_of(keys["severity"], SEVERITIES, "a severity")
    if "since" in keys and not VERSION.fullmatch(fields["since"]):
        faults.add(keys["since"], "this is no version", "a version such as 0.1")
    if "claim" in keys:
        fields["kind"], fields["claim"] = _claim(faults, keys["claim"])
    if "sources" in keys:
        fields["sources"] = tuple(_sources(faults, keys["sources"]))
    if "regions" in keys:
        fields["regions"] = tuple(_regions(faults, keys["regions"]))
    for key in ("told_by", "follows_from"):
        if key in keys:
            fields[key] = tuple(_names(faults, keys[key]))
    return fields


def _regions(faults: Faults, node: Node) -> Iterator[str]:
    if node.kind != "list" or not node.items:
        faults.add(node, f"{node.what()} stands here", f"a list of regions: {', '.join(REGIONS)}")
    for item in node.items:
        faults.one_of(item, REGIONS, "a region")
        yield item.text


def _names(faults: Faults, node: Node) -> Iterator[str]:
    if node.kind != "list" or not node.items:
        faults.add(node, f"{node.what()} stands here", "a list of names of rules")
    for item in node.items:
        if not NAME.fullmatch(item.text):
            faults.add(item, "this is no name of a rule", "plain words in small letters, joined by hyphens")
        yield item.text


def _check_name(faults: Faults, node: Node, stem: str) -> None:
    if not NAME.fullmatch(node.text):
        faults.add(node, "this is no name of a rule", "plain words in small letters, joined by hyphens")
    elif node.text != stem:
        faults.add(node, "the name differs from that of the file", f"the name {stem}")


def _claim(faults: Faults, node: Node) -> tuple[str, Mapping[str, object]]:
    keys = faults.mapping(node, ("kind",), None, "a claim")
    kind = faults.words(keys["kind"]) if "kind" in keys else ""
    return kind, {key: condition(value) for key, value in keys.items() if key != "kind"}


def condition(node: Node) -> object:
    """A condition of a claim as plain data. Unlike in a plan, a plain decimal is a number here."""
    if node.kind == "list":
        return [condition(item) for item in node.items]
    if node.kind == "mapping":
        return {key.text: condition(value) for key, value in node.pairs}
    return float(node.text) if node.plain and DECIMAL.fullmatch(node.text) else plain_data(node)


def _sources(faults: Faults, node: Node) -> Iterator[str]:
    if node.kind != "list" or not node.items:
        faults.add(node, f"{node.what()} stands here", f"a list of sources, or of `{COMMON_PRACTICE}`")
        return
    for item in node.items:
        if item.kind == "mapping":
            yield _source(faults, item)
        elif item.text == COMMON_PRACTICE:
            yield COMMON_PRACTICE
        else:
            faults.add(item, f"{item.what()} is no source", f"body, edition and clause, or `{COMMON_PRACTICE}`")


def _source(faults: Faults, node: Node) -> str:
    """A source as a reader sees it: `IEC 60204-1:2016, 9.4.3`."""
    keys = faults.mapping(node, SOURCE_NEEDED, SOURCE_OPTIONAL, "a source")
    words = {key: faults.words(value) for key, value in keys.items()}
    note = f" ({words['note']})" if "note" in words else ""
    return f"{words.get('body')}:{words.get('edition')}, {words.get('clause')}{note}"


class Faults:
    """Collects what is wrong with a rule file, each with its place."""

    def __init__(self, file: str, text: str) -> None:
        self._file = file
        self._text = text
        self._errors: list[PlanError] = []

    def add(self, node: Node, message: str, expected: str = "", nearest: str = "") -> None:
        """Something is wrong at a node."""
        lines = self._text.splitlines()
        line = lines[node.line - 1] if node.line <= len(lines) else ""
        self._errors.append(PlanError(self._file, node.line, node.column, message, expected, nearest, line))

    def mapping(self, node: Node, needed: Collection[str], optional: Collection[str] | None, what: str) -> dict[str, Node]:
        """The keys of a mapping; `optional` None lets any other key pass."""
        if node.kind != "mapping":
            self.add(node, f"{node.what()} stands here", f"{what}, which is a mapping")
            return {}
        allowed = (*needed, *(optional or ()))
        known = {}
        for key, value in node.pairs:
            if optional is not None and key.text not in allowed:
                self.add(key, f"{what} has no key `{key.text}`", f"one of {', '.join(allowed)}", nearest_word(key.text, allowed))
            else:
                known[key.text] = value
        for name in needed:
            if name not in known:
                self.add(node, f"{what} needs the key `{name}`")
        return known

    def words(self, node: Node) -> str:
        """The text of a scalar on one line."""
        text = " ".join(node.text.split())
        if node.kind != "scalar" or node.is_empty or not text:
            self.add(node, f"{node.what()} stands here", "words")
        return text

    def one_of(self, node: Node, allowed: Collection[str], what: str) -> None:
        """A word out of a list."""
        if node.text not in allowed:
            self.add(node, f"{node.what()} is not {what}", f"one of {', '.join(allowed)}", nearest_word(node.text, allowed))

    def tell(self) -> None:
        """PlanErrors where anything was wrong."""
        if self._errors:
            self._raise()

    def _raise(self) -> NoReturn:
        raise PlanErrors(sorted(self._errors, key=lambda error: (error.line, error.column)))
