"""The program's engine in the words of the plain one, so that the two can be held against each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import cast

from tests.oracles.plain_engine import PlainEngine, State
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.pieces import Pieces
from wirecheck.plan.model import Plan

DRIVE_BITS = {
    "power": "P",
    "torque": "T",
    "permit": "M",
    "forward": "F",
    "reverse": "R",
    "jog": "J",
    "waiting": "K",
    "latched": "L",
    "backwards": "D",
    "keypad": "Y",
}
ARMATURE = {"going in": "up", "going out": "down"}

View = frozenset[tuple[str, str]]


@dataclass(frozen=True)
class Seen:
    """What an engine says of a plan, by comparable views of its settled states."""

    depth: dict[View, int]
    motion: dict[View, dict[str, str]]
    energised: dict[View, frozenset[str]]
    races: bool
    oscillates: bool
    shorts: frozenset[str]


def fast(plan: Plan) -> tuple[Seen, frozenset[str]]:
    """What the program's engine says, and the names of the variables it keeps."""
    engine = Behaviour(plan)
    reach = engine.reach
    depth, motion, energised = _states(engine, PlainEngine(plan).consumers, {})
    shorts = frozenset(name for name, states in engine.model.shorts().items() if states & engine.passed)
    seen = Seen(depth, motion, energised, any(True for _ in reach.races()), bool(reach.restless_for_ever()), shorts)
    return seen, frozenset(engine.space.variables)


States = tuple[dict[View, int], dict[View, dict[str, str]], dict[View, frozenset[str]]]


def _states(engine: Behaviour, consumers: Iterable[str], views: dict[int, View]) -> States:
    """Depth, motion and what is energised of every settled state. `views` has the states that are translated already."""
    depth, motion, energised = {}, {}, {}
    acting = {name: _digits(engine.acting[name]) for name in consumers}
    turning = {m: (_digits(engine.moving(m)), _digits(engine.moving(m, "forward"))) for m in engine.motors}
    for distance, layer in enumerate(engine.reach.layers):
        for number in _numbers(layer):
            view = views.get(number)
            if view is None:
                view = views[number] = frozenset((n, ARMATURE.get(v, v)) for n, v in engine.space.decode(number).items())
            depth[view] = distance
            motion[view] = {m: _motion(number, *sets) for m, sets in turning.items()}
            energised[view] = frozenset(name for name, digits in acting.items() if _has(digits, number))
    return depth, motion, energised


def _digits(states: int) -> str:
    """A set of states as a text of noughts and ones, state number 0 first."""
    return bin(_in_one(states))[:1:-1]


def _in_one(states: object) -> int:
    """A set of states as one integer, though it be kept in pieces."""
    return sum(leaf << first for first, leaf in states.ascending()) if isinstance(states, Pieces) else cast(int, states)


def _has(digits: str, number: int) -> bool:
    return digits[number : number + 1] == "1"


def _numbers(states: int) -> Iterator[int]:
    """The numbers of the states in a set."""
    digits = _digits(states)
    number = digits.find("1")
    while number >= 0:
        yield number
        number = digits.find("1", number + 1)


def fast_states(engine: Behaviour, consumers: Iterable[str], views: dict[int, View] | None = None) -> Seen:
    """The settled states of a behaviour that is there already; nothing is said of races and shorts."""
    return Seen(*_states(engine, consumers, {} if views is None else views), races=False, oscillates=False, shorts=frozenset())


def plain_states(
    engine: PlainEngine, states: Mapping[State, int], keep: frozenset[str], views: dict[State, View] | None = None
) -> Seen:
    """The same of states that the plain engine has reached, in the variables that the other one keeps."""
    depth: dict[View, int] = {}
    motion, energised = {}, {}
    views = {} if views is None else views
    for state, distance in states.items():
        view = views.get(state)
        if view is None:
            view = views[state] = view_of(engine, state, keep)
        depth[view] = min(distance, depth.get(view, distance))
        motion[view] = engine.motion(state)
        energised[view] = frozenset(engine.energised(state))
    return Seen(depth, motion, energised, races=False, oscillates=False, shorts=frozenset())


