"""What is said of this plan, and what is left away because the plan has no such thing."""

from __future__ import annotations

import pytest

from wirecheck.findings import Finding
from wirecheck.pipeline import check_plan
from wirecheck.rules.examples import read_rule_file
from wirecheck.rules.loader import rule_files


def found(rule: str, number: int, old: str = "", new: str = "") -> Finding:
    """What a rule finds first in a bad example of its own, in which some text may be another."""
    (path,) = (path for path in rule_files() if path.stem == rule)
    plan = [example.plan for example in read_rule_file(path)[1] if example.findings][number]
    assert old in plan
    return next(f for f in check_plan(f"{rule}.yaml", plan.replace(old, new)).findings if f.rule == rule)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("", "", " Set T1 to take its commands from its terminals alone: it obeys its keypad too."),
        (
            "command_source: both",
            "command_source: unknown",
            " Set T1 to take its commands from its terminals alone: it may obey its keypad too.",
        ),
    ],
)
def test_a_drive_that_obeys_its_keypad_is_told_to_be_set(old: str, new: str, said: str) -> None:
    assert found("held-stop-wins-over-start", 2, old, new).remedy.endswith(said)


def test_where_no_drive_obeys_a_keypad_nothing_is_said_of_one() -> None:
    assert "keypad" not in found("emergency-stop-stops-motion", 0).remedy


def test_a_coil_for_another_voltage_is_told_as_that_and_as_no_sneak_path() -> None:
    (path,) = (path for path in rule_files() if path.stem == "everything-gets-enough-voltage")
    plan = [example.plan for example in read_rule_file(path)[1] if example.findings][1]
    rules = [f.rule for f in check_plan("coil.yaml", plan).findings if f.severity != "advice"]
    assert "everything-gets-enough-voltage" in rules
    assert "no-coil-acts-through-another-load" not in rules
