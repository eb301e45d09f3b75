"""A cause stops what it must: with it held, motion neither goes on (`part: goes-on`) nor begins (`part: begins`)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wirecheck.behaviour import Behaviour, EventRule, Path
from wirecheck.behaviour.causes import Cause, about_to_stop, causes, going_on, unstated
from wirecheck.behaviour.parts import setting
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Contact
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence, side_by_side, told_event, way_round, what_keeps, wires_on

CONDITIONS = {
    "required": ["causes", "part"],
    "properties": {
        "causes": {
            "description": "What stops: guards opened, emergency stops or stops pressed, selectors turned out of their run "
            "positions, plugs parted, or the functions that the plan states.",
            "enum": ["guards", "emergency-stops", "stops", "selectors", "plugs", "functions"],
        },
        "part": {
            "description": "goes-on: motion must not go on. begins: with the cause held, motion must not begin.",
            "enum": ["goes-on", "begins"],
        },
    },
}
WORDS = frozenset({"device", "event", "function", "motor", "by", "promised", "cause", "happens", "round", "keypad"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each cause and each thing that it fails to stop."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for cause in causes(facts, str(rule.claim["causes"])):
        for must in cause.must:
            b = facts.view_of(must[0], cause.device.name)
            states += b.reached.bit_count()
            held = b.reached & _held(b, cause)
            reached = reached or bool(held)
            bad = held & going_on(b, must)
            bad &= ~about_to_stop(b, bad, going_on(b, must))
            if bad:
                found += list(_findings(rule, facts, b, cause, must, bad))
    yield from found or [rule.proof(states, condition_reached=reached)]


def _held(b: Behaviour, cause: Cause) -> int:
    return b.at(cause.event.device, cause.event.position) if cause.event.device in b.plan.devices else b.space.full


def _findings(rule: Rule, facts: Facts, b: Behaviour, cause: Cause, must: tuple[str, str], bad: int) -> Iterator[Finding]:
    on = going_on(b, must)
    if rule.claim["part"] == "goes-on":
        own = next(r for r in b.events if r.event == cause.event)
        path = b.reach.step_trace(own, on, bad)
        if path is not None:
            yield _finding(rule, facts, b, cause, must, path, own)
        return
    # Of traces equally short, one that ends with a start button shows best that the button has a way round the cause.
    best = min(_beginnings(b, cause, on, bad), key=lambda begun: (len(begun[0]), not b.is_start(begun[1].event)), default=None)
    if best is not None:
        yield _finding(rule, facts, b, cause, must, *best)


def _beginnings(b: Behaviour, cause: Cause, on: int, bad: int) -> Iterator[tuple[Path, EventRule]]:
    """Traces by which, with the cause held all along, what was off begins."""
    held_off = b.reached & _held(b, cause) & ~on
    for event in b.events:
        if event.event.device != cause.event.device:
            path = b.reach.step_trace(event, held_off, bad)
            if path is not None:
                yield path, event


def _finding(rule: Rule, facts: Facts, b: Behaviour, cause: Cause, must: tuple[str, str], path: Path, by: EventRule) -> Finding:
    name = cause.device.name
    decided = {other for other, near in facts.direct_influences.items() if name in near}
    walk, coils = what_keeps(b, path[-1][1], must[0], name, decided) if must[1] == "stopped" else ([], [])
    keypads = [r.event.device for r, _ in path if r is not None and r.event.position == "keypad-run"]
    return rule.finding(
        cause.device.spot,
        devices=tuple(dict.fromkeys((name, *coils, *keypads, must[0]))),
        wires=wires_on(b, walk),
        evidence=evidence(b, path, walk),
        rests_on=[line for drive in keypads for line in unstated(b.plan.devices[drive], {"command_source": "both"})],
        device=cause.device.label(),
        event=str(cause.event),
        function=cause.function.name if cause.function else "",
        motor=b.plan.devices[must[0]].label(),
        by=str(by.event),
        promised=_promised(facts, cause, must),
        cause=told_event(b, cause.event),
        happens=told_event(b, by.event),
        round=(
            way_round(b, walk, name, coils, _breaking(facts, cause, coils))
            if rule.claim["part"] == "goes-on"
            else side_by_side(b, walk, name)
        ),
        keypad="".join(_keypad(b)),
    )


def _keypad(b: Behaviour) -> Iterator[str]:
    """For each drive that its keypad can start, or of which the plan does not say otherwise: a sentence on what to set."""
    for device in b.plan.devices.values():
        source = setting(device, "command_source")
        if device.kind == "drive" and source != "terminals":
            obeys = "obeys" if source else "may obey"
            yield f" Set {device.label()} to take its commands from its terminals alone: it {obeys} its keypad too."


def _breaking(facts: Facts, cause: Cause, coils: list[str]) -> list[Contact]:
    """The contacts of what should stop that open then and decide about the relay nearest to it."""
    opening = [c for c in cause.device.contacts if cause.event.position not in c.closed_in]
    return [c for c in opening if coils and facts.decides(c, facts.plan.devices[coils[-1]])]


def _promised(facts: Facts, cause: Cause, must: tuple[str, str]) -> str:
    """That the plan states it as a function, for the rules whose causes are not the functions themselves."""
    names = [f.name for f in facts.plan.functions if cause.event in f.causes and must in f.must]
    return f" The plan promises that it stops (function {join_words(names)})." if names else ""
