"""A contactor that is stuck in keeps out the one with which it would join two poles of a source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from itertools import permutations
from typing import NamedTuple

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultedBehaviour, FaultSet
from wirecheck.behaviour.faults import Fault, single_faults
from wirecheck.behaviour.verdicts import Shown, as_it_is, to_reached
from wirecheck.circuit import Source
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Terminal
from wirecheck.rules.claims.no_short import walk_of_short
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import coils_on, fault_evidence, wires_on

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "other", "poles", "source", "also"})


class Pair(NamedTuple):
    """Two contactors that together join two poles of a source, the one that sticks first."""

    stuck: str
    other: str
    source: Source
    short: int


class Met(NamedTuple):
    """What shows that the other one can be pulled in: a trace with the fault, and the way of the short."""

    pair: Pair
    fault: Fault
    shown: Shown
    walk: list[Terminal]
    poles: str


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each two contactors; what joins poles with no fault at all is told by other rules."""
    states = tried = 0
    found: list[Finding | Proof] = []
    for b in facts.views:
        pairs = list(_pairs(b))
        faults = {name: f for f in single_faults(b.plan) if f.kind == "stuck in" for name in f.stuck} if pairs else {}
        states += b.passed.bit_count()
        tried += len({pair.stuck for pair in pairs})
        found += _told(rule, facts, [met for met in _met(b, pairs, faults) if {met.pair.stuck, met.pair.other} & b.subjects])
    yield from found or [rule.proof(states, faults=tried, condition_reached=bool(tried))]


def _pairs(b: Behaviour) -> Iterator[Pair]:
    """The pairs of contactors with poles that could short a live source in some state, reached or not, and never do in order."""
    kinds = ("contactor", "relay")
    able = [d.name for d in b.plan.devices.values() if d.kind in kinds and any(c.pole for c in d.contacts)]
    for source in b.model.sources if len(able) > 1 else ():
        short = b.model.supplies.shorts(source)
        for stuck, other in permutations(able, 2) if short else ():
            both = short & b.within(stuck) & b.within(other)
            if both and not both & b.passed:
                yield Pair(stuck, other, source, both)


def _met(b: Behaviour, pairs: Iterable[Pair], faults: dict[str, Fault]) -> Iterator[Met]:
    """The pairs that come to be in together when the one sticks at any moment.

    A stuck armature changes nothing in what conducts in a state: what would be a short without it is one with it.
    """
    trial = FaultSet(b) if faults else None
    known: dict[str, FaultedBehaviour] = {}
    for pair in pairs:
        if trial is None or pair.stuck not in faults:
            continue
        if pair.stuck not in known:
            known = {pair.stuck: trial.behaviour(trial.model(faults[pair.stuck]), from_start=False)}  # only one at a time
        after = known[pair.stuck]
        bad = pair.short & after.passed
        path = after.reach.trace(bad) if bad else None
        if path is None:
            continue
        walk, poles = walk_of_short(after, pair.source, after.reach.passing_state(path, bad))
        if {pair.stuck, pair.other} <= set(coils_on(after, walk, after.reach.passing_state(path, bad))):
            shown = Shown(partial(as_it_is, after), False, len(path), partial(to_reached, states=bad))
            yield Met(pair, faults[pair.stuck], shown, walk, poles)


def _told(rule: Rule, facts: Facts, met: list[Met]) -> Iterator[Finding]:
    """One finding for the two, whichever of them sticks; the first of them in the plan is shown."""
    both_ways = {(m.pair.stuck, m.pair.other) for m in met}
    told: set[frozenset[str]] = set()
    for m in met:
        two = frozenset((m.pair.stuck, m.pair.other))
        if two not in told:
            told.add(two)
            yield _finding(rule, facts, m, (m.pair.other, m.pair.stuck) in both_ways)


def _finding(rule: Rule, facts: Facts, met: Met, both_ways: bool) -> Finding:
    stuck, other = (facts.plan.devices[name] for name in (met.pair.stuck, met.pair.other))
    return rule.finding(
        stuck.spot,
        devices=(stuck.name, other.name, met.pair.source.device),
        wires=wires_on(met.shown.behaviour, met.walk),
        evidence=fault_evidence(met.shown, met.fault),
        device=stuck.label(),
        other=other.label(),
        poles=met.poles,
        source=facts.plan.devices[met.pair.source.device].label(),
        also=f" The same with {other.label()} stuck." if both_ways else "",
    )
