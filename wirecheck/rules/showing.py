"""Evidence from the behaviour: the steps of a trace, and the walk of the current that keeps something going."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from wirecheck.behaviour import Behaviour, Path
from wirecheck.behaviour.drives import COMMANDS, PERMITS
from wirecheck.behaviour.faulted import FaultedBehaviour
from wirecheck.behaviour.faults import Fault
from wirecheck.behaviour.space import has
from wirecheck.behaviour.verdicts import Shown
from wirecheck.circuit import CONDUCTS, Element, Source
from wirecheck.circuit.elements import COIL_KINDS, coil_ends, marks_of, section
from wirecheck.findings import Evidence, Step
from wirecheck.plan.model import Contact, Event, Terminal
from wirecheck.rules.happenings import happening, standing
from wirecheck.rules.record import join_words


def evidence(b: Behaviour, path: Path | None, walk: Iterable[Terminal] = ()) -> Evidence:
    """The evidence of a trace: its events, its steps in words, and a walk of terminals."""
    walk = tuple(walk)
    if path is None:
        return Evidence(walk=tuple(map(str, walk)))
    events = tuple(str(rule.event) for rule, _ in path if rule is not None)
    return Evidence(events=events, steps=_told(b, path), walk=tuple(map(str, walk)), passes=passes(b, walk, path[-1][1]))


def _told(b: Behaviour, path: Path) -> tuple[Step, ...]:
    """The steps of a trace; each says in words what happens."""
    found = []
    for (rule, _), step in zip(path, b.steps(path), strict=True):
        told = told_event(b, rule.event) if rule is not None else ""
        found.append(step._replace(notes=(told, *step.notes)) if told else step)
    return tuple(found)


def told_event(b: Behaviour, event: Event) -> str:
    """What happens at an event, as a clause."""
    device = b.plan.devices.get(event.device)
    return happening(device, event.position) if device is not None else str(event)


def passes(b: Behaviour, walk: Sequence[Terminal], number: int) -> Mapping[str, str]:
    """What the devices are whose contacts a walk passes, and how they stand then."""
    state = b.describe(number) if walk else {}
    wired = {frozenset((w.a, w.b)) for w in b.plan.wires}
    crossed = dict.fromkeys(a.device for a, z in pairwise(walk) if a.device == z.device and frozenset((a, z)) not in wired)
    told = {name: standing(b.plan.devices[name], state.get(name, "")) for name in crossed}
    return {name: words for name, words in told.items() if words}


def conducting(b: Behaviour, number: int) -> list[Element]:
    """The elements that conduct in one state."""
    return [e for e in b.model.elements if e.kind in CONDUCTS and has(b.model.conducts(e), number)]


def shortest_walk(elements: Iterable[Element], starts: Iterable[Terminal], goal: Terminal) -> list[Terminal]:
    """The terminals on a shortest conducting way from any of `starts` to `goal`; empty where there is none."""
    near: dict[Terminal, list[Terminal]] = {}
    for e in elements:
        near.setdefault(e.a, []).append(e.b)
        if e.kind != "diode":
            near.setdefault(e.b, []).append(e.a)
    came: dict[Terminal, Terminal | None] = dict.fromkeys(starts)
    waiting = list(came)
    for here in waiting:
        if here == goal:
            break
        for there in near.get(here, ()):
            if there not in came:
                came[there] = here
                waiting.append(there)
    walk: list[Terminal] = []
    step: Terminal | None = goal if goal in came else None
    while step is not None:
        walk.append(step)
        step = came[step]
    return walk[::-1]


def walk_to(b: Behaviour, number: int, goal: Terminal, other: Terminal | None) -> list[Terminal]:
    """The way from the live pole to `goal`; `other` is the element's far end, which the return pole reaches."""
    elements = conducting(b, number)
    for source in b.model.sources:
        for p, q, _ in source.pairs():
            for pole, back in ((p, q), (q, p)) if source.kind == "AC" else ((p, q),):
                if other is None or (has(b.model.supplies.at(source, back, other), number) and source.poles[pole]):
                    walk = shortest_walk(elements, [pole], goal)
                    if walk:
                        return walk
    return []


def coil_walk(b: Behaviour, number: int, device: str) -> list[Terminal]:
    """The way of the current to a device's coil in one state; the longer of the ways to its two ends."""
    a, z = (Terminal(device, mark) for mark in coil_ends(b.plan.devices[device]))
    return max(walk_to(b, number, a, z), walk_to(b, number, z, a), key=len)


