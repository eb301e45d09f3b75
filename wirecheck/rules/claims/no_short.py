"""No two poles of a live source are joined, in any state that is reached or passed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from wirecheck.behaviour import Behaviour, Path
from wirecheck.circuit import Source
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Terminal
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import coils_on, conducting, evidence, shortest_walk, wires_on

CONDITIONS = {
    "required": ["between"],
    "properties": {
        "between": {
            "description": "directions: by contactors of two directions or speeds, in together. anything-else: otherwise.",
            "enum": ["directions", "anything-else"],
        }
    },
}
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
        walk, poles = walk_of_short(b, source, number)
        inside = list(dict.fromkeys(t.device for t in walk))
        crossed = list(dict.fromkeys(a.device for a, z in pairwise(walk) if a.device == z.device))
        held = coils_on(b, walk, number)
        coils = [name for name in b.plan.devices if name in held]
        two = len(coils) > 1
        cause = coils if two else _cause(b, path, crossed)
        yield (
            two,
            rule.finding(
                b.plan.devices[(cause or inside or [source.device])[0]].spot,
                devices=tuple(dict.fromkeys((*coils, *(inside if not two else ()), source.device))),
                wires=wires_on(b, walk),
                evidence=evidence(b, path, walk),
                source=b.plan.devices[source.device].label(),
                together=join_words(coils if two else crossed) or "nothing but wires",
                poles=poles,
            ),
        )
        same = left
        for name in coils:
            same &= b.within(name)
        left &= ~same if coils else 0


def _cause(b: Behaviour, path: Path, crossed: list[str]) -> list[str]:
    """The device to look at first: a diode the wrong way round, else what the last event moved, else what lies on the walk."""
    last = path[-1][0]
    kinds = {name: b.plan.devices[name].kind for name in crossed}
    moved = [name for name in crossed if last is not None and name == last.event.device]
    diodes = [name for name in crossed if kinds[name] == "diode"]
    return [*diodes, *moved, *(name for name in crossed if kinds[name] not in ("earth-bar", "terminal-block"))]


def walk_of_short(b: Behaviour, source: Source, number: int) -> tuple[list[Terminal], str]:
    """The shortest way between two poles of a source that are joined in a state, and the marks of these."""
    elements = conducting(b, number)
    walks = [(shortest_walk(elements, [p], q), f"{p.mark} and {q.mark}") for p, q, _ in source.pairs()]
    return min((w for w in walks if w[0]), key=lambda w: len(w[0]), default=([], ""))
