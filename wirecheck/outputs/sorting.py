"""Which findings a text tells at full length, which in a line below the one of the same cause, and which in short."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from wirecheck.findings import Finding, severity_rank

Named = tuple[str, str]
"""A finding by rule and message."""


class Sorted(NamedTuple):
    """Those told at full length, those that follow each of them, and those told in short."""

    at_length: list[Finding]
    following: Mapping[Named, list[Finding]]
    short: list[Finding]


def with_less(found: Sorted) -> Sorted | None:
    """The same with the last advice told in short; None where no more than one thing, or nothing but worse, is at full length."""
    if len(found.at_length) < 2 or found.at_length[-1].severity != "advice":
        return None
    *kept, last = found.at_length
    short = [last, *found.following.get((last.rule, last.message), ()), *found.short]
    return Sorted(kept, found.following, sorted(short, key=lambda f: (-severity_rank(f.severity), f.at.line)))


def sorted_out(findings: Sequence[Finding]) -> Sorted:
    """The findings as a text tells them, each sort in the order given."""
    at_length = [f for f in findings if not _secondary(f, findings)]
    names = {(f.rule, f.message) for f in at_length}
    leads = [f for f in at_length if f.follows not in names]
    names = {(f.rule, f.message) for f in leads}
    following: dict[Named, list[Finding]] = {}
    short = []
    for finding in findings:
        if finding.follows in names and finding.follows is not None:
            following.setdefault(finding.follows, []).append(finding)
        elif (finding.rule, finding.message) not in names:
            short.append(finding)
    return Sorted(leads, following, short)


def _secondary(finding: Finding, findings: Sequence[Finding]) -> bool:
    """Whether a finding can be told in short.

    Advice can beside what is worse, or on what a stuck part does; so can a fault's effect on what goes wrong without any fault.
    """
    if finding.severity == "advice":
        return bool(finding.evidence.fault) or any(f.severity != "advice" for f in findings)
    return bool(finding.evidence.fault) and any(_goes_wrong_alone(f, finding) for f in findings)


def _goes_wrong_alone(whole: Finding, faulty: Finding) -> bool:
    """Whether a finding shows, without any fault, that what another names does not do as it should already."""
    shown = whole.evidence.events and not whole.evidence.fault
    as_bad = severity_rank(whole.severity) >= severity_rank(faulty.severity)
    return bool(shown) and as_bad and bool(set(whole.devices) & set(faulty.devices))
