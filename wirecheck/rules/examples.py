"""The examples of a rule: small plans, bad ones with the findings that they must give and good ones that must give none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from wirecheck.facts import Facts
from wirecheck.kinds import Kinds
from wirecheck.nodes import Node, compose
from wirecheck.plan import decode_plan, read_plan_text
from wirecheck.plan.reader import read_bytes
from wirecheck.resources import read_text
from wirecheck.rules.assembly import fold
from wirecheck.rules.causes import place
from wirecheck.rules.loader import EXAMPLES, Faults, rule_of
from wirecheck.rules.record import Rule
from wirecheck.rules.runner import judge_rules

Expected = tuple[int, tuple[str, ...]]
"""Line of the example's plan, and devices in the alphabet's order."""


@dataclass(frozen=True, slots=True)
class Example:
    """A plan and the findings of its rule on it; a good example has none. `name` says where it stands in the rule file."""

    name: str
    plan: str
    findings: tuple[Expected, ...] = ()


def read_rule(text: str, file: str) -> tuple[Rule, tuple[Example, ...]]:
    """A rule with its examples from the text of its file; PlanErrors where anything is wrong with either."""
    root = compose(text, file)
    rule = rule_of(root, file, text)
    faults = Faults(file, text)
    examples = tuple(_examples(faults, root))
    faults.tell()
    return rule, examples


def read_rule_file(path: Path) -> tuple[Rule, tuple[Example, ...]]:
    """The same from a file."""
    return read_rule(read_text(path), path.name)


def examples_in(path: Path) -> tuple[Example, ...]:
    """The examples of a rule file, none where it has none; PlanErrors where one is not well formed."""
    text = decode_plan(read_bytes(path), str(path))
    root = compose(text, str(path))
    if not any(key.text == EXAMPLES for key, _ in root.pairs):
        return ()
    faults = Faults(str(path), text)
    examples = tuple(_examples(faults, root))
    faults.tell()
    return examples


def complaints(rule: Rule, example: Example, kinds: Kinds | None = None) -> list[str]:
    """How an example differs from what its rule says of it; empty where all is as stated."""
    facts = Facts(read_plan_text(example.plan, example.name, kinds))
    judgement = judge_rules([rule], facts)
    found = [_seen(finding.at.line, finding.devices) for finding in sorted(fold(judgement.findings), key=place)]
    if judgement.incomplete:
        return [f"{example.name}: {'; '.join(judgement.incomplete)} {[f.why for f in judgement.findings]}"]
    if sorted(found) != sorted(example.findings):
        return [f"{example.name}: expected {sorted(example.findings)}, found {sorted(found)}"]
    return []


def _examples(faults: Faults, root: Node) -> Iterator[Example]:
    if not root.pairs or root.pairs[-1][0].text != EXAMPLES:
        faults.add(root, "the rule has no examples at its end", "the key `examples`, as the last one")
        return
    groups = faults.mapping(root.pairs[-1][1], ("bad", "good"), (), "the examples")
    for group, node in groups.items():
        if node.kind != "list" or not node.items:
            faults.add(node, f"{node.what()} stands here", f"a list of {group} examples")
        for item in node.items:
            yield _example(faults, item, group)


def _example(faults: Faults, node: Node, group: str) -> Example:
    keys = faults.mapping(node, ("plan", "findings") if group == "bad" else ("plan",), (), f"a {group} example")
    name = f"{group} example in line {node.line}"
    if "plan" in keys:
        faults.words(keys["plan"])
    findings = keys.get("findings")
    if findings is not None and (findings.kind != "list" or not findings.items):
        faults.add(findings, f"{findings.what()} stands here", "a list of findings, each with line and devices")
    return Example(name, keys["plan"].text if "plan" in keys else "", tuple(_expected(faults, findings) if findings else ()))


def _expected(faults: Faults, node: Node) -> Iterator[Expected]:
    for item in node.items:
        keys = faults.mapping(item, ("line", "devices"), (), "an expected finding")
        if len(keys) < 2:
            continue
        line, devices = keys["line"], keys["devices"]
        if not line.text.isdecimal():
            faults.add(line, f"{line.what()} is no line", "the number of a line of the plan, from 1")
        elif devices.kind != "list":
            faults.add(devices, f"{devices.what()} stands here", "a list of devices")
        else:
            yield _seen(int(line.text), [device.text for device in devices.items])


def _seen(line: int, devices: Sequence[str]) -> Expected:
    return line, tuple(sorted(devices))
