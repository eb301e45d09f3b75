"""From what the rules said to the report: equal findings folded, acceptances applied, all in a fixed order."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import TypeVar

from wirecheck.errors import nearest_word
from wirecheck.findings import Finding, Report, severity_rank
from wirecheck.plan.model import Accepted, Plan
from wirecheck.rules.causes import linked, place
from wirecheck.rules.record import join_words
from wirecheck.rules.runner import Judgement

Item = TypeVar("Item")

CANNOT_KNOW = (
    "workmanship and loose terminals",
    "real resistance of earths",
    "welding and wear of contacts",
    "what the drive does beyond the settings stated",
    "strength of guards and ways round them",
    "speed limit of chuck or tool",
    "real run-down time",
    "local law and insurers",
)
"""What no checker of plans can know. Stated in every report."""


STALE = "acceptance-matches-a-finding"


def assemble(
    plan: Plan, judgement: Judgement, assumed: Iterable[str] = (), judged: Mapping[str, Collection[str]] = MappingProxyType({})
) -> Report:
    """The report on a plan, by the rules that were `judged`, each with the names of those from which its findings follow.

    Where anything stayed undecided nothing is proved.
    """
    findings = linked(accept(fold(judgement.findings), plan, judged), judged)
    if judgement.incomplete:  # what was not decided may still be found: no acceptance is stale yet
        findings = [finding for finding in findings if finding.rule != STALE]
    return Report(
        plan=plan.file,
        findings=tuple(sorted(findings, key=place)),
        proved=() if judgement.incomplete else judgement.proved,
        incomplete=judgement.incomplete,
        assumed=_once((*plan.assumed, *assumed)),
        not_checked=CANNOT_KNOW,
        statistics=_statistics(plan, judgement),
    )


def fold(findings: Iterable[Finding]) -> list[Finding]:
    """Findings of one rule with one message are one finding, with the devices and wires of all of them."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.rule, finding.message), []).append(finding)
    return [_merged(sorted(group, key=place)) for group in groups.values()]


def _merged(group: Sequence[Finding]) -> Finding:
    # The shortest trace is the easiest to follow; the first place is where a reader looks.
    clearest = min(group, key=lambda finding: len(finding.evidence.events))
    return clearest._replace(
        at=group[0].at,
        severity=max((finding.severity for finding in group), key=severity_rank),
        devices=_once(name for finding in group for name in finding.devices),
        wires=_once(name for finding in group for name in finding.wires),
        sources=_once(source for finding in group for source in finding.sources),
        rests_on=_once(reason for finding in group for reason in finding.rests_on),
    )


def accept(findings: Sequence[Finding], plan: Plan, judged: Collection[str] = ()) -> list[Finding]:
    """Findings with the plan's acceptances filled in, and advice on each acceptance that does nothing."""
    accepted: list[Finding] = []
    for finding in findings:
        entry = next((entry for entry in plan.accepted if _meets(entry, finding) and not _lacking(entry, finding)), None)
        accepted.append(finding._replace(accepted=_reason(entry)) if entry else finding)
    return accepted + [advice for entry in plan.accepted for advice in _advice(entry, findings, judged)]


def _meets(entry: Accepted, finding: Finding) -> bool:
    # All devices must be the same: an acceptance that covered more than its author saw would hide a new danger.
    return entry.rule == finding.rule and set(entry.devices) == set(finding.devices)


def _lacking(entry: Accepted, finding: Finding) -> list[str]:
    """What an acceptance must still say to be taken: a danger needs a reason, a name and a date, all else a reason."""
    needed = ("because", "by", "date") if finding.severity == "danger" else ("because",)
    return [key for key in needed if not str(getattr(entry, key)).strip()]


def _reason(entry: Accepted) -> Mapping[str, str]:
    return {key: text for key in ("because", "by", "date") if (text := str(getattr(entry, key)))}


def _advice(entry: Accepted, findings: Sequence[Finding], judged: Collection[str]) -> Iterable[Finding]:
    met = [finding for finding in findings if _meets(entry, finding)]
    if not met:
        yield _unmatched(entry, findings, judged)
    for finding in met:
        if lacking := _lacking(entry, finding):
            yield Finding(
                rule="acceptance-says-who-and-why",
                severity="advice",
                message=f"The {finding.severity} that {entry.rule} found is not accepted: {join_words(lacking)} is missing.",
                why="Somebody must answer for what is knowingly left as it is, above all for a danger.",
                remedy="State because; for a danger by and date too. Or better, mend the plan.",
                at=entry.spot,
                devices=entry.devices,
                sources=("common practice",),
            )


def _unmatched(entry: Accepted, findings: Sequence[Finding], judged: Collection[str]) -> Finding:
    """An acceptance without a finding; says with which devices the rule did find something, should the list be wrong."""
    same_rule = [finding for finding in findings if finding.rule == entry.rule]
    found = "; or ".join(join_words(finding.devices) for finding in same_rule)
    hint = f" The rule has findings with these devices: {found}. List exactly these to accept one." if found else ""
    return Finding(
        rule=STALE,
        severity="advice",
        message=f"The acceptance of {entry.rule} for {join_words(entry.devices) or 'no device'} matches no finding.",
        why="A stale acceptance would hide the finding should it come back with a later change.",
        remedy=f"Delete the acceptance, or correct its rule and devices.{hint}{_misspelt(entry.rule, judged)}",
        at=entry.spot,
        devices=entry.devices,
        sources=("common practice",),
    )


def _misspelt(rule: str, judged: Collection[str]) -> str:
    """That no rule of this name was judged, and the nearest that was."""
    if rule in judged or not judged:
        return ""
    nearest = nearest_word(rule, judged)
    return f" No rule `{rule}` was judged" + (f": did you mean `{nearest}`?" if nearest else ".")


def _statistics(plan: Plan, judgement: Judgement) -> Mapping[str, int]:
    return {
        "devices": len(plan.devices),
        "wires": len(plan.wires),
        "states": max((proof.states for proof in judgement.proved), default=0),
        "faults": max((proof.faults for proof in judgement.proved), default=0),
    }


def _once(items: Iterable[Item]) -> tuple[Item, ...]:
    return tuple(dict.fromkeys(items))
