"""Holds a rule against its claim kind: its conditions must be known, and the words in its texts be filled."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from wirecheck.errors import nearest_word
from wirecheck.kinds import kind_names
from wirecheck.nodes import Node, compose
from wirecheck.rules.conditions import check_conditions
from wirecheck.rules.loader import Faults, rule_of
from wirecheck.rules.record import WORD
from wirecheck.rules.registry import claim_kinds, conditions_of, known_to, words_of
from wirecheck.rules.select import CHOICES

TEXTS = ("message", "why", "remedy")


def check_rule(text: str, file: str) -> None:
    """PlanErrors with everything in a rule that its claim kind cannot make sense of."""
    root = compose(text, file)
    rule = rule_of(root, file, text)
    faults = Faults(file, text)
    check_claim(faults, {key.text: value for key, value in root.pairs}, rule.kind)
    faults.tell()


def check_claim(faults: Faults, keys: Mapping[str, Node], kind: str, whole: bool = True, kinds: Collection[str] = ()) -> None:
    """Note what a rule's claim kind cannot make sense of.

    A claim that is not `whole` may leave conditions out. `kinds` are device kinds of the house's own that it may choose.
    """
    if kind not in claim_kinds():
        stated = next(value for key, value in keys["claim"].pairs if key.text == "kind")
        faults.one_of(stated, claim_kinds(), "a claim kind")
        return
    if "claim" in keys:
        schema = conditions_of(kind)
        left_out = () if whole else ("required", "anyOf")
        check_conditions(faults, keys["claim"], {key: value for key, value in schema.items() if key not in left_out}, kind)
        _known(faults, keys["claim"], kind)
        _chosen(faults, keys["claim"], schema, {*kind_names(), *CHOICES, *kinds})
    for key in TEXTS:
        if key in keys:
            _words(faults, keys[key], words_of(kind))


def _known(faults: Faults, claim: Node, kind: str) -> None:
    for key, value in claim.pairs:
        known = known_to(kind, key.text) if key.text != "kind" else ()
        for node in (value.items if value.kind == "list" else (value,)) if known else ():
            if node.kind == "scalar":
                faults.one_of(node, sorted(known), f"a {key.text} that is known")


def _chosen(faults: Faults, claim: Node, schema: Mapping[str, Any], kinds: Collection[str]) -> None:
    """A choice of devices of a kind that is not there would choose none, and nobody would see it."""
    for key, value in claim.pairs:
        if "kind" in schema["properties"].get(key.text, {}).get("required", ()):
            stated = next((inner for word, inner in value.pairs if word.text == "kind"), None)
            for node in () if stated is None else stated.items if stated.kind == "list" else (stated,):
                faults.one_of(node, sorted(kinds), "a device kind")


def _words(faults: Faults, node: Node, known: frozenset[str]) -> None:
    for word in WORD.findall(node.text):
        if word not in known:
            faults.add(
                node, f"the word {{{word}}} is never filled", f"one of {', '.join(sorted(known))}", nearest_word(word, known)
            )
