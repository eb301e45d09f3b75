"""After every event the circuit comes to rest (`how: at-all`), and in the same way whatever moves first (`how: one-way`)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour, Path
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence

CONDITIONS = {"required": ["how"], "properties": {"how": {"enum": ["at-all", "one-way", "one-way-with-start-held"]}}}
WORDS = frozenset({"device", "moving", "event"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each group of devices that hunt or race."""
    found: list[Finding | Proof] = []
    states = 0
    for b in facts.views:
        states += b.passed.bit_count()
        found += _oscillations(rule, b) if rule.claim["how"] == "at-all" else _races(rule, b)
    yield from found or [rule.proof(states)]


def _oscillations(rule: Rule, b: Behaviour) -> Iterator[Finding]:
    left = b.reach.restless_for_ever()
    while left:
        path = b.reach.trace(left)
        if path is None:
            return
        hunting = _cycle(b, path)
        devices = [name for name in b.plan.devices if b.within(name) & hunting and ~b.within(name) & hunting]
        devices = devices or [str(path[-1][0].event.device) if path[-1][0] else next(iter(b.plan.devices))]
        yield _finding(rule, b, path, devices)
        alike = hunting
        for name in devices:  # the same devices hunting in another position of the rest is the same finding
            alike |= _with_both(b, left, name)
        left &= ~alike


def _cycle(b: Behaviour, path: Path) -> int:
    """The states that the circuit goes round in at the end of a path."""
    return b.reach.settling.passing(1 << path[-1][1]) & b.reach.restless_for_ever()


def _with_both(b: Behaviour, left: int, name: str) -> int:
    variable = b.space.variables[name].low if name in b.space.variables else None
    if variable is None:
        return 0
    turned = b.space.flip(left, (variable,))
    return left & turned


def _races(rule: Rule, b: Behaviour) -> Iterator[Finding]:
    held = rule.claim["how"] == "one-way-with-start-held"
    names: dict[str, int] = {}
    shorts = 0
    for states in b.model.shorts().values():
        shorts |= states
    for bit, origins in b.reach.races():
        name = next(v.name for v in b.space.variables.values() if v.low <= bit < v.low + v.width)
        names[name] = names.get(name, 0) | origins
    told: set[str] = set()
    for name, origins in names.items():
        device = name.split(" ")[0]
        if device in told:
            continue
        path = _race_path(b, origins & ~b.reach.settling.leading(shorts & b.passed, b.passed), held)
        if path is not None:
            told.add(device)
            yield _finding(rule, b, path, [device])


def _race_path(b: Behaviour, origins: int, held: bool) -> Path | None:
    """A shortest trace to a race: with no start device held before its last event, or only with one held."""
    best: Path | None = None
    for r in b.events:
        before = b.reach.settling.before(r, origins, b.reached)
        free = before & ~b.start_held
        chosen = (before & b.start_held if not free else 0) if held else free
        depth = b.reach.depth(chosen)
        if depth is not None and (best is None or depth + 2 < len(best)):
            best = b.reach.step_trace(r, chosen, b.space.full)
    return best


def _finding(rule: Rule, b: Behaviour, path: Path, devices: list[str]) -> Finding:
    first = b.plan.devices[devices[0]]
    event = path[-1][0]
    return rule.finding(
        first.spot,
        devices=devices,
        evidence=evidence(b, path),
        device=join_words(b.plan.devices[d].label() for d in devices),
        moving=join_words(devices),
        event=str(event.event) if event else "rest",
    )
