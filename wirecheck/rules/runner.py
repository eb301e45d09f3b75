"""Judges rules on the facts of a plan. No rule is passed over in silence: one that crashes is a finding of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from wirecheck.errors import TooLarge
from wirecheck.findings import UNDECIDED, Finding, Proof
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.registry import judge_of

if TYPE_CHECKING:
    from wirecheck.facts import Facts

Progress = Callable[[int, int, str], None]
"""Told how many rules are judged, of how many, and the title of the one that comes next."""


class Judgement(NamedTuple):
    """What the rules said, in their order. `incomplete` tells what could not be decided."""

    findings: tuple[Finding, ...]
    proved: tuple[Proof, ...]
    incomplete: tuple[str, ...]


def judge_rules(rules: Sequence[Rule], facts: Facts, progress: Progress | None = None) -> Judgement:
    """Every rule that holds in the plan's region, judged on the facts."""
    rules = [rule for rule in rules if rule.holds_in(facts.plan.machine.region)]
    results: list[Finding | Proof] = []
    crashes: list[str] = []
    undecided: dict[str, list[str]] = {}
    for done, rule in enumerate(rules):
        if progress:
            progress(done, len(rules), rule.title)
        try:
            # The whole of it at once: what a rule found before it crashed is not half a judgement.
            results += judge(rule, facts)
        except TooLarge as large:
            undecided.setdefault(str(large), []).append(rule.name)
        except Exception as fault:  # noqa: BLE001 -- a rule that crashes is told as a finding, whatever it raised
            results.append(_crash(rule, facts, fault))
            crashes.append(f"the rule {rule.name} could not be judged")
    return Judgement(
        findings=told_once([result for result in results if isinstance(result, Finding)], rules),
        proved=tuple(result for result in results if isinstance(result, Proof)),
        incomplete=(*(_undecided(what, names) for what, names in undecided.items()), *crashes),
    )


def told_once(findings: Sequence[Finding], rules: Iterable[Rule]) -> tuple[Finding, ...]:
    """The findings without those of which another rule's finding, of the same cause, says all that they say."""
    told_by = {rule.name: rule.told_by for rule in rules}
    kept = [finding for finding in findings if not told_by.get(finding.rule)]
    for finding in (f for f in findings if told_by.get(f.rule)):
        teller = next((n for n, f in enumerate(kept) if f.rule in told_by[finding.rule] and _same_cause(f, finding)), None)
        if teller is None:
            kept.append(finding)
        else:
            kept[teller] = _with_all(kept[teller], finding)
    return tuple(kept)


def _same_cause(one: Finding, other: Finding) -> bool:
    """The same events with the same fault, on the same devices; one of the two may name more of them."""
    shown, also = one.evidence, other.evidence
    same = bool(shown.events) and (shown.events, shown.fault, shown.fault_after) == (also.events, also.fault, also.fault_after)
    return same and (set(one.devices) <= set(other.devices) or set(other.devices) <= set(one.devices))


def _with_all(teller: Finding, told: Finding) -> Finding:
    """A finding with what another one of the same cause shows besides; the evidence with a walk is the fuller one."""
    return teller._replace(
        devices=tuple(dict.fromkeys((*teller.devices, *told.devices))),
        wires=tuple(dict.fromkeys((*teller.wires, *told.wires))),
        evidence=max(teller.evidence, told.evidence, key=lambda evidence: len(evidence.walk)),
        sources=tuple(dict.fromkeys((*teller.sources, *told.sources))),
        rests_on=tuple(dict.fromkeys((*teller.rests_on, *told.rests_on))),
    )


def judge(rule: Rule, facts: Facts) -> list[Finding | Proof]:
    """One rule judged; again with a larger view where its evidence rests on relays that the view leaves free."""
    while True:
        results = list(judge_of(rule.kind)(rule, facts))
        events = [event for result in results if isinstance(result, Finding) for event in result.evidence.events]
        free = facts.free_in(events)
        if not free:
            return results
        facts.look_closer(free)


def _undecided(what: str, names: Iterable[str]) -> str:
    return f"{what}{UNDECIDED}{join_words(names)}"


def _crash(rule: Rule, facts: Facts, fault: Exception) -> Finding:
    return Finding(
        rule=rule.name,
        severity="malfunction",
        message=f"The rule {rule.name} could not be judged: whether its claim holds is not known.",
        why=f"wirecheck itself has a fault here ({type(fault).__name__}: {fault}). The claim was: {rule.title}",
        remedy="Look at this point yourself, and send the makers of wirecheck this message with the plan.",
        at=facts.plan.machine.spot,
    )
