"""The computed quantities as text: value, limit, working, inputs with their lines, what is missing, source."""

from __future__ import annotations

from wirecheck.findings import Report
from wirecheck.outputs.text import render_text

INPUT = {"what": "M1 current delta", "value": "4.5 A", "basis": "stated", "at": "bench lathe.yaml:34"}
NUMBER = {
    "name": "drive output current",
    "device": "T1",
    "case": "for M1",
    "value": "4.5 A",
    "limit": "at most 6 A",
    "verdict": "within",
    "working": "M1 takes 4.5 A; the drive gives 6 A for long.",
    "from": ["bench lathe.yaml:34"],
    "inputs": [INPUT, {"what": "efficiency", "value": "0.8", "basis": "estimated", "at": ""}],
    "missing": [],
    "source": "common practice",
}


def text_of(**changes: object) -> str:
    report = Report(plan="bench lathe.yaml", findings=(), numbers=({**NUMBER, **changes},))
    return render_text(report, numbers=True)


def test_a_number_is_told_with_its_working_and_the_lines_it_rests_on() -> None:
    text = text_of()
    assert "T1: drive output current for M1: 4.5 A, allowed at most 6 A: within\n" in text
    assert " working M1 takes 4.5 A; the drive gives 6 A for long.\n" in text
    assert "    from M1 current delta 4.5 A, line 34; efficiency 0.8 (estimated)\n" in text
    assert "  source common practice\n" in text


def test_an_unknown_number_says_what_is_missing() -> None:
    text = text_of(verdict="unknown", value="not known", missing=["T1 output current"])
    assert "not known, allowed at most 6 A: CANNOT TELL\n" in text
    assert " missing T1 output current\n" in text


def test_numbers_are_shown_only_where_they_are_asked_for() -> None:
    assert "working" not in render_text(Report(plan="bench lathe.yaml", findings=(), numbers=(NUMBER,)))


def test_what_is_to_be_asked_stands_above_the_findings() -> None:
    question = {"field": "T1 output current", "at": "bench lathe.yaml:20", "decides": ["whether the drive can feed the motor"]}
    text = render_text(Report(plan="bench lathe.yaml", findings=(), questions=(question,)), width=120)
    assert "  ask T1 output current is not stated (line 20). It decides whether the drive can feed the motor.\n" in text
