"""What a report says in few words: the questions that are open, and what is secondary beside the findings at full length."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from wirecheck.findings import Finding
from wirecheck.rules.record import join_words

if TYPE_CHECKING:
    from wirecheck.outputs.sorting import Sorted
    from wirecheck.outputs.text import Page

SHORT_ADVICE = "--full tells why and what to do, `wirecheck faults` every fault"
SHORT_WORSE = "with a fault besides; mend what is told above, then check again"


def question_lines(page: Page, questions: Sequence[Mapping[str, object]], whole: bool) -> None:
    """What is left open for lack of a figure: nobody may take silence for a pass. `whole` tells what each decides."""
    if not questions:
        return
    if not whole:
        named = join_words(f"{question['field']} ({_line(question)})" for question in questions)
        left = "what they decide is" if len(questions) > 1 else "what it decides is"
        verb = "are" if len(questions) > 1 else "is"
        page.labelled("ask", f"{named} {verb} not stated: {left} left open (--full tells it).", label_style="strong")
        return
    for question in questions:
        decides = question["decides"]
        reasons = "; ".join(map(str, decides)) if isinstance(decides, list) else str(decides)
        page.labelled(
            "ask", f"{question['field']} is not stated ({_line(question)}). It decides {reasons}.", label_style="strong"
        )


def _line(question: Mapping[str, object]) -> str:
    """The line of the field that is missing; the plan's name stands at the head of the report."""
    return f"line {str(question['at']).rpartition(':')[2]}"


def in_short(page: Page, found: Sorted) -> None:
    """A line each for what is secondary: with a fault besides what is wrong already, and advice."""
    for severity in dict.fromkeys(finding.severity for finding in (*found.short, *found.counted)):
        page.blank()
        page.paragraph(f"{severity.upper()} in short ({SHORT_ADVICE if severity == 'advice' else SHORT_WORSE}):", severity)
        for finding in found.short:
            if finding.severity == severity:
                page.labelled(f"line {finding.at.line}", finding.message)
    if found.counted:
        page.labelled("also", _counted(found.counted))


def _counted(findings: Sequence[Finding]) -> str:
    lines = join_words(str(line) for line in dict.fromkeys(finding.at.line for finding in findings))
    what = "what a part that sticks, a contact that welds or a cable that is crushed would do"
    return f"{what}: line{'s' if ' ' in lines else ''} {lines}, {len(findings)} findings."