def coils_on(b: Behaviour, walk: Iterable[Terminal], number: int) -> list[str]:
    """The devices with a coil whose contacts lie on a walk and which are in."""
    steps = list(walk)
    names = [a.device for a, z in pairwise(steps) if a.device == z.device]
    return [n for n in dict.fromkeys(names) if b.plan.devices[n].kind in COIL_KINDS and has(b.within(n), number)]


def what_keeps(
    b: Behaviour, number: int, motor: str, cause: str = "", decided: Collection[str] = ()
) -> tuple[list[Terminal], list[str]]:
    """The walk of the current that keeps a motor going, and the devices that it goes through.

    From the motor back: the drive's input or the contactor that feeds it, then the relay in front of that, until a relay's coil
    is held without another relay, or until a coil that is `decided` directly by what should have stopped it. A relay that has a
    supply in place of a coil ends the walk: its supply keeps nothing going, and what it looks at is not what went wrong. Of a
    drive's inputs the one to which the device `cause` is wired is of most interest.
    """
    walk = motor_walk(b, number, motor, cause)
    seen: list[str] = []
    while True:
        coils = [name for name in coils_on(b, walk, number) if name not in seen and (name in decided or _has_coil(b, name))]
        if not coils:
            return walk, seen
        nearer = coil_walk(b, number, coils[-1])
        seen.append(coils[-1])
        walk = nearer or walk
        if not nearer or coils[-1] in decided:
            return walk, seen


WITH_A_SUPPLY = frozenset({"thermistor-relay", "safety-relay"})


def _has_coil(b: Behaviour, device: str) -> bool:
    return b.plan.devices[device].kind not in WITH_A_SUPPLY


def motor_walk(b: Behaviour, number: int, motor: str, cause: str = "") -> list[Terminal]:
    """The way from a live pole to a motor; where a drive feeds it, the way to the input that tells the drive to run."""
    for fed in b.motion(motor).fed:
        if not has(fed.states, number) or not has(b.model.supplies.live[fed.source.name], number):
            continue
        if fed.source.role == "output":
            return _input_walk(b, number, fed.source.device, cause)
        elements = conducting(b, number)
        ends = [Terminal(motor, mark) for mark in ("U1", "V1", "W1", "U2", "V2", "W2")]
        walks = [
            shortest_walk(elements, [pole], end) for pole in fed.source.poles if pole not in fed.source.returns for end in ends
        ]
        return min((w for w in walks if w), key=len, default=[])
    return []


def _input_walk(b: Behaviour, number: int, drive: str, cause: str) -> list[Terminal]:
    """The way to the input that tells a drive to run; to its permit where the run was a pulse."""
    control = section(b.plan.devices[drive].values, "control")
    supply = section(control, "supply")
    sinking = control.get("logic") == "sinking"
    does = {i.mark: i.does for i in b.drive(drive).inputs}
    marks = [mark for mark in does if does[mark] in COMMANDS]
    marks += [mark for mark in does if does[mark] in PERMITS]
    marks += marks_of(section(control, "safe_torque_off"), "channels", ())
    marks.sort(key=lambda mark: not _wired_to(b, Terminal(drive, mark), cause))
    rail = Terminal(drive, str(supply.get("common" if sinking else "plus")))
    elements = conducting(b, number)
    for mark in marks:
        goal = Terminal(drive, mark)
        walk = shortest_walk(elements, [rail], goal) or walk_to(b, number, goal, None)
        if len(walk) > 1:
            return walk
    return []


def fed_from_behind(b: Behaviour, number: int, drive: str, start: str, other: str) -> Terminal | None:
    """The terminal of a start button that gets its current through another device, where the drive acts on a change alone.

    The other device then makes that change too, when it closes with the start held.
    """
    control = section(b.plan.devices[drive].values, "control")
    if (control.get("mode"), control.get("start_on")) != ("three-wire", "edge"):
        return None
    crossed = [a for a, z in pairwise(_input_walk(b, number, drive, start)) if a.device == z.device]
    devices = [a.device for a in crossed]
    behind = other in devices and start in devices and devices.index(other) < devices.index(start)
    return crossed[devices.index(start)] if behind else None


def _wired_to(b: Behaviour, terminal: Terminal, device: str) -> bool:
    """Whether nothing but wires and links lies between a terminal and one of a device's contacts."""
    if device not in b.plan.devices:
        return False
    solid = [e for e in b.model.elements if e.kind in ("wire", "link")]
    ends = [Terminal(device, mark) for contact in b.plan.devices[device].contacts for mark in (contact.a, contact.b)]
    return bool(shortest_walk(solid, ends, terminal))


def wires_on(b: Behaviour, walk: Iterable[Terminal]) -> tuple[str, ...]:
    """The numbers of the wires on a walk."""
    steps = list(walk)
    hops = {frozenset(pair) for pair in pairwise(steps)}
    return tuple(dict.fromkeys(w.number for w in b.plan.wires if frozenset((w.a, w.b)) in hops))


