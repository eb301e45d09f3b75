"""One behaviour for the whole plan, or for a large plan several that each tell of a part of it.

In a part, the devices that matter to its subject are as in the plan. A relay or contactor whose coil circuit would make the part
too large is *free*: it can go in and out at any time, by an event of its own. That takes in all that it can do in the plan, so
what never happens in the part never happens in the plan; a trace that needs a free relay's event proves nothing, and the part is
made larger.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from wirecheck.behaviour.behaviour import INERT, Behaviour
from wirecheck.behaviour.coils import IN, OUT
from wirecheck.behaviour.model import MOST_BITS, bits_of, too_large
from wirecheck.circuit.elements import COIL_KINDS, LOAD_KINDS
from wirecheck.circuit.sources import DRIVE_SUPPLY
from wirecheck.plan.model import Device, Plan

WHOLE_BITS = 21
"""Up to so many variable bits a plan is looked at as a whole: a set of states takes a quarter of a megabyte."""

PART_BITS = 15
"""So large a part is made at first."""

FREE_KINDS = frozenset({"relay", "contactor"})
SOURCES = frozenset({"mains", "transformer", "dc-supply"})


def views_of(plan: Plan, direct: Mapping[str, frozenset[str]], real: frozenset[str] = frozenset()) -> tuple[Behaviour, ...]:
    """The views that together tell of every device of the plan.

    Parameters
    ----------
    plan : Plan
        The plan.
    direct : mapping
        For every device, those that can change directly what it does.
    real : frozenset of str
        Relays that must not be free.

    Raises
    ------
    TooLarge
        A part with all that must be real in it has too many states.
    """
    if bits_of(plan) <= WHOLE_BITS:
        return (Behaviour(plan),)
    stuck: frozenset[str] = frozenset()
    while True:
        views = _views(plan, direct, real, stuck)
        never = frozenset(_never_in(views)) - stuck
        if not never:
            return views
        stuck |= never


def _views(
    plan: Plan, direct: Mapping[str, frozenset[str]], real: frozenset[str], stuck: frozenset[str]
) -> tuple[Behaviour, ...]:
    parts = parts_of(plan, direct, real)
    if any(not free and _bits(plan, kept) == bits_of(plan) for _, kept, free in parts):
        return (Behaviour(plan),)  # one part has all that moves, and tells what the others would
    return tuple(Behaviour(reduced(plan, kept, free, stuck), subjects, free) for subjects, kept, free in parts)


def parts_of(
    plan: Plan, direct: Mapping[str, frozenset[str]], real: frozenset[str]
) -> list[tuple[frozenset[str], frozenset[str], frozenset[str]]]:
    """The parts of a large plan: of which devices each tells, what is in it, and which of its relays are free.

    Raises
    ------
    TooLarge
        As `views_of`, with nothing explored yet.
    """
    found: list[tuple[frozenset[str], frozenset[str], frozenset[str]]] = []
    for name in _subjects(plan):
        if not any(name in subjects for subjects, _, _ in found):
            kept, free = part_around(plan, name, direct, real)
            found.append((frozenset(_told(plan, kept - free, direct)) | {name}, kept, free))
    return found


def _never_in(views: Iterable[Behaviour]) -> Iterable[str]:
    """The relays that are free in one view and that, where they are looked at, never go in: free, they would promise too much."""
    views = list(views)
    for name in sorted(frozenset[str]().union(*(view.free for view in views))):
        own = next(view for view in views if name in view.subjects)
        if not own.within(name) & own.reached:
            yield name


def _subjects(plan: Plan) -> list[str]:
    """What must be told of: motors, then whatever has a coil, then lamps and loads."""
    kinds = (("motor",), tuple(sorted(COIL_KINDS)), ("drive",), tuple(sorted(LOAD_KINDS)))
    return [d.name for group in kinds for d in plan.devices.values() if d.kind in group]


def _told(plan: Plan, kept: frozenset[str], direct: Mapping[str, frozenset[str]]) -> Iterable[str]:
    """The devices of a part all of whose influences are in it."""
    return (name for name in kept if direct[name] <= kept and plan.devices[name].kind not in LOAD_KINDS | {"motor"})


def part_around(
    plan: Plan, subject: str, direct: Mapping[str, frozenset[str]], real: frozenset[str] = frozenset()
) -> tuple[frozenset[str], frozenset[str]]:
    """The devices of the part around a subject, and which of its relays are free.

    From the subject outwards: a relay is taken in with all that can change it as long as the part stays small; drives, timers and
    whatever else has a memory of its own are always taken in.
    """
    causes = {event.device for f in plan.functions for event in f.causes if subject in dict(f.must)}
    kept, free = {subject} | causes, set[str]()
    waiting = [subject, *sorted(causes)]
    for name in waiting:
        near = sorted(direct.get(name, frozenset()) - kept)
        kept.update(near)
        for other in near:
            grown = kept | direct.get(other, frozenset())
            if plan.devices[other].kind not in FREE_KINDS or other in real or _bits(plan, grown) <= PART_BITS:
                waiting.append(other)
            else:
                free.add(other)
    if _bits(plan, kept) > MOST_BITS:
        raise too_large(f"what decides about {subject}", f"check the circuit around {subject} as a plan of its own", plan, kept)
    return frozenset(kept), frozenset(free)


def _bits(plan: Plan, kept: Iterable[str]) -> int:
    return bits_of(plan, frozenset(kept))


def reduced(plan: Plan, kept: frozenset[str], free: frozenset[str], stuck: frozenset[str] = frozenset()) -> Plan:
    """The plan with everything that is not kept made inert: its terminals and links stay, its contacts and coils go.

    A drive still gives its control supply, which a fault may bring where it does not belong.

    Of the free relays those in `stuck` stay out for good.
    """
    return replace(plan, devices={name: _reduced(device, kept, free, stuck) for name, device in plan.devices.items()})


def _reduced(device: Device, kept: frozenset[str], free: frozenset[str], stuck: frozenset[str]) -> Device:
    if device.name in free:
        return replace(device, kind="free", positions=(OUT,) if device.name in stuck else (OUT, IN))
    if device.name in kept or not (device.contacts or device.positions or device.kind in COIL_KINDS | LOAD_KINDS | {"motor"}):
        return device
    if device.kind in SOURCES:
        return device
    if device.kind == "drive":
        return replace(device, kind=DRIVE_SUPPLY, positions=(), contacts=())
    return replace(device, kind=INERT, positions=(), contacts=())
