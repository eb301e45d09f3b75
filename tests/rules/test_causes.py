"""Findings of one cause: which leads, which follow."""

from __future__ import annotations

import pytest

from tests.rules.plans import finding, spot
from wirecheck.findings import Evidence
from wirecheck.rules.causes import linked
from wirecheck.rules.loader import load_rules

WALK = Evidence(events=("Q1=on", "S2=open"), walk=("F2:1", "Q2:A1"))
FAULT = Evidence(events=("Q1=on",), fault="wire 6 earthed", fault_after=0)


def follows(one: dict[str, object], other: dict[str, object], causes: tuple[str, ...] = ()) -> list[object]:
    """What each of two findings follows; `causes` are the rules from which those of the second rule follow."""
    found = [
        finding("one", 3, **{"rule": "one-rule"} | one),
        finding("other", 9, **{"rule": "other-rule"} | other),
    ]
    return [f.follows for f in linked(found, {"one-rule": (), "other-rule": causes})]


ONE = ("one-rule", "one")


@pytest.mark.parametrize("evidence", [WALK, FAULT])
def test_the_same_current_or_the_same_fault_is_one_cause(evidence: Evidence) -> None:
    later = evidence._replace(events=("Q1=on", "S4=closed"))
    assert follows({"evidence": evidence}, {"evidence": later}) == [None, ONE]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (WALK, WALK._replace(walk=("F2:1", "Q3:A1"))),
        (WALK, WALK._replace(fault="wire 6 earthed", fault_after=0)),
        (FAULT, FAULT._replace(fault="wire 7 earthed")),
        (Evidence(), Evidence()),
        (Evidence(events=("Q1=on",)), Evidence(events=("Q1=on",))),
    ],
)
def test_another_current_or_fault_is_another_cause(one: Evidence, other: Evidence) -> None:
    assert follows({"evidence": one}, {"evidence": other}) == [None, None]


def test_a_rule_names_those_from_which_its_findings_follow_on_the_same_device() -> None:
    assert follows({"devices": ("S3", "M1")}, {"devices": ("M1",)}, causes=("one-rule",)) == [None, ONE]
    assert follows({"devices": ("S3",)}, {"devices": ("M1",)}, causes=("one-rule",)) == [None, None]


def test_the_worst_leads_whatever_its_place() -> None:
    assert follows({"evidence": WALK, "severity": "advice"}, {"evidence": WALK, "severity": "danger"})[0] == (
        "other-rule",
        "other",
    )


def test_a_cause_leads_though_it_stands_later_and_shows_what_its_consequence_shows() -> None:
    found = [finding("one", 3, rule="one-rule", evidence=FAULT), finding("other", 9, rule="other-rule")]
    one, other = linked(found, {"one-rule": ("other-rule",)})
    assert one.follows == ("other-rule", "other")
    assert (other.follows, other.evidence) == (None, FAULT)


def test_what_follows_from_a_follower_has_the_same_lead() -> None:
    found = [
        finding("dead", 3, rule="dead-rule", devices=("S3",)),
        finding("goes on", 4, rule="stop-rule", devices=("S3", "M1")),
        finding("never stops", 5, rule="motor-rule", devices=("M1",)),
    ]
    links = linked(found, {"stop-rule": ("dead-rule",), "motor-rule": ("stop-rule",)})
    assert [f.follows for f in links] == [None, ("dead-rule", "dead"), ("dead-rule", "dead")]


def test_of_two_devices_of_one_rule_each_follows_its_own_cause() -> None:
    found = [
        finding("S3 does not stop M1", 3, rule="stop-rule", devices=("S3", "M1")),
        finding("S3 held, M1 starts", 3, rule="held-rule", devices=("S3", "K1", "M1")),
        finding("S5 held, M1 starts", 4, rule="held-rule", devices=("S5", "K1", "M1")),
    ]
    assert [f.follows for f in linked(found, {"held-rule": ("stop-rule",)})] == [None, ("stop-rule", "S3 does not stop M1"), None]


