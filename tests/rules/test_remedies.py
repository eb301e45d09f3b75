"""What a remedy and a trace say of this plan, and what they leave away because the plan has no such thing."""

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


def test_the_steps_to_a_quantity_are_told_in_words() -> None:
    steps = found("torque-off-waits-for-the-ramp", 0).evidence.steps
    assert [(step.event, step.notes) for step in steps] == [
        ("G0=on", ("the supply comes on",)),
        ("Q1=on", ("Q1 is switched on",)),
        ("S2=pressed", ("the emergency stop S2 is pressed",)),
    ]
