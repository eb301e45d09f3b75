"""What wirecheck says about a plan: findings with their evidence, as frozen records.

Everything that judges a plan makes these; everything that prints one reads these. They know nothing of plans.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

SEVERITIES = ("advice", "malfunction", "damage", "danger")
"""From the mildest to the worst. `danger` can hurt somebody."""

NOTICE = (
    "wirecheck is an aid to thinking on paper. It does not replace a qualified electrician, a risk assessment, "
    "the drive's manual or local codes. Test nothing on live parts unless you are competent to. "
    "A plan without findings is not thereby proved fit to use: no rule found anything, and no more."
)
"""The caution that every output carries. It cannot be switched off."""

UNDECIDED = "; so not decided: "
"""In a reason why a report is incomplete: what the reason is, then the rules that were not judged because of it."""


def severity_rank(severity: str) -> int:
    """Order of a severity, 0 for advice up to 3 for danger; ValueError for an unknown word."""
    return SEVERITIES.index(severity)


class Spot(NamedTuple):
    """A place in a file: line and column count from 1."""

    file: str
    line: int
    column: int


class Step(NamedTuple):
    """One step of a trace in plain words: the event, what moved because of it, and what the motors then do."""

    event: str
    moved: tuple[str, ...] = ()
    motion: Mapping[str, str] = {}
    notes: tuple[str, ...] = ()


class Evidence(NamedTuple):
    """What proves a finding. Only the fields that apply are filled.

    `events` is the shortest sequence from rest, replayable; `steps` the same in words; `walk` a chain of terminals that
    current takes, `passes` what the devices on it are and how they stand; `numbers` pairs such as measured and limit; `cases` a
    small table of what follows from what; `fault_after` how many events come before the fault.
    """

    events: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    walk: tuple[str, ...] = ()
    numbers: Mapping[str, str] = {}
    cases: Mapping[str, str] = {}
    fault: str | None = None
    fault_after: int | None = None
    passes: Mapping[str, str] = {}


class Finding(NamedTuple):
    """One thing that is wrong, where, why it matters, what shows it and what to do about it.

    `follows` names, by rule and message, the finding that has the same cause and tells it in full.
    """

    rule: str
    severity: str
    message: str
    why: str
    remedy: str
    at: Spot
    devices: tuple[str, ...] = ()
    wires: tuple[str, ...] = ()
    evidence: Evidence = Evidence()
    sources: tuple[str, ...] = ()
    accepted: Mapping[str, str] | None = None
    rests_on: tuple[str, ...] = ()
    follows: tuple[str, str] | None = None


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """The findings by their severity; within one they keep their order, that of the file."""
    return sorted(findings, key=lambda finding: -severity_rank(finding.severity))


class Proof(NamedTuple):
    """A claim that held in every state looked at; where its case never arose at all `condition_reached` is False."""

    claim: str
    states: int
    faults: int = 0
    condition_reached: bool = True


class Report(NamedTuple):
    """All that a check of one plan found. `incomplete` names what could not be decided; then nothing is claimed."""

    plan: str
    findings: tuple[Finding, ...]
    proved: tuple[Proof, ...] = ()
    incomplete: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()
    functions: tuple[Mapping[str, object], ...] = ()
    numbers: tuple[Mapping[str, object], ...] = ()
    questions: tuple[Mapping[str, object], ...] = ()
    house_rules: tuple[Mapping[str, object], ...] = ()
    statistics: Mapping[str, float | int] = {}

    @property
    def verdict(self) -> str:
        """`incomplete`, `findings` or `clear`."""
        if self.incomplete:
            return "incomplete"
        return "findings" if any(not f.accepted for f in self.findings) else "clear"
