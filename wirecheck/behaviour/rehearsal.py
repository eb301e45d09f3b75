"""A plan played event by event, from rest, with a fault that comes on the way or with none."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from wirecheck.behaviour.faults import Fault
from wirecheck.behaviour.remarks import Outcome, about, differences, not_kept, on_the_way, restless, why_not, worst_motion
from wirecheck.behaviour.single import Settled, Single
from wirecheck.behaviour.telling import Told, changes
from wirecheck.behaviour.variants import slow_contact_devices, slow_plan
from wirecheck.errors import TooLarge
from wirecheck.plan.model import Event, Plan

Progress = Callable[[int, int, str], None]

REST = "rest"

MOST_OUTCOMES = 64
"""So many states that one event may lead to are followed."""


@dataclass(frozen=True, slots=True)
class Played:
    """One step of a rehearsal: an event, or a fault, and how things stand after it.

    `outcomes` says in how many ways this event can end; each is a step of its own. It is 0 where the circuit does not come to
    rest. `moved` are the devices that moved by themselves, `changes` all that changed, in sentences; `coils` are in, `loads` act.
    `before` is what the motors did before it, several where it may come after several states; `again` says that it is another
    outcome of the event of the step before.
    """

    event: str
    outcomes: int
    moved: tuple[str, ...]
    changes: tuple[str, ...]
    live: tuple[str, ...]
    coils: tuple[str, ...]
    loads: tuple[str, ...]
    motion: Mapping[str, str]
    volts: Mapping[str, float]
    notes: tuple[str, ...]
    fault: bool
    restless: bool
    again: bool
    before: tuple[Mapping[str, str], ...]


def rehearse(
    plan: Plan, events: Sequence[Event], faults: Sequence[Fault] = (), after: int = 0, progress: Progress | None = None
) -> tuple[Played, ...]:
    """Play events from rest.

    Parameters
    ----------
    plan : Plan
        The plan.
    events : sequence of Event
        What is done, or happens.
    faults : sequence of Fault
        The fault that comes after the first `after` events. Of two, the first is there from the start and the second comes then.
    after : int
        How many of the events come before the fault.
    progress : function
        Is told how many of how many events have been played, and which comes next.

    Returns
    -------
    tuple of Played
        The state at rest, then for every event and fault a step, or several where it can end in several ways.

    Raises
    ------
    TooLarge
        So much moves at once, or so many outcomes are open, that a bound is passed.
    """
    steps = Rehearsal(plan).play(events, faults, after, progress)
    slow = slow_plan(plan)
    if slow is not None:
        with suppress(TooLarge):  # it would add to what is told, and takes nothing from it
            steps = _with_slow(steps, Rehearsal(slow).play(events, faults, after), slow_contact_devices(plan))
    return tuple(step for group in steps for step in group)


class Rehearsal:
    """A rehearsal under way: the states in which the plan can be now, and those of them between which it goes on."""

    now: list[int]
    _swinging: frozenset[int]

    def __init__(self, plan: Plan) -> None:
        self.plan, self.single = plan, Single(plan)

    def play(
        self, events: Sequence[Event], faults: Sequence[Fault], after: int, progress: Progress | None = None
    ) -> list[list[Played]]:
        """The steps, a list of outcomes for each."""
        settled = self.single.settle([self.single.at_rest])
        found = [self._tell(REST, None, _outcomes(settled, self.single.at_rest), self.single)]
        standing, coming = faults[:-1], faults[-1:]
        found += [self._come(fault, from_start=True) for fault in standing]
        for count, event in enumerate((*events, None)):
            if count == after:
                found += [self._come(fault, from_start=count == 0 and not standing) for fault in coming]
            if event:
                if progress:
                    progress(count, len(events), str(event))
                found.append(self._fire(event))
        return found

    def _tell(self, name: str, event: Event | None, outcomes: Sequence[Outcome], was: Single) -> list[Played]:
        """The steps of an event's outcomes; they are what comes next. `was` is the plan before, without a fault that comes."""
        states = list(dict.fromkeys(n for o in outcomes for n in (o.swings or (o.number,))))
        if len(states) > MOST_OUTCOMES:
            raise TooLarge(f"{name}: more than {MOST_OUTCOMES} outcomes are open")
        self.now, self._swinging = states, frozenset(n for o in outcomes for n in o.swings)
        rests = sum(not o.swings for o in outcomes)
        others = differences(self.single, outcomes)
        found = []
        for i, o in enumerate(outcomes):
            now = Told(self.single, o.number)
            before = [Told(was, n) for n in o.before]
            (moved, sentences), *others_moved = (changes(told, now, event) for told in before)
            notes = [*o.notes, *on_the_way(self.single, o)]
            if not o.swings:
                notes += [f"after another outcome: {'; '.join(c)}" for _, c in others_moved if c != sentences]
            if rests > 1 and not o.swings:
                notes.insert(0, f"outcome {i + 1} of {rests}: which comes cannot be told; {others[i]}")
            motion = now.motion
            if o.swings:
                moved, motion = restless(self.single, o), worst_motion([Told(self.single, n).motion for n in o.swings])
                sentences = tuple(f"{name} keeps moving" for name in moved)
                notes.insert(0, "it never comes to rest" + (", in another order of what moves first" if rests else ""))
            notes += now.notes()
            stands = (now.live, now.coils, now.loads, motion, now.volts)
            how = (was is not self.single, bool(o.swings), i > 0, tuple(told.motion for told in before))
            found.append(Played(name, rests, moved, sentences, *stands, tuple(notes), *how))
        return found

    def _fire(self, event: Event) -> list[Played]:
        outcomes: dict[int, Outcome] = {}
        for number in self.now:
            settled = self.single.fire(event, number)
            if settled:
                ways = _outcomes(settled, number)
                for way in ways:
                    way.notes += not_kept(self.single, event, way)
            else:
                ways = self._unchanged(number)
                for way in ways:
                    way.notes.append(why_not(self.single, event, number))
            for way in ways:
                _add(outcomes, way)
        return self._tell(str(event), event, list(outcomes.values()), self.single)

    def _unchanged(self, number: int) -> list[Outcome]:
        """What an event comes to that does nothing: what was at rest stays so, and what was not goes on."""
        return _outcomes(self.single.settle([number]), number) if number in self._swinging else [Outcome(number, [number])]

    def _come(self, fault: Fault, from_start: bool) -> list[Played]:
        """The fault comes, in every state in which the plan can be now."""
        before = self.now
        healthy, self.single = self.single, Single(self.plan, self.single.fault + fault)
        outcomes: dict[int, Outcome] = {}
        for number in before:
            origin = self.single.at_rest if from_start else number
            notes = tuple(about(fault, healthy, number, from_start))
            for way in _outcomes(self.single.settle([origin]), number):
                way.notes += notes
                _add(outcomes, way)
        return self._tell(fault.text, None, list(outcomes.values()), healthy)


