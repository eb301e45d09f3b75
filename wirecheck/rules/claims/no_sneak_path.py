"""No coil or input (`of: coils`), no lamp (`of: lamps`) gets voltage that matters through another load."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from wirecheck.behaviour import Behaviour, Path
from wirecheck.behaviour.followed import Followed
from wirecheck.behaviour.sneaks import DROPS_OUT, GLOWS, MAY_HOLD, PULLS_IN, UNCERTAIN, Finder, Sneak
from wirecheck.behaviour.supplies import ACTS_FROM
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence, wires_on

CONDITIONS = {
    "required": ["of"],
    "properties": {
        "of": {
            "description": "coils: coils, inputs and loads that act by it. lamps: lamps that glow by it.",
            "enum": ["coils", "lamps"],
        }
    },
}
WORDS = frozenset({"device", "through", "volts", "rated", "share", "outcome"})

SIGNALS = ("lamp", "buzzer")
MEANT = frozenset({"resistor", "braking-resistor", "potentiometer"})
"""A resistor in series is put there on purpose: a way through these alone is no sneak path."""

WORST_FIRST = (PULLS_IN, MAY_HOLD, UNCERTAIN, GLOWS)
OUTCOME = {
    PULLS_IN: "It acts at that.",
    MAY_HOLD: "Once in, it may stay in at that or drop out: which cannot be told, so both were tried.",
    UNCERTAIN: "Whether it acts at that cannot be told, so both were tried.",
    GLOWS: "",
}


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each device, its worst sneak path."""
    states = 0
    found: list[Finding | Proof] = []
    for b, each in zip(facts.views, facts.sneaks, strict=True):
        states += b.passed.bit_count()
        sneaks = [s for s in each if s.device in b.subjects or s.kind == "load"]
        meant = [s for s in sneaks if _is_meant(b, s)]
        leaking = _leaking(facts, b, meant) if rule.claim["of"] == "coils" and any(s.verdict != GLOWS for s in meant) else ()
        sneaks = [s for s in sneaks if s not in meant or s.device in leaking]
        found += _coils(rule, facts, b, sneaks) if rule.claim["of"] == "coils" else _lamps(rule, b, sneaks)
    yield from found or [rule.proof(states)]


def _is_meant(b: Behaviour, sneak: Sneak) -> bool:
    """Whether it is no sneak path: through a resistor put there, or straight from a supply of another voltage, told as that."""
    if sneak.straight_from:
        return True
    return bool(sneak.through) and all(b.plan.devices[name].kind in MEANT for name in sneak.through)


def _leaking(facts: Facts, b: Behaviour, meant: Sequence[Sneak]) -> frozenset[str]:
    """The coils that a resistor holds in past what should let them drop: it lies across a contact, not in front of the coil."""
    from wirecheck.behaviour.verdicts import lost_in

    followed = Followed(b, False, facts.plan)
    held = [h for h in facts.held_functions if h.must[0] in b.plan.devices and not b.is_inert(h.cause.device.name)]
    past = [lost_in(followed.behaviour, h) for h in held if not lost_in(b, h)]
    return frozenset(s.device for s in meant if s.verdict != GLOWS and any(followed.acts(s.device) & states for states in past))


def _coils(rule: Rule, facts: Facts, b: Behaviour, sneaks: Sequence[Sneak]) -> Iterator[Finding]:
    coils = [s for s in sneaks if s.verdict != GLOWS]
    followed = Followed(b, False, facts.plan) if coils else None
    for name in dict.fromkeys(s.device for s in coils):
        own = sorted((s for s in coils if s.device == name), key=lambda s: (WORST_FIRST.index(s.verdict), -s.volts))
        turning = _turning(facts, b, followed, name) if followed else None
        yield _moving(rule, facts, followed, own[0], *turning) if followed and turning else _still(rule, facts, b, own[0])


def _turning(facts: Facts, b: Behaviour, followed: Followed, device: str) -> tuple[str, Path] | None:
    """A motor that turns because of a coil or input that acts by a sneak path alone, and how it comes to that."""
    after = followed.behaviour
    for motor in b.motors:
        bad = followed.acts(device) & after.moving(motor) if device in facts.influences[motor] or device == motor else 0
        path = after.reach.trace(bad) if bad else None
        if path is not None and _without(b, path) & ~b.moving(motor):
            return motor, path
    return None


