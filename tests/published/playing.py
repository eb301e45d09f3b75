"""Events played on a plan by either engine, and what can be seen afterwards."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tests.oracles.plain_engine import PlainEngine
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.reach import event_named
from wirecheck.behaviour.space import numbers
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event


@dataclass(frozen=True)
class Seen:
    """What acts at rest, where every device is, and how the motors turn."""

    acts: frozenset[str]
    at: Mapping[str, str]
    motion: Mapping[str, str]


Play = Callable[..., list[Seen]]
"""`play(text, "S1=pressed", …)`: all that may be seen after the events, one entry for each outcome of a race."""


def _events(words: tuple[str, ...]) -> list[Event]:
    return [Event(*word.split("=")) for word in words]


def play_plain(text: str, *words: str) -> list[Seen]:
    """By the plain engine."""
    engine = PlainEngine(read_plan_text(text, "published"))
    states = {engine.rest}
    for event in _events(words):
        states = {rest for state in states for rest in engine.step(state, event).rests}
    found = [(dict(zip(engine.names, s.values, strict=True)), s) for s in states]
    return [Seen(frozenset(engine.energised(s)), at, engine.motion(s)) for at, s in found]


def play_fast(text: str, *words: str) -> list[Seen]:
    """By the program's engine."""
    engine = Behaviour(read_plan_text(text, "published"))
    states = engine.reach.layers[0]
    for event in _events(words):
        rule = event_named(engine.reach, event)
        assert rule is not None, event
        states = engine.after(rule, states)
    return [_seen(engine, number) for number in numbers(states)]


def _seen(engine: Behaviour, number: int) -> Seen:
    acts = frozenset(name for name, when in engine.acting.items() if when >> number & 1)
    ways = ("forward", "reverse")
    motion = {m: next((w for w in ways if engine.moving(m, w) >> number & 1), "stopped") for m in engine.motors}
    return Seen(acts, engine.space.decode(number), motion)


ENGINES = {"plain": play_plain, "program": play_fast}
