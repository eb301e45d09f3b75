"""After every event the circuit comes to rest (`how: at-all`), and in the same way whatever moves first (`how: one-way`)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from wirecheck.behaviour import Behaviour, Path
from wirecheck.behaviour.space import lowest
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Terminal
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import coil_walk, evidence, fed_from_behind, told_event, wires_on

CONDITIONS = {
    "required": ["how"],
    "properties": {
        "how": {
            "description": "at-all: no endless pulling in and dropping out. one-way: whatever moves first, with no start held. "
            "one-way-with-start-held: the same while a start is held.",
            "enum": ["at-all", "one-way", "one-way-with-start-held"],
        }
    },
}
WORDS = frozenset({"device", "moving", "event", "happens", "advice"})


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each group of devices that hunt or race."""
    found: list[Finding | Proof] = []
    states = 0
    how = rule.claim["how"]
    for i, b in enumerate(facts.views):
        states += b.passed.bit_count()
        found += _oscillations(rule, b) if how == "at-all" else _races(rule, b, facts.races[i])
    yield from found or [rule.proof(states)]


def _oscillations(rule: Rule, b: Behaviour) -> Iterator[Finding]:
    left = b.reach.restless_for_ever()
    while left:
        path = b.reach.trace(left)
        if path is None:
            return
        hunting = _cycle(b, b.reach.passing_state(path, left))
        devices = [name for name in b.plan.devices if b.within(name) & hunting and ~b.within(name) & hunting]
        devices = devices or [str(path[-1][0].event.device) if path[-1][0] else next(iter(b.plan.devices))]
        yield _finding(rule, b, path, devices, _coil_way(b, hunting, devices))
        alike = hunting
        for name in devices:  # the same devices hunting in another position of the rest is the same finding
            alike |= _with_both(b, left, name)
        left &= ~alike


def _cycle(b: Behaviour, number: int) -> int:
    """The states that the circuit goes round in from a state on."""
    return b.reach.settling.passing(b.space.only(number)) & b.reach.restless_for_ever()


def _with_both(b: Behaviour, left: int, name: str) -> int:
    variable = b.space.variables[name].low if name in b.space.variables else None
    if variable is None:
        return 0
    turned = b.space.flip(left, (variable,))
    return left & turned


def _races(rule: Rule, b: Behaviour, races: Sequence[tuple[int, int]]) -> Iterator[Finding]:
    held = rule.claim["how"] == "one-way-with-start-held"
    shorts = 0
    for states in b.model.shorts().values():
        shorts |= states
    calm = ~b.reach.leading(shorts)
    told: set[str] = set()
    for devices, origins in _together(b, races):
        if told & set(devices):
            continue
        path = _race_path(b, origins & calm, held)
        if path is not None:
            told.update(devices)
            yield _finding(rule, b, path, [name for name in b.plan.devices if name in devices])


def _together(b: Behaviour, races: Iterable[tuple[int, int]]) -> list[tuple[list[str], int]]:
    """The devices that race, those together whose ends hang on the same race, with the states in which it begins."""
    groups: list[tuple[list[str], int]] = []
    for bit, origins in races:
        name = next(v.name for v in b.space.variables.values() if v.low <= bit < v.low + v.width).split(" ")[0]
        for i, (names, shared) in enumerate(groups):
            if shared & origins:
                groups[i] = ([*names, name], shared & origins)
                break
        else:
            groups.append(([name], origins))
    return groups


def _race_path(b: Behaviour, origins: int, held: bool) -> Path | None:
    """A shortest trace to a race: with no start device held before its last event, or only with one held."""
    best: Path | None = None
    for r in reversed(b.events):
        before = b.reach.before(r, origins, b.reached)
        free = before & ~b.start_held
        chosen = (before & b.start_held if not free else 0) if held else free
        depth = b.reach.depth(chosen)
        if depth is not None and (best is None or depth + 2 < len(best)):
            best = b.reach.step_trace(r, chosen, b.space.full)
    return best


def _coil_way(b: Behaviour, hunting: int, devices: list[str]) -> list[Terminal]:
    """The way of the current that pulls in one of the devices that hunt, in one of the states that they go round in."""
    for name in devices:
        pulling = hunting & b.acting.get(name, 0) & ~b.within(name)
        if pulling:
            return coil_walk(b, lowest(pulling), name)
    return []


def _finding(rule: Rule, b: Behaviour, path: Path, devices: list[str], walk: Sequence[Terminal] = ()) -> Finding:
    first = b.plan.devices[devices[0]]
    event = path[-1][0]
    return rule.finding(
        first.spot,
        devices=devices,
        wires=wires_on(b, walk),
        evidence=evidence(b, path, walk),
        device=join_words(b.plan.devices[d].label() for d in devices),
        moving=join_words(devices),
        event=str(event.event) if event else "rest",
        happens=told_event(b, event.event) if event else "nothing at all is touched",
        advice=_advice(b, path, devices),
    )


def _advice(b: Behaviour, path: Path, devices: Sequence[str]) -> str:
    """What to do about a race with a start held: of two one must lock the other out; of one alone the feed is wrong."""
    event = path[-1][0]
    one = b.space.only(path[-2][1]) if len(path) > 1 else 0
    held = [r.event.device for r in b.events if b.is_start(r.event) and b.at(r.event.device, r.event.position) & one]
    starts = list(dict.fromkeys(held))
    if len(starts) != 1 or event is None:
        return "Interlock the starts with each other"
    by = b.plan.devices[event.event.device].label()
    for drive in (name for name in devices if b.plan.devices[name].kind == "drive"):
        end = fed_from_behind(b, path[-1][1], drive, starts[0], event.event.device)
        if end is not None and b.plan.devices[event.event.device].kind != "plug-connector":
            return f"Feed {end} from ahead of {by}, so that a start that is held makes no change when {by} closes"
    return f"Let {by} and the start of {b.plan.devices[starts[0]].label()} not meet at {join_words(devices)} at one moment"
