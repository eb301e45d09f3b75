"""Reads the house's own rules from folders: one YAML file a rule, beside, in place of, or tighter than those of wirecheck."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from wirecheck.errors import PlanError, PlanErrors, nearest_word
from wirecheck.findings import severity_rank
from wirecheck.nodes import Node, compose
from wirecheck.plan.reader import decode_plan, read_bytes
from wirecheck.rules.checker import check_claim
from wirecheck.rules.loader import EXAMPLES, NEEDED, OPTIONAL, Faults, read_fields, text_above_examples
from wirecheck.rules.record import Rule

REPLACES, TIGHTENS = "replaces", "tightens"
NEEDED_OF_A_HOUSE = tuple(key for key in NEEDED if key != "since")
"""The version in which wirecheck first has a rule says nothing of a rule that it never has."""


def house_files(folders: Iterable[str | Path]) -> tuple[Path, ...]:
    """The rule files in folders; PlanErrors where one is no folder or has none."""
    found: list[Path] = []
    errors = []
    for folder in map(Path, folders):
        files = sorted(folder.glob("*.yaml"))
        if not files:
            message = "there is no rule in this folder" if folder.is_dir() else "there is no such folder"
            errors.append(PlanError(str(folder), 1, 1, message, "a folder with a file NAME.yaml for each rule"))
        found += files
    if errors:
        raise PlanErrors(errors)
    return tuple(found)


class RuleSet(NamedTuple):
    """The rules that a plan is judged by, and what a report says of those that are the house's own."""

    rules: tuple[Rule, ...]
    entries: tuple[Mapping[str, object], ...] = ()


def with_house_rules(known: Sequence[Rule], folders: Iterable[str | Path], kinds: Collection[str] = ()) -> RuleSet:
    """The rules of wirecheck and those of the house, each of which stands where it replaces or tightens one.

    `kinds` are the device kinds of the house's own that the rules may choose.

    Raises
    ------
    PlanErrors
        A folder or a file cannot be read, or something in a file is wrong; all errors of all files at once.
    """
    errors: list[PlanError] = []
    own: list[Rule] = []
    for path in house_files(folders):
        try:
            own.append(_read(path, {rule.name: rule for rule in known}, own, kinds))
        except PlanErrors as bad:
            errors += bad.errors
    if errors:
        raise PlanErrors(errors)
    placed = {rule.replaces or rule.tightens: rule for rule in own}
    beside = [rule for rule in own if not (rule.replaces or rule.tightens)]
    by_name = {rule.name: rule for rule in known}
    entries = tuple(_entry(rule, by_name.get(rule.replaces or rule.tightens)) for rule in own)
    return RuleSet((*(placed.get(rule.name, rule) for rule in known), *beside), entries)


def _read(path: Path, known: Mapping[str, Rule], earlier: Sequence[Rule], kinds: Collection[str]) -> Rule:
    text = text_above_examples(decode_plan(read_bytes(path), str(path)))
    root = compose(text, str(path))
    faults = Faults(str(path), text)
    stated = {key.text: value for key, value in root.pairs}
    if TIGHTENS in stated:
        keys = faults.mapping(root, ("name", TIGHTENS), (*NEEDED[1:], *OPTIONAL, EXAMPLES), "a rule that tightens another")
    else:
        keys = faults.mapping(root, NEEDED_OF_A_HOUSE, ("since", REPLACES, *OPTIONAL, EXAMPLES), "a rule")
    for key in (REPLACES, TIGHTENS):
        if key in keys and keys[key].text not in known:
            faults.add(keys[key], f"there is no rule {keys[key].what()}", "", nearest_word(keys[key].text, known))
    faults.tell()
    other = {key: keys[key].text for key in (REPLACES, TIGHTENS) if key in keys}
    base = known.get(other.get(TIGHTENS, ""))
    rule = _tightened(faults, keys, base, path) if base else _whole(faults, keys, path)
    check_claim(faults, keys, rule.kind, whole=base is None, kinds=kinds)
    _check_place(faults, keys, known, earlier)
    faults.tell()
    return rule._replace(file=str(path), replaces=other.get(REPLACES, ""), tightens=other.get(TIGHTENS, ""))


def _whole(faults: Faults, keys: Mapping[str, Node], path: Path) -> Rule:
    """A rule that states all of itself."""
    fields = read_fields(faults, keys, str(path))
    faults.tell()
    return Rule(**{"since": "", **fields})


def _tightened(faults: Faults, keys: Mapping[str, Node], base: Rule, path: Path) -> Rule:
    """A rule that takes from another what it does not state; it may be no milder."""
    claim = keys.get("claim")
    if claim is not None and claim.kind == "mapping" and not any(key.text == "kind" for key, _ in claim.pairs):
        kind = Node("scalar", claim.line, claim.column, text=base.kind, plain=True)
        keys = {**keys, "claim": replace(claim, pairs=[(replace(kind, text="kind"), kind), *claim.pairs])}
    fields = read_fields(faults, keys, str(path))
    faults.tell()
    if fields.get("kind", base.kind) != base.kind:
        faults.add(keys["claim"], f"{base.name} has the claim kind {base.kind}", "no kind, or the same")
        faults.tell()
    if severity_rank(fields.get("severity", base.severity)) < severity_rank(base.severity):
        expected = f"{base.severity} or worse; `replaces: {base.name}` in place of `tightens` where a milder rule is meant"
        faults.add(keys["severity"], f"a rule that tightens another cannot be milder: {base.name} is {base.severity}", expected)
    fields["claim"] = {**base.claim, **fields.get("claim", {})}
    return base._replace(**fields)


def _check_place(faults: Faults, keys: Mapping[str, Node], known: Mapping[str, Rule], earlier: Sequence[Rule]) -> None:
    """A name may be that of a rule of wirecheck only where this one stands in its place, and one place holds one rule."""
    name = keys["name"]
    place = next((keys[key] for key in (REPLACES, TIGHTENS) if key in keys), None)
    if name.text in known and (place is None or place.text != name.text):
        expected = f"a name of its own; or `{REPLACES}: {name.text}`, or `{TIGHTENS}: {name.text}`"
        faults.add(name, f"there is a rule `{name.text}` already", expected)
    for rule in earlier:
        if rule.name == name.text:
            faults.add(name, f"{rule.file} has a rule of this name", "a name of its own")
        if place is not None and place.text == (rule.replaces or rule.tightens):
            faults.add(place, f"{rule.name} ({rule.file}) stands in the place of {place.text} already")


def _entry(rule: Rule, base: Rule | None) -> Mapping[str, object]:
    """What a report says of a rule of the house: where it stands, what it stands in place of, and what it changes there."""
    return {
        "rule": rule.name,
        "file": rule.file,
        "severity": rule.severity,
        "replaces": rule.replaces or None,
        "tightens": rule.tightens or None,
        "changes": list(_changes(base, rule)) if base else [],
    }


def _changes(base: Rule, rule: Rule) -> Iterator[str]:
    """How a rule differs from the one in whose place it stands, apart from its texts."""
    pairs = {"severity": (base.severity, rule.severity), "claim kind": (base.kind, rule.kind)}
    pairs["regions"] = (", ".join(base.regions) or "all", ", ".join(rule.regions) or "all")
    for key in dict.fromkeys((*base.claim, *rule.claim)):
        pairs[key] = (_said(base.claim.get(key)), _said(rule.claim.get(key)))
    for key, (before, after) in pairs.items():
        if before != after:
            yield f"{key}: {before} becomes {after}"


def _said(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return "not stated" if value is None else str(value)
