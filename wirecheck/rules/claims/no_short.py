"""No two poles of a live source are joined, in any state that is reached or passed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour
from wirecheck.circuit import Source
from wirecheck.circuit.elements import COIL_KINDS
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Terminal
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import conducting, evidence, shortest_walk, wires_on

CONDITIONS = {"required": ["between"], "properties": {"between": {"enum": ["directions", "anything-else"]}}}
WORDS = frozenset({"source", "together", "poles"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each source and set of contactors that join its poles; `directions` has those of two together."""
    states = 0
    found: list[Finding | Proof] = []
    for b in facts.views:
        states += b.passed.bit_count()
        for source in b.model.sources:
            found += [f for two, f in _of_source(rule, b, source) if two == (rule.claim["between"] == "directions")]
    yield from found or [rule.proof(states)]


def _of_source(rule: Rule, b: Behaviour, source: Source) -> Iterator[tuple[bool, Finding]]:
    """Each distinct short of a source, and whether two contactors or relays together make it."""
    left = b.model.supplies.shorts(source) & b.passed
    while left:
        path = b.reach.trace(left)
        if path is None:
            return
        number = b.reach.passing_state(path, left)
        walk, poles = _walk(b, source, number)
        inside = list(dict.fromkeys(t.device for t in walk))
        coils = [d for d in inside if b.plan.devices[d].kind in COIL_KINDS and b.within(d) >> number & 1]
        two = len(coils) > 1
        yield (
            two,
            rule.finding(
                b.plan.devices[(coils or inside or [source.device])[0]].spot,
                devices=tuple(dict.fromkeys((*coils, *(inside if not two else ()), source.device))),
                wires=wires_on(b, walk),
                evidence=evidence(b, path, walk),
                source=b.plan.devices[source.device].label(),
                together=join_words(coils) or join_words(inside),
                poles=poles,
            ),
        )
        same = left
        for name in coils:
            same &= b.within(name)
        left &= ~same if coils else 0


def _walk(b: Behaviour, source: Source, number: int) -> tuple[list[Terminal], str]:
    elements = conducting(b, number)
    walks = [(shortest_walk(elements, [p], q), f"{p} and {q}") for p, q, _ in source.pairs()]
    return min((w for w in walks if w[0]), key=lambda w: len(w[0]), default=([], ""))
