"""The text output: what a reader must see, and in which order."""

from __future__ import annotations

import re

import pytest

from tests.outputs.reports import advice, danger, report
from wirecheck.findings import NOTICE, Proof, Report
from wirecheck.outputs.text import render_text


def unwrapped(text: str) -> str:
    """Text with its line ends taken out, so that a phrase is found wherever it was wrapped."""
    return " ".join(text.split())


def test_verdict_stands_first_and_worst_finding_next() -> None:
    lines = render_text(report(advice(), danger()), full=True).splitlines()
    assert lines[0] == "bench-lathe.yaml: 2 findings, the worst can hurt somebody."
    headings = [line for line in lines if re.match(r"[A-Z]+: ", line)]
    assert headings == ["DANGER: M1 keeps running while the guard S2 is open.", "ADVICE: K1 pulls in late."]


def test_trace_is_a_numbered_strip_with_the_fault_before_its_step() -> None:
    lines = render_text(report(danger())).splitlines()
    start = lines.index("       1 G0=on       G1 gives 24 V")
    assert lines[start : start + 4] == [
        "       1 G0=on       G1 gives 24 V",
        "       2 S4=pressed  start pressed; K1 moves; M1 runs forward",
        "   fault wire 7 [S1:22\u2013S2:21] open",
        "       3 S2=open     M1 keeps running forward",
    ]


def test_everything_a_finding_says_is_there() -> None:
    text = unwrapped(render_text(report(danger(), advice()), full=True))
    for phrase in (
        "where line 41, devices S2, M1, wires 7",
        "rests on T1 on_power_up_with_run is not stated",
        "why A hand can reach the chuck while it turns.",
        "do Put a second contact of S2 into the torque-off channels.",
        "source IEC 60204-1:2016, 9.4.3; common practice (rule guard-open-keeps-motion-stopped)",
        "walk G1:+ > F2:1 > F2:2 > K1:A1",
        "numbers measured 20 V, limit 20.4 V",
    ):
        assert phrase in text


def test_remainder_says_what_was_proved_assumed_left_out_and_counted() -> None:
    text = unwrapped(render_text(report(danger())))
    assert "Held in every state looked at: 1 claim." in text
    assert "Held only because its case never arises in this plan: 1 claim: A thermistor stops the motor." in text
    assert "Assumed: T1 on_power_up_with_run: starts (not stated in the plan)." in text
    assert "no plan can show it: workmanship." in text
    assert "Looked at: 14 devices, 33 wires, 214 states, 63 faults." in text
    assert "0.04" not in text


@pytest.mark.parametrize(
    "made", [report(), report(danger()), report(incomplete=("too large",)), report(advice(accepted={"because": "x"}))]
)
def test_caution_is_always_there_and_no_output_calls_a_plan_safe(made: object) -> None:
    text = unwrapped(render_text(made))  # type: ignore[arg-type]  # the list mixes no other types
    assert unwrapped(NOTICE) in text
    assert not re.search(r"\bsafe\b", text, re.IGNORECASE)


def test_many_claims_without_a_case_are_counted() -> None:
    proofs = tuple(Proof(f"Claim {number}.", 1, condition_reached=False) for number in range(4))
    text = unwrapped(render_text(report(proved=proofs)))
    assert (
        "Held in every state looked at: 0 claims. Held only because its case never arises in this plan: 4 claims (the JSON"
        in text
    )
    assert "Claim 0" not in text


@pytest.mark.parametrize(
    ("severity", "number", "words"),
    [
        ("danger", 1, "1 finding, which can hurt somebody."),
        ("damage", 2, "2 findings, the worst can destroy equipment or start a fire."),
        ("malfunction", 1, "1 finding, which keeps the machine from doing what it is for."),
        ("advice", 2, "2 findings, the worst is advice."),
    ],
)
def test_verdict_says_what_the_worst_can_do(severity: str, number: int, words: str) -> None:
    found = [danger(severity=severity, message=f"M{n} runs.") for n in range(number)]
    assert render_text(report(*found)).splitlines()[0] == f"bench-lathe.yaml: {words}"


