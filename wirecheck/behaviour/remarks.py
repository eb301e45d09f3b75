"""What there is to say of a step of a rehearsal besides how things then stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from wirecheck.behaviour.coils import IN, OUT, READY_CODES, CoilPart
from wirecheck.behaviour.faults import EXCLUDED, Fault
from wirecheck.behaviour.single import ELAPSED, Single
from wirecheck.behaviour.telling import RUN, SELF, Told
from wirecheck.plan.model import Event


@dataclass(slots=True)
class Outcome:
    """A state that an event leads to, and how: the states before, what was passed on the way, what there is to say.

    Where the circuit does not come to rest, `swings` are the states between which it goes on.
    """

    number: int
    before: list[int]
    way: Sequence[int] = ()
    swings: Sequence[int] = ()
    notes: list[str] = field(default_factory=list)


def why_not(single: Single, event: Event, number: int) -> str:
    """Why an event does nothing in a state."""
    codes = single.decode(number)
    name, position = event
    if codes.get(name) == position:
        return f"{name} is {position} already: nothing changes"
    if position == ELAPSED:
        return f"no delay of {name} is running: nothing changes"
    if single.plan.devices[name].kind != "drive":
        return f"{event} does nothing now"
    if position == "keypad-stop":
        return f"{name} does not run by its keypad"
    if position == "keypad-run" and codes[f"{name} keypad"] == "yes":
        return f"{name} runs by its keypad already: nothing changes"
    lacks = "it is not ready to run" if codes[f"{name} power"] == "yes" else "it has no power"
    return f"{event} does nothing now, for {lacks}"


def not_kept(single: Single, event: Event, outcome: Outcome) -> Iterator[str]:
    """A device does not stay as it was put: a breaker trips again, a drive faults again."""
    name, position = event
    if position in single.plan.devices[name].positions and not outcome.swings:
        code = single.decode(outcome.number)[name]
        if code != position:
            yield f"{name} does not stay {position}: it is {code} again"


def about(fault: Fault, single: Single, number: int, from_start: bool) -> Iterator[str]:
    """What there is to say of a fault that comes in a state."""
    if fault.kind == EXCLUDED:
        yield "not taken to happen: the plan says that this contact is forced open, so it does not weld"
    if from_start:
        yield "it is there before anything is switched on"
        return
    model, codes = single.model(number), single.decode(number)
    for name in fault.stuck:
        if codes[name] != IN:
            yield f"{name} is out now; it sticks when it pulls in"
    for e in single.elements:
        if e.kind == "contact" and e.ident in fault.closed and not model.conducts(e):
            yield f"{e.ident} is open now, and a contact welds only while it is closed; it is taken as welded all the same"


def on_the_way(single: Single, outcome: Outcome) -> Iterator[str]:
    """What happened between the event and the rest, and cannot be seen from these two."""
    codes = [single.decode(n) for n in outcome.way]
    for name, part in single.parts.items():
        seen = [OUT if c[name] in READY_CODES else c[name] for c in codes] if isinstance(part, CoilPart) else []
        if len(set(seen)) > 1 and seen[0] == seen[-1]:
            yield f"{name} {'drops out' if seen[0] == IN else 'pulls in'} for a moment"
    models = [single.model(n) for n in outcome.way]
    for name in dict.fromkeys(name for model in models for name in model.shorted):
        lasting = ": nothing clears it, and while it lasts there is no voltage" if name in models[-1].collapsed else ""
        yield f"a short circuit across {name}{lasting}"


def restless(single: Single, outcome: Outcome) -> tuple[str, ...]:
    """The devices that keep moving."""
    codes = [single.decode(n) for n in outcome.swings]
    return tuple(name for name in single.parts if name in single.variables and len({c[name] for c in codes}) > 1)


def worst_motion(motions: Sequence[Mapping[str, str]]) -> dict[str, str]:
    """What moves at any time is told as moving."""
    return {name: next((m[name] for m in motions if m[name] != "stopped"), "stopped") for name in motions[0]}


def differences(single: Single, outcomes: Sequence[Outcome]) -> list[str]:
    """For each outcome, what tells it from the others: the devices that then stand differently, or what they remember."""
    told = [Told(single, o.number) for o in outcomes]
    keys = [k for k in told[0].aspects if k[1] in (SELF, RUN) and len({t.aspects[k] for t in told}) > 1]
    alike = len({tuple(t.aspects[k] for k in keys) for t in told}) < len(told)
    bits = [k for k in single.variables if len({t.codes[k] for t in told}) > 1] if alike else []
    names = ", ".join(dict.fromkeys(name for name, _ in keys))
    return ["; ".join([f"they differ in {names}"] * bool(names) + [f"{bit}: {t.codes[bit]}" for bit in bits]) for t in told]
