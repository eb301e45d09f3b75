"""The example plans: the good ones are quiet, and in each bad one the rule that its comment names finds what the comment says."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from wirecheck.behaviour import Behaviour
from wirecheck.findings import Report, severity_rank
from wirecheck.outputs.text import THE_SAME, render_text
from wirecheck.pipeline import check_plan
from wirecheck.plan import read_plan

EXAMPLES = Path(__file__).parents[1] / "examples"
GOOD = sorted((EXAMPLES / "good").glob("*.yaml"))
BAD = sorted((EXAMPLES / "bad").glob("*.yaml"))

TURNS = {
    "bench-grinder": {"forward"},
    "lathe": {"forward", "reverse"},
    "mill": {"forward"},
    "pillar-drill": {"forward", "reverse"},
    "surface-grinder": {"forward"},
}

LOSING = {
    "grinder-emergency-stop-on-the-earthed-side": ("wire 7 earthed", 0, ("G0=on", "Q1=on", "S1=pressed", "S3=pressed")),
    "grinder-wrong-side-earthed": ("wire 6 earthed", 0, ("G0=on", "Q1=on")),
    "lathe-two-channels-on-one-contact": ("W2: 1 shorted to 2", 0, ("G0=on", "Q1=on", "S1=pressed", "S5=pressed")),
    "sander-guard-energises-to-stop": ("wire 0V [Q2:A2–K9:A2] open", 0, ("G0=on", "Q1=on", "S3=pressed", "S4=open")),
}
"""Of the plans that only a fault shows to be wrong: the fault, how many events come before it, and all events."""

FINDING = re.compile(r"^# finding: ([a-z-]+), ([a-z]+)\n(?!#)", re.MULTILINE)


@cache
def report_on(path: Path) -> Report:
    return check_plan(str(path))


def name_of(path: Path) -> str:
    return path.stem


@pytest.mark.parametrize("path", GOOD, ids=name_of)
def test_a_good_plan_is_quiet(path: Path) -> None:
    report = report_on(path)
    assert not report.incomplete
    assert [f for f in report.findings if severity_rank(f.severity) >= severity_rank("malfunction")] == []


@pytest.mark.parametrize(("name", "directions"), TURNS.items())
def test_the_motor_of_a_good_plan_turns(name: str, directions: set[str]) -> None:
    # A plan whose motor never turns would be quiet as well.
    behaviour = Behaviour(read_plan(str(EXAMPLES / "good" / f"{name}.yaml")))
    assert {d for d in ("forward", "reverse") if behaviour.moving("M1", d) & behaviour.reached} == directions


@pytest.mark.parametrize("path", BAD, ids=name_of)
def test_a_bad_plan_is_found_by_the_rule_its_comment_names(path: Path) -> None:
    named = FINDING.search(path.read_text(encoding="utf-8"))
    assert named, "the comment at the top ends with `# finding: RULE, SEVERITY`"
    assert named.groups() in {(f.rule, f.severity) for f in report_on(path).findings}


@pytest.mark.parametrize(("name", "shown"), LOSING.items())
def test_a_plan_that_is_wrong_with_a_fault_shows_the_fault_and_the_way_to_it(name: str, shown: object) -> None:
    path = EXAMPLES / "bad" / f"{name}.yaml"
    named = FINDING.search(path.read_text(encoding="utf-8"))
    assert named
    (found,) = (f for f in report_on(path).findings if f.rule == named[1])
    assert (found.evidence.fault, found.evidence.fault_after, found.evidence.events) == shown
    assert found.evidence.steps[-1].motion["M1"] != "stopped"


def test_no_single_fault_takes_the_emergency_stop_of_category_3_away() -> None:
    functions = {f["name"]: f for f in report_on(EXAMPLES / "good" / "surface-grinder.yaml").functions}
    stop = functions["emergency-stop"]
    assert (stop["lost_by"], stop["lost_unseen_by"]) == ([], [])
    assert stop["required"] == {"category": "3", "level": "d"}
    assert str(stop["structure"]).startswith("category 3 at most")
    assert int(str(stop["faults_tried"])) > 100


@pytest.mark.parametrize("path", [*GOOD, *BAD], ids=name_of)
def test_a_plan_that_a_comment_refers_to_is_there(path: Path) -> None:
    named = re.findall(r"(?:good|bad)/[a-z0-9-]+\.yaml", path.read_text(encoding="utf-8"))
    assert [name for name in named if not (EXAMPLES / name).is_file()] == []


@pytest.mark.parametrize("path", [*GOOD, *BAD], ids=name_of)
def test_an_example_states_all_that_matters(path: Path) -> None:
    assert [line for line in report_on(path).assumed if "not stated" in line] == []


def test_there_are_enough_of_both_and_the_list_names_them_all() -> None:
    listed = re.findall(r"\]\(((?:good|bad)/[a-z0-9-]+\.yaml)\)", (EXAMPLES / "README.md").read_text(encoding="utf-8"))
    assert sorted(listed) == sorted(str(path.relative_to(EXAMPLES)) for path in [*GOOD, *BAD])
    assert set(TURNS) == {path.stem for path in GOOD}
    assert len(GOOD) >= 4
    assert len(BAD) >= 4


@pytest.mark.parametrize("path", BAD, ids=name_of)
def test_a_plan_with_one_defect_takes_one_screen(path: Path) -> None:
    # 50 lines of 100 columns; the defect that the comment names stands there at full length or below the one of the same cause.
    text = render_text(report_on(path), width=100)
    assert len(text.splitlines()) <= 50
    named = FINDING.search(path.read_text(encoding="utf-8"))
    assert named
    messages = [f.message.partition(THE_SAME)[0] for f in report_on(path).findings if f.rule == named[1]]
    assert any(" ".join(message.split()) in " ".join(text.split()) for message in messages)


def test_the_holding_contact_ahead_of_the_stop_is_told_with_the_terminals_to_change() -> None:
    (found,) = (
        f
        for f in report_on(EXAMPLES / "bad" / "mill-holding-contact-ahead-of-stop.yaml").findings
        if f.rule == "stop-stops-motion"
    )
    assert "take wire 4 off K1:13, and feed K1:13 from behind S3:11-12" in found.remedy


def test_a_fault_is_told_as_whole_and_failed() -> None:
    (found,) = (
        f
        for f in report_on(EXAMPLES / "bad" / "grinder-wrong-side-earthed.yaml").findings
        if f.rule == "earth-fault-starts-nothing"
    )
    assert found.evidence.cases == {
        "wire 6 clear of metal": "Q1 is switched on, and M1 stays still",
        "wire 6 touching metal": "Q1 is switched on, and M1 starts",
    }