def holding_contact(walk: Sequence[Terminal], coils: Collection[str]) -> tuple[Terminal, Terminal] | None:
    """The contact on a walk by which one of the relays in `coils` holds what flows there, by its two terminals."""
    return next(((a, z) for a, z in pairwise(walk) if a.device == z.device and a.device in coils), None)


def side_by_side(b: Behaviour, walk: Sequence[Terminal], name: str) -> str:
    """That a like contact on a walk lies in parallel with one of a device that should stop it: a sentence, or nothing."""
    solid = [e for e in b.model.elements if e.kind in ("wire", "link")]
    device, names = b.plan.devices[name], list(b.plan.devices)
    for a, z in pairwise(walk):
        like = b.plan.devices[a.device].kind == device.kind
        for contact in device.contacts if like and a.device == z.device != name else ():
            ends = Terminal(name, contact.a), Terminal(name, contact.b)
            for one, other in (ends, ends[::-1]):
                if shortest_walk(solid, [one], a) and shortest_walk(solid, [other], z):
                    # The same row whichever of the two is asked about: the one first in the plan comes first.
                    far, near = (other, a) if names.index(name) < names.index(a.device) else (z, one)
                    row = f"put them in a row, with {far} and {near} joined to each other and to nothing else"
                    return f" {contact} and {a}-{z.mark} stand side by side, and each lets the current past the other: {row}."
    return ""


def way_round(b: Behaviour, walk: Sequence[Terminal], name: str, coils: Collection[str], breaking: Iterable[Contact]) -> str:
    """Where on a walk the current gets past a device that should stop it, and what to change there: a sentence, or nothing.

    `coils` are the relays on the walk, `breaking` the contacts of the device that decide about the last of them.
    """
    pairs = [(a, z) for a, z in pairwise(walk) if a.device == z.device]
    own = next((pair for pair in pairs if pair[0].device == name), None)
    if own is not None:
        return (
            f" The current goes through {own[0]} and {own[1].mark} of {name} itself, which are closed then: use a break contact."
        )
    if beside := side_by_side(b, walk, name):
        return beside
    holding = holding_contact(walk, coils)
    if holding is None:
        return ""
    a, z = holding
    before = walk[walk.index(a) - 1]
    wires = wires_on(b, (before, a))
    off = f"take wire {wires[0]} off {a}" if wires else f"take off {a} what joins it to {before}"
    behind = join_words((str(contact) for contact in breaking), "or") or f"the contact of {name}"
    return f" The current goes round {name} through {a} and {z.mark}: {off}, and feed {a} from behind {behind}."


def fault_evidence(shown: Shown, fault: Fault) -> Evidence:
    """The evidence of a trace with a fault: the steps before it, the fault as a step of its own, the steps after it."""
    path, b = shown.path, shown.behaviour
    before = _told(b.healthy, path.before)
    told = _told(b, path.after)
    came, *after = _with_shorts(b, path.after, told) if fault.kind in ("earthed", "shorted") else told
    moved = b.changes(path.before[-1][1], path.after[0][1])
    steps = (*before, Step(fault.text, moved, came.motion, ("the fault comes",)), *after)
    return Evidence(events=path.events, steps=steps, fault=fault.text, fault_after=path.fault_after)


def shorted_at(b: FaultedBehaviour, number: int) -> tuple[Source, ...]:
    """The sources whose voltage a fault takes in one state: it shorts them, and nothing clears that."""
    live = ((s, b.healthy.model.supplies.live[s.name] & ~b.model.supplies.live[s.name]) for s in b.model.sources)
    gone = (s for s, states in live if has(states, number))
    return tuple(s for s in gone if any(has(b.model.supplies.at(s, p, q), number) for p, q, _ in s.pairs()))


def live_poles(source: Source) -> str:
    """The poles of a source that are no return of it, in words."""
    return join_words(str(pole) for pole in source.poles if pole not in source.returns)


def _with_shorts(b: FaultedBehaviour, path: Path, steps: Sequence[Step]) -> Iterator[Step]:
    """The steps with a note where a source is shorted by the fault, and where it has its voltage again."""
    before: set[str] = set()
    for (_, number), step in zip(path, steps, strict=True):
        now = shorted_at(b, number)
        notes = [f"{live_poles(s)} is shorted by the fault and has no voltage" for s in now if s.name not in before]
        again = before - {s.name for s in now}
        notes += [f"{live_poles(s)} has voltage again" for s in b.model.sources if s.name in again]
        before = {s.name for s in now}
        yield step._replace(notes=(*step.notes, *notes))
