from __future__ import annotations

import pytest

from tests.generators.zone_line import MOST_ZONES, zone_line
from wirecheck.facts import Facts
from wirecheck.findings import severity_rank
from wirecheck.pipeline import check_plan
from wirecheck.plan import read_plan_text
from wirecheck.rules.loader import load_rules


@pytest.mark.parametrize("zones", [1, 2])
def test_a_line_is_decided_and_quiet(zones: int) -> None:
    report = check_plan("line.yaml", zone_line(zones))
    assert not report.incomplete
    assert [f for f in report.findings if severity_rank(f.severity) >= severity_rank("malfunction")] == []
    reached = {proof.claim for proof in report.proved if proof.condition_reached}
    assert {
        rule.title for rule in load_rules() if rule.name in ("emergency-stop-stops-motion", "guard-opened-stops-motion")
    } <= reached


def test_the_longest_line_can_be_explored() -> None:
    facts = Facts(read_plan_text(zone_line(MOST_ZONES), "line.yaml"))
    motors = [device.name for device in facts.of_kind("motor")]
    assert len(motors) == MOST_ZONES
    assert all(facts.view_of(motor).moving(motor, way) for motor in motors for way in ("forward", "reverse"))


def test_a_line_without_its_interlocks_is_not_quiet() -> None:
    text = zone_line(2).replace("[Q103:22, Q102:A1]", "[Q103:21, Q102:A1]").replace("mechanical_interlock: Q103, ", "")
    text = text.replace("mechanical_interlock: Q102, ", "").replace("[Q102:22, Q103:A1]", "[Q102:21, Q103:A1]")
    text = text.replace("[S105:22, Q103:21]", "[S105:21, Q103:21]").replace("[S104:22, Q102:21]", "[S104:21, Q102:21]")
    found = {f.rule for f in check_plan("line.yaml", text).findings}
    assert "never-both-directions-together" in found


@pytest.mark.parametrize("zones", [0, MOST_ZONES + 1])
def test_a_line_has_one_zone_at_least_and_what_its_supply_can_feed_at_most(zones: int) -> None:
    with pytest.raises(ValueError, match="1 to 16"):
        zone_line(zones)