def _outcomes(settled: Settled, before: int) -> list[Outcome]:
    """The states of rest; and one more for all that never comes to rest."""
    found = [Outcome(n, [before], settled.way(n)) for n in settled.rests]
    if settled.swings:
        found.append(Outcome(min(settled.swings), [before], swings=settled.swings))
    for outcome in found if settled.partly else ():
        outcome.notes.append("more moves at once than can be followed in every order: it may end in other ways as well")
    return found


def _add(outcomes: dict[int, Outcome], way: Outcome) -> None:
    """Take in an outcome; the same one may come after several."""
    known = outcomes.setdefault(way.number, way)
    known.before += [n for n in way.before if n not in known.before]
    known.swings = tuple(dict.fromkeys((*known.swings, *way.swings)))


def _with_slow(steps: list[list[Played]], slow: list[list[Played]], devices: Sequence[str]) -> list[list[Played]]:
    """A note where contacts that do not all change at one moment lead to other motion."""
    found = []
    for quick, other in zip(steps, slow, strict=True):
        fresh = [o.motion for o in other if o.motion not in [q.motion for q in quick]]
        notes = [
            f"if the contacts of {', '.join(devices)} do not all change at the same moment: {_motors(motion)}" for motion in fresh
        ]
        found.append([replace(q, notes=(*q.notes, *dict.fromkeys(notes))) for q in quick])
    return found


def _motors(motion: Mapping[str, str]) -> str:
    return ", ".join(f"{name} {'stands' if how == 'stopped' else f'runs {how}'}" for name, how in motion.items())
