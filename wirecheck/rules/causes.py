"""Findings of one cause: one of them leads and is told in full, the others follow it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from wirecheck.findings import Evidence, Finding, severity_rank

Named = tuple[str, str]
"""A finding by rule and message."""


def place(finding: Finding) -> tuple[str, int, int, str, str]:
    """The order of findings: by file, line, column, rule, and message where all these are equal."""
    return (finding.at.file, finding.at.line, finding.at.column, finding.rule, finding.message)


def linked(findings: Sequence[Finding], follows_from: Mapping[str, Collection[str]]) -> list[Finding]:
    """The findings, each that has the cause of another with what it follows.

    The worst leads, of equals the first in the file. `follows_from` names, for a rule, the rules whose findings are the cause of
    its own. What is accepted neither leads nor follows.
    """
    groups: list[list[Finding]] = []
    follows: dict[Named, Named] = {}
    for finding in sorted((f for f in findings if not f.accepted), key=lambda f: _order(f, follows_from)):
        group = next((g for g in groups if any(_one_cause(member, finding, follows_from) for member in g)), None)
        if group is None:
            groups.append([finding])
        else:
            group.append(finding)
            follows[_name(finding)] = _name(group[0])
    shown = _lent(findings, follows)
    return [
        finding
        if finding.accepted
        else finding._replace(follows=follows.get(_name(finding)), evidence=shown.get(_name(finding), finding.evidence))
        for finding in findings
    ]


def _lent(findings: Sequence[Finding], follows: Mapping[Named, Named]) -> dict[Named, Evidence]:
    """For each that leads and shows nothing itself what one that follows it shows."""
    bare = {_name(f) for f in findings if f.evidence == Evidence()}
    found: dict[Named, Evidence] = {}
    for finding in findings:
        lead = follows.get(_name(finding))
        if lead in bare:
            found.setdefault(lead, finding.evidence)
    return found


def _name(finding: Finding) -> Named:
    return (finding.rule, finding.message)


def _order(finding: Finding, follows_from: Mapping[str, Collection[str]]) -> tuple[object, ...]:
    return (-severity_rank(finding.severity), bool(follows_from.get(finding.rule)), place(finding))


def _one_cause(member: Finding, finding: Finding, follows_from: Mapping[str, Collection[str]]) -> bool:
    """Whether two findings have one cause: the rule says so, the same current flows, or the same fault does it."""
    if member.rule in follows_from.get(finding.rule, ()):
        return bool(set(member.devices) & set(finding.devices))
    shown, also = member.evidence, finding.evidence
    if shown.fault or also.fault:
        return shown.fault == also.fault
    return bool(shown.events and also.events and shown.walk) and shown.walk == also.walk
