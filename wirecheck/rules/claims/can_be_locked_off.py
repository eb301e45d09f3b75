"""Every supply can be cut off, and kept off while hands are in the machine: by an isolator that locks, or by a plug."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wirecheck.behaviour import Behaviour
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device, Terminal
from wirecheck.rules.claims.off_is_off import NOT_A_PHASE, met, taking_ends
from wirecheck.rules.record import Rule, join_words

CONDITIONS = {
    "required": ["which"],
    "properties": {
        "which": {
            "description": "missing: a supply with neither isolator nor plug. lock: an isolator that cannot be locked off; only "
            "advice where the plan does not state it. neutral: no isolator opens the neutral; only advice in TN.",
            "enum": ["missing", "lock", "neutral"],
        }
    },
}
WORDS = frozenset({"device", "how"})

Ends = Mapping[str, list[Terminal]]


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each supply or isolator."""
    kind = {"missing": _missing, "lock": _lock, "neutral": _neutral}[str(rule.claim["which"])]
    used = [supply for supply in facts.of_kind("mains") if _is_used(facts, supply)]
    found: list[Finding | Proof] = [
        finding for supply in used if not _on_a_plug(facts, supply) for finding in kind(rule, facts, supply)
    ]
    yield from found or [rule.proof(1, condition_reached=bool(used))]


def _is_used(facts: Facts, supply: Device) -> bool:
    ends = (end for ends in taking_ends(facts).values() for end in ends)
    return any(_reaches(facts, supply, end) for end in ends)


def _reaches(facts: Facts, supply: Device, terminal: Terminal) -> bool:
    """Whether a phase of the supply is ever on a terminal."""
    return any(pole.device == supply.name and pole.mark not in NOT_A_PHASE for _, pole in facts.touched.poles(terminal))


def _on_a_plug(facts: Facts, supply: Device) -> bool:
    """Whether pulling a plug leaves nothing live: somebody pulls it, and keeps it in sight."""
    plugs = [plug for plug in facts.of_kind("plug-connector") if _in_the_way(facts, supply, plug)]
    return "plug" in supply.values or any(not any(_left(facts, supply, {plug.name: "parted"})) for plug in plugs)


def _in_the_way(facts: Facts, supply: Device, device: Device) -> bool:
    return any(_reaches(facts, supply, device.terminal(contact.a)) for contact in device.contacts)


def _isolators(facts: Facts, supply: Device) -> list[Device]:
    return [isolator for isolator in facts.of_kind("isolator") if _in_the_way(facts, supply, isolator)]


def _left(facts: Facts, supply: Device, put: Mapping[str, str], marks: Iterable[str] = ()) -> Iterator[str]:
    """The devices that are still joined to a phase of the supply, or to its `marks`, with these devices put so."""
    for b in facts.views:
        states = _with(b, put)
        for name, ends in taking_ends(facts).items():
            if name in b.subjects and any(met(b, end, states, supply.name, marks) for end in ends):
                yield name


def _with(b: Behaviour, put: Mapping[str, str]) -> int:
    states = b.reached
    for name, position in put.items():
        if not b.is_inert(name):
            states &= b.at(name, position)
    return states


def _missing(rule: Rule, facts: Facts, supply: Device) -> Iterator[Finding]:
    if not _isolators(facts, supply):
        yield rule.finding(supply.spot, devices=(supply.name,), device=supply.label(), how="")


def _lock(rule: Rule, facts: Facts, supply: Device) -> Iterator[Finding]:
    isolators = _isolators(facts, supply)
    off = {i.name: "off" for i in isolators if i.values.get("lockable") is True}
    left = set(_left(facts, supply, off))
    for isolator in (i for i in isolators if i.name not in off):
        if left - set(_left(facts, supply, {**off, isolator.name: "off"})):
            stated = "lockable" in isolator.values
            yield rule.finding(
                isolator.lines.get("lockable", isolator.spot),
                devices=(isolator.name,),
                severity=None if stated else "advice",
                rests_on=() if stated else (f"{isolator.name} lockable is not stated",),
                device=isolator.label(),
                how="it cannot be locked" if stated else "the plan does not say that it can be locked",
            )


def _neutral(rule: Rule, facts: Facts, supply: Device) -> Iterator[Finding]:
    isolators = _isolators(facts, supply)
    off = {isolator.name: "off" for isolator in isolators}
    left = sorted(set(_left(facts, supply, off, ("N",)))) if isolators and "N" in supply.marks else []
    sure = supply.values.get("earthing") in ("TT", "IT")
    # In North America, and of three phases with TN, a neutral stays closed as a rule.
    if left and (sure or (supply.values.get("phases") == 1 and facts.plan.machine.region != "NA")):
        yield rule.finding(
            isolators[0].spot,
            devices=(*off, *left),
            severity=None if sure else "advice",
            device=join_words(isolator.label() for isolator in isolators),
            how=join_words(facts.plan.devices[name].label() for name in left),
        )
