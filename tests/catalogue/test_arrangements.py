"""Correct arrangements raise nothing at malfunction or above, and those that only look wrong do not either."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import pytest

from tests.catalogue.table import CATALOGUE, edited, read_table
from wirecheck.behaviour import Behaviour
from wirecheck.findings import severity_rank
from wirecheck.pipeline import check_plan
from wirecheck.plan import read_plan_text

ARRANGEMENTS = read_table(CATALOGUE / "arrangements.yaml")
PLANS = sorted((CATALOGUE / "arrangements").glob("*.yaml"))


def words(arrangement: Mapping[str, Any]) -> str:
    return str(arrangement["arrangement"])


def text_of(arrangement: Mapping[str, Any]) -> str:
    return edited(arrangement["plan"], arrangement.get("change", ())).text


@cache
def alarms(text: str) -> tuple[tuple[str, int, str], ...]:
    report = check_plan("plan.yaml", text)
    assert not report.incomplete
    loud = (f for f in report.findings if severity_rank(f.severity) >= severity_rank("malfunction"))
    return tuple((f.rule, f.at.line, f.message) for f in loud)


@pytest.mark.parametrize("arrangement", ARRANGEMENTS, ids=words)
def test_a_correct_arrangement_is_quiet(arrangement: Mapping[str, Any]) -> None:
    assert alarms(text_of(arrangement)) == ()


@pytest.mark.parametrize("arrangement", ARRANGEMENTS, ids=words)
def test_every_motor_of_an_arrangement_turns(arrangement: Mapping[str, Any]) -> None:
    # A machine that never turns would be quiet as well.
    plan = read_plan_text(text_of(arrangement), "plan.yaml")
    behaviour = Behaviour(plan)
    motors = [name for name, device in plan.devices.items() if device.kind == "motor"]
    assert motors
    assert [m for m in motors if not (behaviour.moving(m, "forward") | behaviour.moving(m, "reverse")) & behaviour.reached] == []


def test_every_plan_of_an_arrangement_is_in_the_table() -> None:
    named = {a["plan"].removeprefix("arrangements/") for a in ARRANGEMENTS}
    assert [path.stem for path in PLANS if path.stem not in named] == []
