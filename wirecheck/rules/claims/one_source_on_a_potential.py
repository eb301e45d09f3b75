"""Never two sources on one potential; returns (N, PE, minus, common, of sinking logic plus) may be joined, at one point.

PE is no second source to a supply that stands apart from the mains: one bond at either of its poles drives no current. At both it
is a short, and at the wrong one a chafed wire commands; both are told by rules of their own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.network import NEVER
from wirecheck.circuit import Source
from wirecheck.circuit.elements import section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Terminal
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import conducting, evidence, shortest_walk, wires_on

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "supply-and-drive-output: a supply on the output of a drive. others: any other two.",
            "enum": ["supply-and-drive-output", "others"],
        }
    },
}
WORDS = frozenset({"source", "other", "pole", "far"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each pair of sources."""
    states = 0
    found: list[Finding | Proof] = []
    for b in facts.views:
        states += b.passed.bit_count()
        sources = b.model.sources
        for i, one in enumerate(sources):
            for two in sources[i + 1 :]:
                output = "output" in (one.role, two.role)
                if output == (rule.claim["which"] == "supply-and-drive-output"):
                    found += list(_pair(rule, b, one, two))
    yield from found or [rule.proof(states)]


def _pair(rule: Rule, b: Behaviour, one: Source, two: Source) -> Iterator[Finding]:
    """A finding where a live pole of one source meets one of the other. A drive's output is harmed whether it runs or not."""
    live = b.passed
    for source in (one, two):
        live &= b.model.supplies.live[source.name] if source.role != "output" else b.space.full
    if one.device == two.device and "output" not in (one.role, two.role):
        return  # a drive's 24 V and 10 V on one potential share a board: told by the numbers, not here
    for p in one.poles:
        for q in two.poles:
            met = live & b.model.supplies.at(one, p, q, NEVER) if not _may_meet(b, (one, p), (two, q)) else 0
            if p == q or not met:
                continue
            path = b.reach.trace(met)
            if path is None:
                continue
            number = b.reach.passing_state(path, met)
            walk = shortest_walk((e for e in conducting(b, number) if e.kind != "diode"), [p], q)
            inside = dict.fromkeys(t.device for t in walk)
            yield rule.finding(
                b.plan.devices[two.device].spot,
                devices=tuple(dict.fromkeys((one.device, two.device, *inside))),
                wires=wires_on(b, walk),
                evidence=evidence(b, path, walk),
                source=b.plan.devices[one.device].label(),
                other=b.plan.devices[two.device].label(),
                pole=str(p),
                far=str(q),
            )
            return


def _may_meet(b: Behaviour, one: tuple[Source, Terminal], two: tuple[Source, Terminal]) -> bool:
    """Whether two poles may be on one potential: both are returns, or one is PE and the other belongs to a supply of its own."""
    if all(pole in source.returns for source, pole in (one, two)) or all(_earthed_side(b, *each) for each in (one, two)):
        return True
    for (_, earth), (source, _) in ((one, two), (two, one)):
        if earth.mark == "PE" and source.feed is not None and source.role == "supply":
            return True
    return False


def _earthed_side(b: Behaviour, source: Source, pole: Terminal) -> bool:
    """Whether a pole is on the side that is earthed: the return, but plus where sinking inputs are commanded from the common."""
    control = section(b.plan.devices[source.device].values, "control")
    sinking = source.role == "supply" and control.get("logic") == "sinking"
    return (pole in source.returns) != sinking
