"""No single fault lets a coil or input act (`of: coils`), or a lamp glow (`of: lamps`), by voltage through another load."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import NamedTuple

from wirecheck.behaviour.faults import FAIL_SAFE, Fault
from wirecheck.behaviour.lost import FaultSneaks, Outcome
from wirecheck.behaviour.sneaks import GLOWS, MAY_HOLD, PULLS_IN, UNCERTAIN, Sneak
from wirecheck.behaviour.space import has
from wirecheck.behaviour.verdicts import UNSEEN, FaultTrial, Held, Shown, to_reached
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof, severity_rank
from wirecheck.rules.claims.no_sneak_path import MEANT, SIGNALS, WORST_FIRST, limit
from wirecheck.rules.claims.survives import also
from wirecheck.rules.claims.survives_as_required import required_category
from wirecheck.rules.happenings import stopper
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import fault_evidence, passes, wires_on

CONDITIONS = {
    "required": ["of"],
    "properties": {
        "of": {
            "description": "coils: coils and inputs that act by it. lamps: lamps and buzzers that are lit by it.",
            "enum": ["coils", "lamps"],
        }
    },
}
WORDS = frozenset({"device", "through", "volts", "rated", "share", "outcome", "fault", "also"})


ALONE = {PULLS_IN: "acts on its own", MAY_HOLD: "may stay in", UNCERTAIN: "may act on its own", GLOWS: "is lit out of turn"}
"""What a device does by a sneak path from which no motion follows."""


class Bad(NamedTuple):
    """What one fault lets act: the trace, the sneak path at its end, how grave it is, and what follows from it."""

    fault: Fault
    trial: FaultTrial
    shown: Shown
    sneak: Sneak
    severity: str
    outcome: str
    held: Held | None = None
    motor: str = ""

    @property
    def rank(self) -> tuple[object, ...]:
        """The gravest first, then the shortest trace."""
        return (-severity_rank(self.severity), WORST_FIRST.index(self.sneak.verdict), self.shown.rank)


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device that acts, or for each set of lamps that light each other; all faults that do it are named."""
    bad: list[Bad] = []
    for trial, each in facts.fault_sneaks:
        for found in each:
            bad += _acting(facts, trial, found) if rule.claim["of"] == "coils" else _lit(rule, trial, found)
    findings: list[Finding | Proof] = [_finding(rule, group) for group in _folded(bad, by_lamps=rule.claim["of"] == "lamps")]
    tried = sum(len(e.faults) for _, effects in facts.fault_effects for e in effects)
    states = sum(b.reached.bit_count() for b in facts.views)
    yield from findings or [rule.proof(states, faults=tried, condition_reached=bool(tried))]


# coils and inputs


def _acting(facts: Facts, trial: FaultTrial, found: FaultSneaks) -> Iterator[Bad]:
    """What a fault loses or starts by what acts; where that is nothing, each coil that acts all the same."""
    grave = [*_following(facts, trial, found.fault, found.certain, certain=True)]
    if found.doubtful is not None:
        told = [(bad.held, bad.motor) for bad in grave]  # a function has no hash
        more = _following(facts, trial, found.fault, found.doubtful, certain=False)
        grave += [bad for bad in more if (bad.held, bad.motor) not in told]
    if grave:
        yield min(grave, key=lambda bad: bad.rank)
    elif found.fault.kind in FAIL_SAFE:
        for sneak in sorted(found.sneaks, key=lambda s: (WORST_FIRST.index(s.verdict), -s.volts)):
            if sneak.verdict != GLOWS and not _is_meant(trial, sneak):
                yield from _at_rest(trial, found, sneak)


def _following(facts: Facts, trial: FaultTrial, fault: Fault, outcome: Outcome, certain: bool) -> Iterator[Bad]:
    effect, grave = outcome.effect, "danger" if certain else "malfunction"
    for i, shown in effect.lost.items():
        held = trial.functions[i]
        sneak = _at_the_end(facts, outcome, shown, held.must[0])
        severity = grave if fault.kind in FAIL_SAFE or _breaks(held, effect.verdicts[i]) else "advice"
        if sneak is not None:
            yield Bad(fault, trial, shown, sneak, severity, _lost(trial, held, sneak), held, held.must[0])
    moved = [(motor, shown, ("starts", "start"), "nobody pressed start") for motor, shown in effect.starts.items()]
    moved += [(motor, shown, ("goes on", "go on"), "nothing tells it to run") for motor, shown in outcome.kept.items()]
    for motor, shown, (does, may), though in moved:
        sneak = _at_the_end(facts, outcome, shown, motor)
        if sneak is not None:
            what = does if sneak.verdict == PULLS_IN else f"may {may}"
            severity = grave if fault.kind in FAIL_SAFE else "advice"
            label = trial.healthy.plan.devices[motor].label()
            yield Bad(fault, trial, shown, sneak, severity, f"{label} {what} though {though}", None, motor)


def _breaks(held: Held, verdict: str) -> bool:
    category = required_category(held)
    return category in ("3", "4") or (category == "2" and verdict == UNSEEN)


def _lost(trial: FaultTrial, held: Held, sneak: Sneak) -> str:
    who, (target, _) = stopper(held.cause.device, held.cause.event.position), held.must
    label = "itself" if target == held.cause.device.name else trial.healthy.plan.devices[target].label()
    return f"{who} {'no longer stops' if sneak.verdict == PULLS_IN else 'may no longer stop'} {label}"


