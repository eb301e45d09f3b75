"""Holds a rule against its claim kind: its conditions must be known, and the words in its texts be filled."""

from __future__ import annotations

from wirecheck.errors import nearest_word
from wirecheck.nodes import Node, compose
from wirecheck.rules.loader import Faults, rule_of
from wirecheck.rules.record import WORD
from wirecheck.rules.registry import claim_kinds, conditions_of, words_of

TEXTS = ("message", "why", "remedy")


def check_rule(text: str, file: str) -> None:
    """PlanErrors with everything in a rule that its claim kind cannot make sense of."""
    root = compose(text, file)
    rule = rule_of(root, file, text)
    faults = Faults(file, text)
    keys = {key.text: value for key, value in root.pairs}
    kind = next(value for key, value in keys["claim"].pairs if key.text == "kind")
    faults.one_of(kind, claim_kinds(), "a claim kind")
    faults.tell()
    _conditions(faults, keys["claim"], rule.kind, rule.claim)
    for key in TEXTS:
        if key in keys:
            _words(faults, keys[key], words_of(rule.kind))
    faults.tell()


def _conditions(faults: Faults, node: Node, kind: str, claim: object) -> None:
    # Late: 90 ms that only the checking of rules needs.
    from jsonschema import Draft202012Validator

    schema = {"type": "object", "additionalProperties": False, **conditions_of(kind)}
    for error in Draft202012Validator(schema).iter_errors(claim):
        faults.add(_at(node, list(error.absolute_path)), f"a claim of kind {kind}: {error.message}")


def _at(node: Node, path: list[str | int]) -> Node:
    """The node at a path of keys and positions."""
    for step in path:
        node = node.items[step] if isinstance(step, int) else next(value for key, value in node.pairs if key.text == step)
    return node


def _words(faults: Faults, node: Node, known: frozenset[str]) -> None:
    for word in WORD.findall(node.text):
        if word not in known:
            faults.add(
                node, f"the word {{{word}}} is never filled", f"one of {', '.join(sorted(known))}", nearest_word(word, known)
            )
