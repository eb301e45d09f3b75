"""Mains beside extra-low voltage on one relay: a danger where the plan says that basic insulation parts them, else a question."""

from __future__ import annotations

import pytest

from wirecheck.facts import Facts
from wirecheck.plan import read_plan_text
from wirecheck.rules.examples import read_rule_file
from wirecheck.rules.loader import rule_files
from wirecheck.rules.runner import judge_rules

RULE, EXAMPLES = read_rule_file(next(path for path in rule_files() if path.stem == "one-relay-keeps-to-one-voltage"))


@pytest.mark.parametrize(
    ("stated", "expected", "rests_on"),
    [
        ("contact_insulation: basic, ", ["danger"], ()),
        ("contact_insulation: reinforced, ", [], ()),
        ("", ["advice"], ("K1 contact_insulation is not stated",)),
    ],
)
def test_how_loudly_it_is_told(stated: str, expected: list[str], rests_on: tuple[str, ...]) -> None:
    text = EXAMPLES[0].plan.replace("contact_insulation: basic, ", stated)
    found = judge_rules([RULE], Facts(read_plan_text(text, "plan.yaml"))).findings
    assert [f.severity for f in found] == expected
    assert all(f.rests_on == rests_on for f in found)
