"""Which findings a text tells at full length, which in a line below the one of the same cause, and which in short."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from wirecheck.findings import Finding, severity_rank

Named = tuple[str, str]
"""A finding by rule and message."""


class Sorted(NamedTuple):
    """Those told at full length, those that follow each of them, and those told in short; of `counted` nothing but the lines.

    `asking` says whether each question is told with what it decides.
    """

    at_length: list[Finding]
    following: Mapping[Named, list[Finding]]
    short: list[Finding]
    asking: bool = True
    counted: Sequence[Finding] = ()


def with_less(found: Sorted) -> Sorted | None:
    """The same told in less, the least loss first; None where nothing is left but what nobody may miss.

    First the questions, then the last advice at full length, then advice on single faults: the table of faults has it all.
    """
    if found.asking:
        return found._replace(asking=False)
    if len(found.at_length) > 1 and found.at_length[-1].severity == "advice":
        *kept, last = found.at_length
        short = [last, *found.following.get((last.rule, last.message), ()), *found.short]
        return found._replace(at_length=kept, short=sorted(short, key=lambda f: (-severity_rank(f.severity), f.at.line)))
    faults = [f for f in found.short if f.severity == "advice" and f.evidence.fault]
    if len(faults) > 1:
        return found._replace(short=[f for f in found.short if f not in faults], counted=faults)
    return None


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