def _at_the_end(facts: Facts, outcome: Outcome, shown: Shown, target: str) -> Sneak | None:
    """The sneak path by which it comes to the last state of a trace: there, or in the last state before where one acts."""
    followed, b = outcome.followed, shown.behaviour
    near = facts.influences[target] | {target}
    for _, number in reversed(shown.path.after):
        here = [s for s in followed.sneaks if has(s.states, number) and s.verdict != GLOWS]
        acting = [s for s in here if s.kind == "input" or has(b.within(s.device), number)]
        sneak = min(acting, key=lambda s: (s.device not in near, WORST_FIRST.index(s.verdict), -s.volts), default=None)
        if sneak is not None:
            then = followed.finder.sneaks(b.space.only(number))
            return next((s for s in then if s.device == sneak.device and s.verdict == sneak.verdict), sneak)
    return None


def _is_meant(trial: FaultTrial, sneak: Sneak) -> bool:
    devices = trial.healthy.plan.devices
    return bool(sneak.through) and all(devices[name].kind in MEANT for name in sneak.through)


def _at_rest(trial: FaultTrial, found: FaultSneaks, sneak: Sneak, severity: str = "advice") -> Iterator[Bad]:
    """A sneak path from which nothing grave follows, where the circuit comes to rest with it."""
    followed = found.certain.followed
    ways = []
    for b in (followed.from_start, followed.any_time):
        depth = b.reach.depth(states := sneak.states & b.reached)
        if depth is not None:
            ways.append(trial.shown(b, depth, partial(to_reached, states=states)))
    if ways:
        outcome = f"{_name(trial, sneak)} {ALONE[sneak.verdict]}"
        yield Bad(found.fault, trial, min(ways, key=lambda way: way.rank), sneak, severity, outcome)


# lamps


def _lit(rule: Rule, trial: FaultTrial, found: FaultSneaks) -> Iterator[Bad]:
    """Lamps and buzzers that are lit at other times; where a coil has a part in it, the finding on that coil says all."""
    b, coils = trial.healthy, {s.device for s in found.sneaks if s.verdict != GLOWS}
    for sneak in found.sneaks if found.fault.kind in FAIL_SAFE else ():
        together, lit = {sneak.device, *sneak.through}, b.acting.get(sneak.device, 0) & b.reached
        if b.plan.devices[sneak.device].kind in SIGNALS and lit and not coils & together and not _is_meant(trial, sneak):
            yield from _at_rest(trial, found, sneak, rule.severity)


# what is told


def _folded(bad: Sequence[Bad], by_lamps: bool) -> Iterator[list[Bad]]:
    """What has one cause: the same device acts, or the same lamps have a part in it."""
    groups: list[tuple[set[str], list[Bad]]] = []
    for one in bad:
        names = {one.sneak.device, *one.sneak.through} if by_lamps else {one.sneak.device}
        same = [group for group in groups if group[0] & names]
        groups = [group for group in groups if group not in same]
        groups.append((names.union(*(n for n, _ in same)), [*(b for _, each in same for b in each), one]))
    yield from (each for _, each in groups)


def _finding(rule: Rule, group: Sequence[Bad]) -> Finding:
    """One finding for all faults that let the same thing act: the gravest is shown."""
    worst = min(group, key=lambda bad: bad.rank)
    sneak, b, fault = worst.sneak, worst.shown.behaviour, worst.fault
    device = b.plan.devices[sneak.device]
    spot = worst.held.cause.device.spot if worst.held else device.spot
    others = dict.fromkeys(bad.fault.text for bad in group if bad.fault.text != fault.text)
    faults = [bad.fault for bad in (worst, *group)]
    names = [*([worst.held.cause.device.name] if worst.held else []), sneak.device, *sneak.through, worst.motor]
    return rule.finding(
        spot,
        devices=tuple(dict.fromkeys(name for name in (*names, *(d for f in faults for d in f.devices)) if name)),
        wires=tuple(dict.fromkeys((*(w for f in faults for w in f.wires), *wires_on(b, sneak.walk)))),
        evidence=_evidence(worst),
        severity=worst.severity if severity_rank(worst.severity) < severity_rank(rule.severity) else rule.severity,
        rests_on=sneak.assumed,
        outcome=worst.outcome,
        fault=fault.text,
        device=_name(worst.trial, sneak),
        through=join_words(b.plan.devices[name].label() for name in sneak.through) or "two supplies that meet",
        volts=f"{sneak.volts:.1f} V",
        rated=f"{sneak.rated:g} V",
        share=f"{sneak.share:.0%}",
        also=also(list(others)),
    )


def _name(trial: FaultTrial, sneak: Sneak) -> str:
    return f"input {sneak.ends[0]}" if sneak.kind == "input" else trial.healthy.plan.devices[sneak.device].label()


def _evidence(bad: Bad) -> Evidence:
    b, walk = bad.shown.behaviour, bad.sneak.walk
    numbers: Mapping[str, str] = {"measured": f"{bad.sneak.volts:.1f} V", "limit": limit(b, bad.sneak)}
    shown = fault_evidence(bad.shown, bad.fault)
    return shown._replace(walk=tuple(map(str, walk)), numbers=numbers, passes=passes(b, walk, bad.shown.path.after[-1][1]))
