"""Several guards in series in two channels: opening and closing one clears what the channels had seen of a fault in another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations

from wirecheck.circuit.elements import marks_of, section
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Contact, Device, Terminal
from wirecheck.rules.claims.survives_as_required import required_category
from wirecheck.rules.record import Rule, join_words

CONDITIONS: dict[str, object] = {"required": [], "properties": {}}
WORDS = frozenset({"device", "function", "category"})

RELAYS = frozenset({"relay", "contactor", "timer-relay"})

Channel = tuple[Terminal, Terminal]
Held = Mapping[str, frozenset[Contact]]


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each set of guards in series; category 3 may be had with them in some cases, so there it is advice."""
    wanted = _wanted(facts)
    found: dict[frozenset[str], Finding] = {}
    for guards in _in_series(facts) if wanted else ():
        named = [wanted[name] for name in guards if name in wanted]
        if named and guards not in found:
            category, function = max(named)
            found[guards] = _finding(rule, facts, guards, category, function)
    yield from found.values() or [rule.proof(1, condition_reached=bool(wanted))]


def _wanted(facts: Facts) -> dict[str, tuple[str, str]]:
    """For each guard of a function with category 3 or 4, the category and the function."""
    each = ((h.cause.device, required_category(h), h.name) for h in facts.held_functions)
    return {d.name: (c, name) for d, c, name in each if d.kind == "guard-switch" and c in ("3", "4")}


def _in_series(facts: Facts) -> Iterator[frozenset[str]]:
    """The guards that stand together in two channels, in each with a contact of its own."""
    held = [_guards_in(facts, channel) for channel in _channels(facts)]
    for one, other in combinations(held, 2):
        both = frozenset(name for name in one.keys() & other.keys() if not one[name] & other[name])
        if len(both) > 1:
            yield both


def _channels(facts: Facts) -> Iterator[Channel]:
    """From where to where each channel goes: of a safety relay, to a torque-off input, to a coil."""
    for device in facts.plan.devices.values():
        given = device.values.get("channels")
        if device.kind == "safety-relay" and isinstance(given, list | tuple):
            yield from ((device.terminal(marks[0]), device.terminal(marks[1])) for marks in given)
        else:
            yield from ((pole, end) for end in _ends(device) for pole in facts.poles if pole != end)


def _ends(device: Device) -> Iterator[Terminal]:
    if device.kind == "drive":
        yield from map(device.terminal, marks_of(section(device.values, "control", "safe_torque_off"), "channels", ()))
    elif device.kind in RELAYS:
        yield device.terminal("A1")


def _guards_in(facts: Facts, channel: Channel) -> Held:
    start, end = channel
    found: dict[str, frozenset[Contact]] = {}
    for guard in facts.of_kind("guard-switch"):
        ends = ((contact, (guard.terminal(contact.a), guard.terminal(contact.b))) for contact in guard.contacts)
        on_path = frozenset(contact for contact, pair in ends if facts.paths.on_path(start, pair, end))
        if on_path:
            found[guard.name] = on_path
    return found


def _finding(rule: Rule, facts: Facts, guards: frozenset[str], category: str, function: str) -> Finding:
    devices = [device for name, device in facts.plan.devices.items() if name in guards]
    return rule.finding(
        devices[0].spot,
        devices=tuple(device.name for device in devices),
        severity=None if category == "4" else "advice",
        device=join_words(device.label() for device in devices),
        function=function,
        category=category,
    )
