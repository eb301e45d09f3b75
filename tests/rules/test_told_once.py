"""What a report says once: a cause that two rules see, a held start of several motors, a device's title, a release let go."""

from __future__ import annotations

import re
from functools import cache

import pytest

from tests.rules.plans import finding, rule, spot
from wirecheck.behaviour.asked import asked
from wirecheck.behaviour.rehearsal import rehearse
from wirecheck.findings import Evidence, Report
from wirecheck.outputs.rehearsal import render_rehearsal_text
from wirecheck.outputs.text import render_text
from wirecheck.pipeline import check_plan
from wirecheck.plan import read_plan_text
from wirecheck.rules.loader import load_rules
from wirecheck.rules.record import said_once
from wirecheck.rules.runner import told_once

SHAPER = """\
wirecheck: 1
machine: {name: Hand shaper}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, protected_by: {rating: 16 A, curve: C}}
  F2: {kind: fuse, rating: 2 A}
  S3: {kind: push-button, title: stop, role: stop, contacts: {11-12: NC}}
  S4: {kind: push-button, role: start, contacts: {13-14: NO}}
  S6: {kind: push-button, role: jog, contacts: {11-12: NC, 13-14: NO}}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO}}
  M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}
wires:
  - {number: L1, run: [G0:L1, Q2:1]}
  - {number: L2, run: [G0:L2, Q2:3]}
  - {number: L3, run: [G0:L3, Q2:5]}
  - {number: U, run: [Q2:2, M1:U1]}
  - {number: V, run: [Q2:4, M1:V1]}
  - {number: W, run: [Q2:6, M1:W1]}
  - {number: PE, run: [G0:PE, M1:PE]}
  - {number: N, run: [G0:N, Q2:A2]}
  - {number: L1, run: [G0:L1, F2:1]}
  - {number: 2, run: [F2:2, S3:11]}
  - {number: 3, run: [S3:12, S4:13, S6:11, S6:13]}
  - {number: 4, run: [S6:12, Q2:13]}
  - {number: 5, run: [S4:14, S6:14, Q2:14, Q2:A1]}
"""
"""The jog button opens the way of the holding contact by a break contact of its own."""

AHEAD = SHAPER.replace("[S6:12, Q2:13]", "[F2:2, Q2:13]") + "functions:\n  table-stop: {when: S3=pressed, must: M1 stopped}\n"
"""The holding contact is joined ahead of the stop, and the plan promises that the stop stops."""

TWO = (
    SHAPER.replace("  M1:", "  M2: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}\n  M1:")
    .replace("[Q2:2, M1:U1]", "[Q2:2, M1:U1, M2:U1]")
    .replace("[Q2:4, M1:V1]", "[Q2:4, M1:V1, M2:V1]")
    .replace("[Q2:6, M1:W1]", "[Q2:6, M1:W1, M2:W1]")
)

RELEASE = """\
wirecheck: 1
machine: {name: Bench grinder}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN, protected_by: {rating: 16 A, curve: C}}
  S1: {kind: emergency-stop, title: Emergency stop, contacts: {11-12: NC}}
  Q2: {kind: no-volt-release, poles: [1-2, 3-4], voltage: 230 V AC}
  M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}
wires:
  - {number: L1, run: [G0:L, Q2:1]}
  - {number: N1, run: [G0:N, Q2:3]}
  - {number: U, run: [Q2:2, M1:U1]}
  - {number: V, run: [Q2:4, M1:V1]}
  - {number: PE, run: [G0:PE, M1:PE]}
  - {number: 1, run: [G0:L, S1:11]}
  - {number: 2, run: [G0:L, Q2:A1]}
  - {number: N, run: [G0:N, Q2:A2]}
"""
"""The emergency stop hangs on nothing; the release stays in when its start is let go."""

LAMP_FED = RELEASE.replace("  S1:", "  G9: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}\n  S1:")
LAMP_FED = LAMP_FED.replace("[G0:L, Q2:A1]", "[G9:L, Q2:A1]").replace("[G0:N, Q2:A2]", "[G9:N, Q2:A2]")
"""The coil of the release has a supply of its own, so that the motor starts again when the other one comes back."""


@cache
def report_of(text: str) -> Report:
    return check_plan("plan.yaml", text)


def messages(text: str, name: str) -> list[str]:
    return [f.message for f in report_of(text).findings if f.rule == name]


# one cause that two rules see


def test_a_jog_that_hangs_on_its_own_contact_is_told_once_with_the_walk_that_keeps_it_going() -> None:
    assert messages(SHAPER, "hold-to-run-stops-when-released") == []
    (told,) = [f for f in report_of(SHAPER).findings if f.rule == "hold-to-run-does-not-hang-on-contact-speed"]
    assert told.message.startswith("M1 may go on turning when S6 is let go: ")
    assert told.evidence.walk[-1] == "Q2:A1"
    assert told.evidence.steps[-1].motion == {"M1": "forward"}
    assert set(told.devices) == {"S6", "Q2", "M1"}
    assert any("9.2.3.7" in source for source in told.sources)


