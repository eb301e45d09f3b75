"""What `check` says of the bad examples of the rules: one screen where one thing is wrong, and nothing bad left out."""

from __future__ import annotations

from pathlib import Path

import pytest

from wirecheck.findings import Finding, Report
from wirecheck.outputs.text import SCREEN, THE_SAME, render_text
from wirecheck.pipeline import check_plan
from wirecheck.rules.examples import read_rule_file
from wirecheck.rules.loader import rule_files

FILES = rule_files()

ONE_CAUSE = {
    (
        "broken-wire-starts-nothing",
        0,
    ): "a stop that energises to stop: broken wire, earthed wire and lost supply, start and no stop",
    ("circuit-comes-to-rest", 0): "each coil through its own break contact in place of the other's",
    ("emergency-stop-stops-motion", 0): "two emergency stops side by side",
    ("everything-gets-enough-voltage", 1): "a coil of 48 V on 24 V, so that the motor cannot be started",
    ("every-start-starts", 2): "a start without effect, so that the motor cannot be reversed",
    ("keypad-start-hears-the-stop", 1): "two stops on an input that the keypad does not hear",
    ("nothing-switches-a-running-drive-output", 0): "an isolator behind the drive that the drive knows nothing of",
    ("stated-function-stops-what-it-must", 1): "a contact that is not in the way of the second contactor",
    ("stop-stops-motion", 1): "two stops side by side",
}
"""Bad examples, by rule and place from 0, of which several rules find something, and all of it has the cause that stands here."""


LEFT_AWAY = ("machine-can-be-locked-off", "isolator-can-be-locked-off")
"""What many of the small plans have not, to be short: there it is a second defect, and not what they show."""


def worse(report: Report) -> list[Finding]:
    """What is no mere advice."""
    return [finding for finding in report.findings if finding.severity != "advice"]


def leads(report: Report) -> list[Finding]:
    """One finding for each cause."""
    return [finding for finding in worse(report) if not finding.follows]


STEP = 2
"""Of the bad examples every second is checked here: a whole check of each costs half a minute of a processor."""


def bad_examples(path: Path) -> list[str]:
    """The bad plans of one rule."""
    return [example.plan for example in read_rule_file(path)[1] if example.findings]


def report_on(path: Path, plan: str) -> Report:
    """The report by all rules on a bad plan of a rule."""
    report = check_plan(path.name, plan)
    left_away = () if path.stem in LEFT_AWAY else LEFT_AWAY
    return report._replace(findings=tuple(f for f in report.findings if f.rule not in left_away))


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_one_cause_takes_one_screen_and_nothing_worse_than_advice_is_left_out(path: Path) -> None:
    for plan in bad_examples(path)[FILES.index(path) % STEP :: STEP]:
        report = report_on(path, plan)
        text = render_text(report, width=100)
        if len(leads(report)) <= 1:
            assert text.count("\n") <= SCREEN, text
        told = " ".join(text.split())
        missed = [f.message for f in worse(report) if " ".join(f.message.partition(THE_SAME)[0].split()) not in told]
        assert missed == []


@pytest.mark.parametrize(("name", "number"), ONE_CAUSE, ids=[name for name, _ in ONE_CAUSE])
def test_what_has_one_cause_is_told_as_one_finding(name: str, number: int) -> None:
    (path,) = (path for path in FILES if path.stem == name)
    report = report_on(path, bad_examples(path)[number])
    assert len(worse(report)) > 1
    assert len(leads(report)) == 1
    assert render_text(report, width=100).count("\n") <= SCREEN
