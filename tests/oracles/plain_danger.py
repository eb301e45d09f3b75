"""A judge of danger on top of the plain engine: what the contract calls a danger of motion, said once more and plainly.

A correct plan says what its stops are for: each cause with the motors and loads that it holds stopped. A plan made from it by one
edit is dangerous where

- with one of these causes held, what it held stopped in the correct plan goes on or begins;
- a motor begins to turn at an event that is no start;
- a motor that a hold-to-run button set going goes on after the button is released;
- two contactors that the correct plan never has in together join two phases;
- one broken wire, one earthed conductor or one lost source brings about the first or the second of these.

Sneak paths, stuck parts, protection and earthing are not judged.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

from tests.oracles.plain_engine import Outcome, PlainEngine, State
from tests.oracles.plain_faults import FaultyEngine, dying_in
from wirecheck.behaviour.faults import single_faults
from wirecheck.plan.model import Device, Event, Plan

STARTING_ROLES = ("start", "forward", "reverse", "jog")
CHOOSERS = ("selector", "key-switch")
PROTECTION = ("fuse", "circuit-breaker", "residual-current-device")
"""What is put back by hand after it has operated: advice, and no danger of the contract."""

FAIL_SAFE = ("wire open", "earthed", "source lost")

Must = tuple[str, str]
"""A device, and `stopped` or `off`."""


class Stop(NamedTuple):
    """Something that must be stopped or off while a cause lasts."""

    cause: Event
    must: Must


class Danger(NamedTuple):
    """What is wrong, by what event, and with which fault; nothing where it needs none."""

    what: str
    event: str
    fault: str = ""


@dataclass(frozen=True)
class Meant:
    """What a correct plan shows of its purpose."""

    stops: frozenset[Stop]
    apart: frozenset[tuple[str, str]]


class TooManyStates(Exception):
    """The plain engine looks at one state at a time, and these are too many for it."""


class Step(NamedTuple):
    """What an event does in a state at rest."""

    before: State
    event: Event
    outcome: Outcome


class Course:
    """All that can happen from some states at rest on: every step, once."""

    def __init__(self, engine: PlainEngine, seeds: Iterable[State], limit: int) -> None:
        self.engine = engine
        self.states = set(seeds)
        self.steps: list[Step] = []
        todo = deque(sorted(self.states, key=lambda s: s.values))
        while todo:
            here = todo.popleft()
            for event in engine.events(here):
                outcome = engine.step(here, event)
                self.steps.append(Step(here, event, outcome))
                later = outcome.rests - self.states
                self.states |= later
                todo.extend(sorted(later, key=lambda s: s.values))
            if len(self.states) > limit:
                raise TooManyStates(f"more than {limit} states")

    # What a state shows

    def at(self, state: State) -> Mapping[str, str]:
        """Positions and memory bits by name."""
        return self.engine.now(state).at

    def moving(self, state: State) -> set[str]:
        """The motors that turn."""
        return {m for m, turn in self.engine.motion(state).items() if turn != "stopped"}

    def held(self, cause: Event, state: State) -> bool:
        """Whether a cause lasts."""
        return self.at(state).get(cause.device) == cause.position

    def start_held(self, state: State) -> bool:
        """Whether a start that springs back is held."""
        return any(_springs(d) and is_start(d, self.at(state)[d.name]) for d in self.engine.plan.devices.values() if d.positions)

    def goes_on(self, must: Must, state: State) -> bool:
        """Whether what must be stopped or off is not."""
        device, _ = must
        if self.engine.plan.devices[device].kind == "motor":
            return device in self.moving(state)
        return self.at(state).get(device) == "in" or device in self.engine.energised(state)

    def ends_by_itself(self, must: Must, state: State) -> bool:
        """Whether a delay that runs will stop it by its end."""
        ends = [self.engine.step(state, e) for e in self.engine.events(state) if e.position == "elapsed"]
        return any(end.rests and not any(self.goes_on(must, s) for s in end.rests) for end in ends)

    def fails_to_hold(self, stop: Stop) -> bool:
        """Whether a cause ever lasts while what it must stop goes on."""
        return any(self._goes_on_for_good(stop, state) for state in self.states)

    def _goes_on_for_good(self, stop: Stop, state: State) -> bool:
        return self.held(stop.cause, state) and self.goes_on(stop.must, state) and not self.ends_by_itself(stop.must, state)

    # What a step begins

    def begun(self, step: Step) -> set[str]:
        """The motors that a step sets going; one that hunts for ever counts as going."""
        after = step.outcome.passed if step.outcome.oscillates else step.outcome.rests
        return {m for s in after for m in self.moving(s)} - self.moving(step.before)

    def unexpected(self, step: Step) -> bool:
        """Whether a step is no start, and none is held."""
        device = self.engine.plan.devices[step.event.device]
        return not is_start(device, step.event.position) and not self.start_held(step.before)

    def delays_begun_otherwise(self) -> set[str]:
        """The devices whose delay can begin to run at an event that is no start."""
        found = set()
        for step in self.steps:
            if self.unexpected(step) and step.event.position != "elapsed":
                pending = {d for s in step.outcome.rests for d in self._pending(s)}
                found |= pending - self._pending(step.before)
        return found

    def _pending(self, state: State) -> set[str]:
        return {e.device for e in self.engine.events(state) if e.position == "elapsed"}


def is_start(device: Device, position: str) -> bool:
    """Whether putting a device into a position is a start event."""
    if position == "keypad-run":
        return True
    if device.kind in CHOOSERS:
        return position in run_positions(device)
    if device.kind == "no-volt-release":
        return position == "start"
    return device.role in STARTING_ROLES and position == device.positions[1]


def _springs(device: Device) -> bool:
    return device.kind not in CHOOSERS and (device.role in STARTING_ROLES or device.kind == "no-volt-release")


def run_positions(device: Device) -> tuple[str, ...]:
    """The positions of a selector to which turning it is a start."""
    stated = device.values.get("run_positions")
    return tuple(str(p) for p in stated) if isinstance(stated, list | tuple) else ()


# What a correct plan is for


def meant_by(plan: Plan, limit: int) -> Meant:
    """What a correct plan holds stopped by what, and which contactors it keeps apart."""
    engine = PlainEngine(plan)
    course = Course(engine, [engine.rest], limit)
    stops = frozenset(stop for stop in _stops(plan) if not course.fails_to_hold(stop))
    contactors = [d.name for d in plan.devices.values() if d.kind == "contactor"]
    passed = {s for step in course.steps for s in step.outcome.passed}
    together = {pair for s in passed for pair in combinations(contactors, 2) if all(course.at(s)[c] == "in" for c in pair)}
    return Meant(stops, frozenset(combinations(contactors, 2)) - together)


def _stops(plan: Plan) -> Iterator[Stop]:
    motors = [d.name for d in plan.devices.values() if d.kind == "motor"]
    for cause in _causes(plan):
        yield from (Stop(cause, (m, "stopped")) for m in motors)
    for function in plan.functions:
        yield from (Stop(cause, must) for cause in function.causes for must in function.must)


def _causes(plan: Plan) -> Iterator[Event]:
    for d in plan.devices.values():
        if d.kind in ("emergency-stop", "guard-switch", "plug-connector") or (d.role == "stop" and len(d.positions) > 1):
            yield Event(d.name, d.positions[1])
        elif d.kind == "no-volt-release":
            yield Event(d.name, "stop")
        elif d.kind in CHOOSERS and run_positions(d):
            yield from (Event(d.name, p) for p in d.positions if p not in run_positions(d))


# What is dangerous


def danger_without_fault(plan: Plan, meant: Meant, limit: int) -> Danger | None:
    """The first danger that a plan shows by itself."""
    engine = PlainEngine(plan)
    course = Course(engine, [engine.rest], limit)
    return _lost_stop(course, meant) or _unexpected_start(course) or _runs_on(course) or _joined_phases(course, meant)


def danger_with_a_fault(plan: Plan, meant: Meant, limit: int) -> Danger | None:
    """The first danger that one broken wire, earthed conductor or lost source brings about."""
    whole = PlainEngine(plan)
    healthy = Course(whole, [whole.rest], limit)
    dying = dying_in(whole)
    for fault in single_faults(plan):
        if fault.kind in FAIL_SAFE:
            engine = FaultyEngine(whole, fault, dying)
            came = {state: engine.seeds([state]) for state in healthy.states}
            from_start = engine.seeds([engine.rest])
            course = Course(engine, from_start.union(*came.values()), limit)
            found = _lost_stop(course, meant) or _unexpected_start(course, with_fault=True)
            found = found or _started_by_the_fault(healthy, course, came)
            if found:
                return found._replace(fault=fault.text)
    return None


def _lost_stop(course: Course, meant: Meant) -> Danger | None:
    for stop in sorted(meant.stops):
        if course.fails_to_hold(stop):
            return Danger(f"{stop.must[0]} is not {stop.must[1]} while it must be", str(stop.cause))
    return None


def _unexpected_start(course: Course, *, with_fault: bool = False) -> Danger | None:
    """Motion that begins at no start. With a fault, what a direction switch or a delay begins belongs to the start before."""
    otherwise = course.delays_begun_otherwise()
    for step in course.steps:
        kind = course.engine.plan.devices[step.event.device].kind
        delayed = step.event.position == "elapsed" and (with_fault or step.event.device not in otherwise)
        chosen = with_fault and kind in CHOOSERS
        if not delayed and not chosen and kind not in PROTECTION and course.unexpected(step):
            for motor in sorted(course.begun(step)):
                return Danger(f"{motor} starts", str(step.event))
    return None


def _started_by_the_fault(healthy: Course, course: Course, came: Mapping[State, frozenset[State]]) -> Danger | None:
    for state, rests in came.items():
        begun = {m for s in rests for m in course.moving(s)} - healthy.moving(state)
        if begun and not healthy.start_held(state):
            return Danger(f"{min(begun)} starts", "the fault")
    return None


def _runs_on(course: Course) -> Danger | None:
    """Motion that a hold-to-run button began, and that its release does not end."""
    steps: dict[State, list[Step]] = {}
    for step in course.steps:
        steps.setdefault(step.before, []).append(step)
    for device in course.engine.plan.devices.values():
        if device.role == "jog" and len(device.positions) > 1:
            released, pressed = device.positions[:2]
            for step in course.steps:
                if step.event == Event(device.name, pressed) and not course.start_held(step.before):
                    for motor in sorted(course.begun(step)):
                        if _still_runs(course, steps, step.outcome.rests, Event(device.name, released), motor):
                            return Danger(f"{motor} goes on", f"{device.name}={released}")
    return None


def _still_runs(course: Course, steps: Mapping[State, list[Step]], first: frozenset[State], release: Event, motor: str) -> bool:
    seen = {s for s in first if motor in course.moving(s)}
    todo = sorted(seen, key=lambda s: s.values)
    while todo:
        for step in steps[todo.pop()]:
            going = {s for s in step.outcome.rests if motor in course.moving(s)}
            if step.event == release and going:
                return True
            if step.event.device != release.device and not is_start(
                course.engine.plan.devices[step.event.device], step.event.position
            ):
                todo += sorted(going - seen, key=lambda s: s.values)
                seen |= going
    return False


def _joined_phases(course: Course, meant: Meant) -> Danger | None:
    for step in course.steps:
        for state in step.outcome.passed:
            at = course.at(state)
            both = sorted(pair for pair in meant.apart if all(at[c] == "in" for c in pair))
            if both and any(source.current == "AC" for source, _ in course.engine.now(state).shorts):
                return Danger(f"{both[0][0]} and {both[0][1]} join two phases", str(step.event))
    return None
