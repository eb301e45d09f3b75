"""Findings of one cause: which leads, which follow."""

from __future__ import annotations

import pytest

from tests.rules.plans import finding
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


def test_what_is_accepted_neither_leads_nor_follows() -> None:
    reason = {"because": "x"}
    assert follows({"evidence": WALK, "accepted": reason}, {"evidence": WALK}) == [None, None]
    assert follows({"evidence": WALK}, {"evidence": WALK, "accepted": reason}) == [None, None]


def test_every_rule_that_follows_from_others_names_rules_that_are_there() -> None:
    rules = {made.name: made for made in load_rules()}
    named = [other for made in rules.values() for other in made.follows_from]
    assert named
    assert set(named) <= set(rules)
