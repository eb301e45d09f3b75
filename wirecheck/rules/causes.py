"""Findings of one cause: one of them leads and is told in full, the others follow it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise

from wirecheck.findings import Evidence, Finding, severity_rank

Named = tuple[str, str]
"""A finding by rule and message."""


def place(finding: Finding) -> tuple[str, int, int, str, str]:
    """The order of findings: by file, line, column, rule, and message where all these are equal."""
    return (finding.at.file, finding.at.line, finding.at.column, finding.rule, finding.message)


def linked(findings: Sequence[Finding], follows_from: Mapping[str, Collection[str]]) -> list[Finding]:
    """The findings, each that has the cause of another with what it follows.

    The worst leads, of equals the first in the file. `follows_from` names, for a rule, the rules whose findings are the cause of
    its own; where such a cause is the milder of the two it follows, and lends the other its remedy. What is accepted neither
    leads nor follows.
    """
    groups: list[list[Finding]] = []
    follows: dict[Named, Named] = {}
    here = {finding.rule for finding in findings}
    for finding in sorted((f for f in findings if not f.accepted), key=lambda f: _order(f, follows_from, here)):
        group = next((g for g in groups if any(_one_cause(member, finding, follows_from) for member in g)), None)
        if group is None:
            groups.append([finding])
        else:
            group.append(finding)
            follows[_name(finding)] = _name(group[0])
    shown = _lent(findings, follows)
    mends = {name: mend for group in groups for name, mend in _mended(group, follows_from)}
    return [
        finding
        if finding.accepted
        else finding._replace(
            follows=follows.get(_name(finding)),
            evidence=shown.get(_name(finding), finding.evidence),
            remedy=mends.get(_name(finding), finding.remedy),
        )
        for finding in findings
    ]


def _mended(group: Sequence[Finding], follows_from: Mapping[str, Collection[str]]) -> Iterator[tuple[Named, str]]:
    """What to change about a lead that is the consequence of a milder one below it: what mends the cause."""
    lead = group[0]
    causes = [f for f in group[1:] if f.rule != lead.rule and f.rule in follows_from.get(lead.rule, ()) and f.at == lead.at]
    if causes:
        yield _name(lead), causes[0].remedy


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


def _order(finding: Finding, follows_from: Mapping[str, Collection[str]], here: Collection[str]) -> tuple[object, ...]:
    """The worst first, and a cause before what follows from it."""
    return (-severity_rank(finding.severity), _removed(finding.rule, follows_from, here), place(finding))


def _removed(rule: str, follows_from: Mapping[str, Collection[str]], here: Collection[str]) -> int:
    """How many causes of those found `here` stand one behind the other ahead of what a rule finds."""
    causes = [name for name in follows_from.get(rule, ()) if name in here and name != rule]
    rest = [name for name in here if name != rule]
    return max((1 + _removed(name, follows_from, rest) for name in causes), default=0)


def _one_cause(member: Finding, finding: Finding, follows_from: Mapping[str, Collection[str]]) -> bool:
    """Whether two findings have one cause: a rule says so, the same current flows, or the same fault does it."""
    if member.rule in follows_from.get(finding.rule, ()) and _concerned(member, finding) and _in_reach(member, finding):
        return True
    # A milder cause below its consequence: only where both are about one device.
    if finding.rule in follows_from.get(member.rule, ()) and member.at == finding.at:
        return True
    shown, also = member.evidence, finding.evidence
    if shown.fault or also.fault:
        return shown.fault == also.fault
    if shown.events and also.events and shown.walk and shown.walk == also.walk:
        return True
    return member.rule == finding.rule and _past_each_other(member, finding)


def _concerned(member: Finding, finding: Finding) -> bool:
    """Whether two findings are about one device, or one names what the other is about. Two of one rule must share a device."""
    if member.at == finding.at:
        return True
    if member.rule == finding.rule:
        return bool(set(member.devices) & set(finding.devices))
    return any(one.devices[:1] and one.devices[0] in other.devices for one, other in ((member, finding), (finding, member)))


def _in_reach(member: Finding, finding: Finding) -> bool:
    """Whether what single faults do can have one cause: where both name wires, they have one in common."""
    both = member.evidence.fault and finding.evidence.fault and member.wires and finding.wires
    return not both or bool(set(member.wires) & set(finding.wires))


def _past_each_other(member: Finding, finding: Finding) -> bool:
    """Whether the current gets past the contact of each of two devices through that of the other: they stand side by side."""
    if not (member.devices and finding.devices):
        return False
    one, other = member.devices[0], finding.devices[0]
    past_one, past_other = _crossed(member.evidence.walk), _crossed(finding.evidence.walk)
    return other in past_one and one not in past_one and one in past_other and other not in past_other


def _crossed(walk: Sequence[str]) -> set[str]:
    """The devices of which a walk passes two terminals one after the other."""
    devices = [terminal.partition(":")[0] for terminal in walk]
    return {one for one, other in pairwise(devices) if one == other}