def test_a_milder_cause_at_the_same_place_lends_its_remedy() -> None:
    starts = finding("starts", 3, rule="start-rule", severity="danger", remedy="Use a start button.")
    switches = finding(
        "switches the output", 3, rule="output-rule", severity="damage", remedy="Take its contact into the permit."
    )
    lead, cause = linked([starts, switches], {"start-rule": ("output-rule",)})
    assert (lead.follows, lead.remedy) == (None, "Take its contact into the permit.")
    assert cause.follows == ("start-rule", "starts")
    elsewhere = switches._replace(at=spot(9))
    assert [f.follows for f in linked([starts, elsewhere], {"start-rule": ("output-rule",)})] == [None, None]
    assert linked([starts, elsewhere], {"start-rule": ("output-rule",)})[0].remedy == "Use a start button."


def test_faults_of_two_kinds_have_one_cause_where_a_wire_is_in_both() -> None:
    broken = finding("broken", 3, rule="wire-rule", wires=("1", "2"), evidence=FAULT._replace(fault="wire 1 open"))
    earthed = finding("earthed", 3, rule="earth-rule", wires=("2",), evidence=FAULT._replace(fault="wire 2 earthed"))
    causes = {"earth-rule": ("wire-rule",)}
    assert [f.follows for f in linked([broken, earthed], causes)] == [None, ("wire-rule", "broken")]
    assert [f.follows for f in linked([broken, earthed._replace(wires=("7",))], causes)] == [None, None]


def test_two_contacts_side_by_side_are_one_cause_and_two_in_a_row_are_two() -> None:
    one = finding("S3", 3, devices=("S3", "M1"), evidence=WALK._replace(walk=("F2:2", "S3:11", "S5:11", "S5:12", "Q2:A1")))
    past = WALK._replace(walk=("F2:2", "S3:11", "S3:12", "S5:12", "Q2:A1"))
    other = finding("S5", 4, devices=("S5", "M1"), evidence=past)
    assert [f.follows for f in linked([one, other], {})] == [None, ("lamps-are-marked", "S3")]
    bridged = WALK._replace(walk=("F2:2", "S3:11", "S3:12", "S5:11", "S5:12", "Q2:A1"))
    assert [f.follows for f in linked([one._replace(evidence=bridged), other], {})] == [None, None]


def test_what_a_rule_finds_twice_on_one_device_is_one_cause_where_it_names_itself() -> None:
    itself = {"lamps-are-marked": ("lamps-are-marked",)}
    found = [finding("DI1", 3, devices=("S1", "T1")), finding("DI2", 4, devices=("S2", "T1"))]
    assert [f.follows for f in linked(found, itself)] == [None, ("lamps-are-marked", "DI1")]
    assert [f.follows for f in linked(found, {})] == [None, None]
    apart = [found[0], found[1]._replace(devices=("S2", "T2"))]
    assert [f.follows for f in linked(apart, itself)] == [None, None]


def test_a_cause_stands_ahead_of_what_follows_from_its_consequence_whatever_their_lines() -> None:
    found = [
        finding("cannot be started", 3, rule="motor-rule", devices=("M1", "S5")),
        finding("starts nothing", 4, rule="start-rule", devices=("S5", "M1")),
        finding("does nothing", 5, rule="dead-rule", devices=("S5",)),
    ]
    links = linked(found, {"motor-rule": ("start-rule",), "start-rule": ("dead-rule",)})
    assert [f.follows for f in links] == [("dead-rule", "does nothing"), ("dead-rule", "does nothing"), None]


def test_what_is_accepted_neither_leads_nor_follows() -> None:
    reason = {"because": "x"}
    assert follows({"evidence": WALK, "accepted": reason}, {"evidence": WALK}) == [None, None]
    assert follows({"evidence": WALK}, {"evidence": WALK, "accepted": reason}) == [None, None]


def test_every_rule_that_follows_from_others_names_rules_that_are_there() -> None:
    rules = {made.name: made for made in load_rules()}
    named = [other for made in rules.values() for other in made.follows_from]
    assert named
    assert set(named) <= set(rules)