def test_a_jog_that_surely_goes_on_is_still_told() -> None:
    plain = SHAPER.replace("contacts: {11-12: NC, 13-14: NO}", "contacts: {13-14: NO}")
    plain = plain.replace("S4:13, S6:11, S6:13", "S4:13, S6:13, Q2:13").replace("  - {number: 4, run: [S6:12, Q2:13]}\n", "")
    assert messages(plain, "hold-to-run-stops-when-released") == ["M1 goes on turning when S6 is let go."]


def test_a_stop_that_a_function_promises_is_told_once_with_the_function() -> None:
    assert messages(AHEAD, "stated-function-stops-what-it-must") == []
    assert messages(AHEAD, "stop-stops-motion") == [
        "M1 goes on turning when the stop S3 is pressed. The plan promises that it stops (function table-stop)."
    ]


def test_a_function_of_something_else_is_told_by_its_own_rule() -> None:
    other = AHEAD.replace("when: S3=pressed", "when: S6=released")
    assert messages(other, "stop-stops-motion") == ["M1 goes on turning when the stop S3 is pressed."]
    (told,) = messages(other, "stated-function-stops-what-it-must")
    assert "table-stop" in told


SHOWN = Evidence(events=("Q1=on", "S3=pressed"), walk=("F2:1", "Q2:A1"))


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({}, 1),
        ({"devices": ("S3", "M1", "Q2")}, 1),
        ({"devices": ("S3", "M2")}, 2),
        ({"rule": "another-rule"}, 2),
        ({"evidence": Evidence(events=("S3=pressed",))}, 2),
        ({"evidence": SHOWN._replace(fault="K1 stuck in", fault_after=0)}, 2),
        ({"evidence": Evidence()}, 2),
    ],
)
def test_only_the_same_events_on_the_same_devices_are_one_cause(changes: dict[str, object], told: int) -> None:
    rules = [rule("wider-rule"), rule("narrow-rule", told_by=("wider-rule",)), rule("another-rule")]
    narrow = finding("narrow", rule="narrow-rule", devices=("S3", "M1"), evidence=SHOWN, wires=("2",), sources=("a",))
    values = {"rule": "wider-rule", "devices": ("S3", "M1"), "evidence": SHOWN, "sources": ("b",)} | changes
    wide = finding("wide", **values)  # type: ignore[arg-type]  # the changes are the tests' own
    found = told_once([narrow, wide], rules)
    assert len(found) == told
    assert {f.message for f in found} >= {"wide"}
    if told == 1:
        assert found[0].wires == ("2",)
        assert found[0].sources == ("b", "a")


def test_every_rule_that_is_told_by_others_names_rules_that_are_there() -> None:
    rules = {made.name: made for made in load_rules()}
    told = [(made.name, name) for made in rules.values() for name in made.told_by]
    assert told
    for name, other in told:
        assert other in rules
        assert not rules[other].told_by, f"{name} would be folded into a rule that is folded itself"


# one sentence for all motors


def test_a_held_start_is_told_once_with_all_motors() -> None:
    (told,) = [f for f in report_of(TWO).findings if f.rule == "held-start-is-not-a-start"]
    assert told.message == "M2 and M1 start when the supply comes on, with S4 held down or stuck."
    assert set(told.devices) == {"S4", "M1", "M2"}


# words


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Pressing the stop S3 (stop) does not stop M1.", "Pressing the stop S3 does not stop M1."),
        ("Pressing the emergency stop S1 (Emergency stop) does nothing.", "Pressing the emergency stop S1 does nothing."),
        ("Opening the guard S2 (chuck guard) does nothing.", "Opening the guard S2 (chuck guard) does nothing."),
        ("S3 (stop) no longer stops M1 (spindle).", "S3 (stop) no longer stops M1 (spindle)."),
        ("With the plug X5 (plug) parted, M1 (plug) runs.", "With the plug X5 parted, M1 (plug) runs."),
    ],
)
def test_a_title_is_not_said_twice(text: str, said: str) -> None:
    assert said_once(text) == said
    assert rule(message=text).finding(spot(3)).message == said


def test_a_title_that_is_the_designation_is_no_title() -> None:
    plan = read_plan_text(RELEASE.replace("title: Emergency stop", "title: s1"), "plan.yaml")
    assert plan.devices["S1"].label() == "S1"


def test_no_message_of_the_examples_says_a_word_and_then_the_same_as_a_title() -> None:
    assert messages(RELEASE, "emergency-stop-stops-motion") == ["M1 goes on turning when the emergency stop S1 is pressed."]


def test_a_release_that_is_let_go_does_not_read_like_switching_off() -> None:
    plan = read_plan_text(RELEASE, "plan.yaml")
    wanted, faults = asked(plan, ["G0=on", "Q2=start", "Q2=off", "Q2=stop"], None)
    text = render_rehearsal_text(plan, rehearse(plan, wanted, faults))
    assert "3 Q2=off   (no volt release, its start and stop are let go)" in text
    assert "4 Q2=stop   (no volt release)" in text


def test_the_traces_of_a_check_say_that_a_release_is_let_go() -> None:
    steps = [step for f in report_of(LAMP_FED).findings for step in f.evidence.steps if step.event == "Q2=off"]
    assert steps
    assert all(step.notes[0] == "Q2: its start and stop are let go" for step in steps)
    assert re.search(r"Q2=off +Q2: its start and stop are let go\n", render_text(report_of(LAMP_FED)))