def test_clear_verdict_says_that_no_rule_found_anything() -> None:
    assert render_text(report()).startswith("bench-lathe.yaml: no rule found anything.\n")


def test_incomplete_claims_nothing_and_says_what_is_open() -> None:
    text = render_text(report(danger(), incomplete=("more than 100000 states; so not decided: a and b",), proved=()))
    assert text.startswith("bench-lathe.yaml: INCOMPLETE.")
    assert "nothing is claimed" in text
    assert "    open more than 100000 states; so not decided: a and b" in text
    assert "DANGER: M1 keeps running" in text


def test_of_many_rules_that_were_not_judged_the_number_is_told_and_in_full_their_names() -> None:
    many = report(danger(), incomplete=("more than 100000 states; so not decided: a, b, c, d, e, f and g",), proved=())
    assert "    open more than 100000 states; so 7 rules are not decided (--full names them)\n" in render_text(many)
    assert "so not decided: a, b, c, d, e, f and g" in render_text(many, full=True)


@pytest.mark.parametrize(
    ("made", "told"),
    [
        (report(danger(accepted={"because": "x"})), "1 accepted, a danger: told below."),
        (
            report(danger(accepted={"because": "x"}), advice(accepted={"because": "x"})),
            "2 accepted, 1 of them danger: told below.",
        ),
        (report(danger(), advice(accepted={"because": "x"})), "1 finding, which can hurt somebody. 1 accepted: told below."),
        (
            report(danger(accepted={"because": "x"}), incomplete=("large",)),
            "0 findings so far. 1 accepted, a danger: told below.",
        ),
    ],
)
def test_the_first_line_counts_what_is_accepted(made: Report, told: str) -> None:
    assert told in unwrapped(render_text(made)).partition("\n\n")[0]


def test_an_accepted_danger_is_as_red_as_any_other() -> None:
    made = report(danger(accepted={"because": "x", "by": "y", "date": "z"}))
    assert "\x1b[1;31mAccepted danger: " in render_text(made, colour=True)


def test_accepted_finding_stands_apart_with_its_reason() -> None:
    accepted = advice(accepted={"because": "the lamp is a toy", "by": "A. Member", "date": "2024-05-01"})
    text = unwrapped(render_text(report(accepted)))
    assert text.startswith("bench-lathe.yaml: no rule found anything beyond what was accepted. 1 accepted: told below.")
    assert "Accepted advice: K1 pulls in late." in text
    assert "because the lamp is a toy (A. Member, 2024-05-01)" in text
    assert "ADVICE:" not in text


def test_same_explanation_is_given_once() -> None:
    text = render_text(report(danger(), danger(message="M2 keeps running.")))
    assert text.count("A hand can reach the chuck") == 1
    assert "as explained above (rule guard-open-keeps-motion-stopped)" in text


def test_control_characters_of_a_plan_do_not_reach_the_terminal() -> None:
    evil = "K1\x1b]0;owned\x07\x9b2J\u202eevil\r\nnext"
    made = report(
        danger(message=evil, why=evil, remedy=evil, devices=(evil,), wires=(evil,), sources=(evil,), rests_on=(evil,)),
        advice(accepted={"because": evil, "by": evil}),
        plan=evil,
        assumed=(evil,),
    )
    text = render_text(made)
    assert all(line.isprintable() for line in text.split("\n"))
    assert "\\x1b]0;owned\\x07\\x9b2J\\u202eevil\\x0d\\x0anext" in unwrapped(text)


def test_colour_only_when_asked_for_and_text_the_same_without_it() -> None:
    plain, coloured = (render_text(report(danger(), advice()), colour) for colour in (False, True))
    assert "\x1b" not in plain
    assert "\x1b[1;31mDANGER: " in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


@pytest.mark.parametrize("width", [10, 60, 80, 1000])
def test_lines_keep_within_the_width(width: int) -> None:
    text = render_text(report(danger(), advice()), width=width)
    assert max(map(len, text.splitlines())) <= max(60, min(width, 120))


def test_one_defect_takes_about_one_screen() -> None:
    assert len(render_text(report(danger()), width=80).splitlines()) <= 40
