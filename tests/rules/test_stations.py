"""What counts as a stop at the place from which a motion is started: right plans in which a device is put elsewhere."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from tests.catalogue.table import edited
from wirecheck.findings import Finding
from wirecheck.pipeline import check_plan

STOP = "role: stop, colour: BK, contacts: {11-12: NC}, place: "
EMERGENCY = "    colour: RD\n    place: "


def moved(what: str, here: str, there: str) -> Mapping[str, str]:
    return {"from": f"{what}{here}", "to": f"{what}{there}"}


def told(plan: str, *change: Mapping[str, str]) -> list[Finding]:
    report = check_plan("plan.yaml", edited(plan, change).text)
    assert not report.incomplete
    return [f for f in report.findings if f.rule == "every-station-can-stop"]


def test_both_starts_of_a_station_are_told_together() -> None:
    (finding,) = told("good/lathe", moved(STOP, "pendant", "lathe"), moved(EMERGENCY, "pendant", "lathe"))
    assert finding.severity == "danger"
    assert finding.devices == ("S4", "S5", "M1")
    assert "from where S4 (forward) and S5 (reverse) start it: nothing at pendant" in finding.message
    assert "S3 (stop) and S1 at lathe" in finding.message
    assert finding.evidence.events[-2:] == ("S4=pressed", "S4=released")


@pytest.mark.parametrize("what", [STOP, EMERGENCY])
def test_a_stop_or_an_emergency_stop_is_enough(what: str) -> None:
    assert told("good/lathe", moved(what, "pendant", "lathe")) == []


def test_a_key_for_run_and_jog_is_no_stop_though_it_ends_the_motion() -> None:
    stop = "role: stop, colour: BK, contacts: {11-12: NC, 21-22: NC}, place: "
    (finding,) = told("good/mill", moved(stop, "pendant", "mill"), moved(EMERGENCY, "pendant", "mill"))
    assert (finding.severity, finding.devices) == ("danger", ("S4", "M1"))


def test_a_lever_needs_no_other_stop() -> None:
    assert told("good/pillar-drill", moved(EMERGENCY, "head", "drill")) == []


def test_an_emergency_stop_that_acts_by_a_delay_is_a_stop() -> None:
    assert told("arrangements/two-stage-emergency-stop", moved(STOP, "pendant", "machine")) == []


def test_an_emergency_stop_is_a_stop_whatever_function_the_plan_states_of_it() -> None:
    function = {"from": "\ncables:\n", "to": "\nfunctions:\n  torque: {when: S1=pressed, must: K3 off}\ncables:\n"}
    assert told("arrangements/two-stage-emergency-stop", moved(STOP, "pendant", "machine"), function) == []


def test_the_main_switch_alone_is_told_more_mildly() -> None:
    start = "title: start, role: start, colour: WH, contacts: {13-14: NO}, place: "
    (finding,) = told("good/bench-grinder", moved(start, "bench", "panel"))
    assert finding.severity == "malfunction"
    assert "Only the supply can be cut there, by Q1." in finding.message


@pytest.mark.parametrize(
    "change",
    [moved(STOP, "pendant", "lathe"), {"from": ", contacts: {11-12: NC}, place: pendant", "to": ", contacts: {11-12: NC}"}],
)
def test_where_the_plan_does_not_say_where_a_start_stands_it_is_asked(change: Mapping[str, str]) -> None:
    nowhere = {
        "from": "role: reverse, colour: GY, contacts: {13-14: NO}, place: pendant",
        "to": "role: reverse, colour: GY, contacts: {13-14: NO}",
    }
    (finding,) = told("good/lathe", change, nowhere)
    assert (finding.severity, finding.devices) == ("advice", ("S5", "M1"))
    assert "the plan does not say at which place S5 (reverse)" in finding.message