def differences(one: Seen, other: Seen) -> list[str]:
    """What two engines do not agree on, a state or two of each; empty where they agree."""
    found = []
    for name, only in (("first", one.depth.keys() - other.depth.keys()), ("second", other.depth.keys() - one.depth.keys())):
        depth = one.depth if name == "first" else other.depth
        found += [f"reached by the {name} only: {_text(v)}" for v in sorted(only, key=lambda v: (depth[v], _text(v)))[:2]]
    both = sorted(one.depth.keys() & other.depth.keys(), key=lambda v: (one.depth[v], _text(v)))
    for what in ("depth", "motion", "energised"):
        a, b = getattr(one, what), getattr(other, what)
        found += [f"{what} {a[v]} or {b[v]}: {_text(v)}" for v in both if a[v] != b[v]][:2]
    for what in ("races", "oscillates", "shorts"):
        if getattr(one, what) != getattr(other, what):
            found.append(f"{what}: {getattr(one, what)} or {getattr(other, what)}")
    return found


def _text(view: View) -> str:
    return " ".join(f"{name}={value}" for name, value in sorted(view))


def _motion(number: int, moving: str, forward: str) -> str:
    if not _has(moving, number):
        return "stopped"
    return "forward" if _has(forward, number) else "reverse"


def plain(engine: PlainEngine, keep: frozenset[str]) -> Seen:
    """What the plain engine says, in the variables that the other one keeps."""
    depth: dict[View, int] = {}
    motion, energised, shorts = {}, {}, set()
    races = oscillates = False
    for state, distance in engine.reach().items():
        view = view_of(engine, state, keep)
        depth[view] = min(distance, depth.get(view, distance))
        motion[view] = engine.motion(state)
        energised[view] = frozenset(engine.energised(state))
        for event in engine.events(state):
            outcome = engine.step(state, event)
            races |= outcome.races
            oscillates |= outcome.oscillates
            for passed in outcome.passed:
                shorts |= engine.shorted(passed)
    return Seen(depth, motion, energised, races, oscillates, frozenset(shorts))


def view_of(engine: PlainEngine, state: State, keep: frozenset[str]) -> View:
    """A state of the plain engine in the variables and words of the program's."""
    return frozenset((n, v) for n, v in _translated(engine, state) if n in keep)


def _safety_relay(at: Mapping[str, str], name: str) -> str:
    """Of a safety relay the program has one variable: what it remembers, it remembers while it is out."""
    remembers = [what for what in ("armed", "ready") if at[f"{name}.{what}"] == "1"]
    return at[name] if not remembers else remembers[0] if at[name] == "out" else f"{at[name]} and {remembers[0]}"


def _translated(engine: PlainEngine, state: State) -> list[tuple[str, str]]:
    """A state in the other engine's words."""
    yes_no = {"1": "yes", "0": "no"}
    at = dict(zip(engine.names, state.values, strict=True))
    found = [(d.name, at[d.name]) for d in engine.plan.devices.values() if d.name in at]
    found += [(f"{s.name} dead", yes_no[at[f"{s.name}.dead"]]) for s in engine.sources]
    for name, coil in engine.coils.items():
        if coil.kind == "safety-relay":
            found = [(n, _safety_relay(at, name) if n == name else v) for n, v in found]
            continue
        found += [
            (bit.replace(".latched", " tripped").replace(".", " "), yes_no[at[bit]])
            for bit in coil.memory()
            if not bit.endswith(".latch")
        ]
        if coil.kind == "no-volt-release":
            found.append((f"{name} latched", "in" if at[f"{name}.latch"] == "1" else "out"))
    for delay in engine.delays:
        if engine.plan.devices[delay.device].kind == "timer-relay":
            found.append((f"{delay.device} delayed", at[delay.name]))
        contacts = [engine.closing.by_name[c] for c in delay.contacts]
        found += [(str(c), "closed" if engine.closing.conducts(c, at[delay.name]) else "open") for c in contacts]
    for name in engine.drives:
        found += [(f"{name} {word}", yes_no[at[f"{name}.{bit}"]]) for word, bit in DRIVE_BITS.items()]
    return found