def _without(b: Behaviour, path: Path) -> int:
    """Where the same events lead if sneak paths do nothing."""
    rules = {rule.event: rule for rule in b.events}
    states = b.reach.layers[0]
    for rule, _ in path[1:]:
        states = b.after(rules[rule.event], states) if rule is not None and rule.event in rules else states
    return states


def _moving(rule: Rule, facts: Facts, followed: Followed, sneak: Sneak, motor: str, path: Path) -> Finding:
    after = followed.behaviour
    here = [
        s
        for s in Finder(after.model, facts.plan).sneaks(after.space.only(path[-1][1]))
        if s.device == sneak.device and s.verdict != GLOWS
    ]
    shown = max(here, key=lambda s: s.volts, default=sneak)
    label = after.plan.devices[motor].label()
    last = next((f" after {rule.event}" for rule, _ in reversed(path) if rule is not None), "")
    then = {PULLS_IN: "Then", MAY_HOLD: "If it stays in,"}.get(shown.verdict, "If it acts,")
    return _finding(rule, after, shown, path, f"{OUTCOME[shown.verdict]} {then} {label} turns{last}.", "danger")


def _still(rule: Rule, facts: Facts, b: Behaviour, sneak: Sneak) -> Finding:
    """A coil whose acting moves no motor for certain; where it cannot be told whether it acts, what follows if it does."""
    outcome = OUTCOME[sneak.verdict]
    if sneak.verdict == UNCERTAIN:
        turning = _turning(facts, b, Followed(b, True, facts.plan), sneak.device)
        outcome += f" If it does, {b.plan.devices[turning[0]].label()} turns." if turning else ""
    return _finding(rule, b, sneak, b.reach.trace(sneak.states), outcome, "malfunction")


def _lamps(rule: Rule, b: Behaviour, sneaks: Sequence[Sneak]) -> Iterator[Finding]:
    """Lamps and buzzers that are lit at other times, one for each set that light each other.

    Where a coil has a part in it, the finding on that coil says all.
    """
    coils = {s.device for s in sneaks if s.verdict != GLOWS}
    told: set[frozenset[str]] = set()
    for sneak in sneaks:
        together, lit = frozenset({sneak.device, *sneak.through}), b.acting.get(sneak.device, 0) & b.reached
        if b.plan.devices[sneak.device].kind not in SIGNALS or not lit or coils & together or together in told:
            continue
        path = b.reach.trace(sneak.states & b.reached) if sneak.states & b.reached else None
        if path is not None:
            told.add(together)
            yield _finding(rule, b, sneak, path, OUTCOME[GLOWS], rule.severity)


def _finding(rule: Rule, b: Behaviour, sneak: Sneak, path: Path | None, outcome: str, severity: str) -> Finding:
    device = b.plan.devices[sneak.device]
    shown = evidence(b, path, sneak.walk)
    volts, rated = f"{sneak.volts:.1f} V", f"{sneak.rated:g} V"
    numbers = {"measured": volts, "limit": limit(b, sneak)}
    return rule.finding(
        device.spot,
        devices=(sneak.device, *sneak.through),
        wires=wires_on(b, sneak.walk),
        evidence=Evidence(shown.events, shown.steps, shown.walk, numbers),
        severity=severity,
        rests_on=sneak.assumed,
        device=device.label() if sneak.kind != "input" else f"input {sneak.ends[0]}",
        through=join_words(b.plan.devices[name].label() for name in sneak.through) or "two supplies that meet",
        volts=volts,
        rated=rated,
        share=f"{sneak.share:.0%}",
        outcome=outcome,
    )


def limit(b: Behaviour, sneak: Sneak) -> str:
    """What the voltage ought to be."""
    if sneak.verdict == GLOWS:
        return f"{sneak.rated:g} V or nothing"
    drop = DROPS_OUT["AC" if _is_ac(b, sneak) else "DC"]
    return f"acts from {sneak.rated * ACTS_FROM:.1f} V, drops out below {sneak.rated * drop:.1f} V"


def _is_ac(b: Behaviour, sneak: Sneak) -> bool:
    first = sneak.walk[0] if sneak.walk else None
    return any(s.kind == "AC" and first in s.poles for s in b.model.sources)
