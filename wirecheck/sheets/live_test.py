"""The live-test sheet: first power in its order, every stop from running in every way, loss of power, broken wires, restart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from wirecheck.behaviour import Behaviour, EventRule, Path
from wirecheck.behaviour.verdicts import STOPS
from wirecheck.circuit.elements import section
from wirecheck.facts import Facts
from wirecheck.metering.dead import paths_of
from wirecheck.metering.isolation import isolation_of
from wirecheck.plan.model import Device, Plan, Wire
from wirecheck.plan.potentials import EARTH_COLOUR
from wirecheck.sheets.cause_chart import broken_wires
from wirecheck.sheets.effects import LATER, OFF, Cause, Cell, Effect, acts, causes_of, effects_of
from wirecheck.sheets.table import Row, Table, listed

COLUMNS = ("step", "stage", "do", "expected", "reading", "done", "name", "date")

NOT_TRIED = {
    "fuse": "a fuse is not blown on purpose, and not pulled under power",
    "drive": "a drive is not made to fault on purpose",
    "motor": "a motor is not overheated on purpose",
    "thermistor": "nothing is overheated on purpose",
    "thermal-switch": "nothing is overheated on purpose",
    "sensor": "worked by the machine, not by hand",
    "mains": "tried with the isolator or the plug",
}
"""Kinds of cause that nobody brings about for a test, and why."""

CONTROL, NO_MOTOR, NO_BELT, WHOLE = "1 control only", "2 no motor", "3 no belt", "4 whole, chuck empty"


class Step(NamedTuple):
    """A line of the sheet. `covers` are the cells of the chart that it tries, as event and effect."""

    stage: str
    do: str
    expected: str
    covers: frozenset[tuple[str, str]] = frozenset()


def is_tried(facts: Facts, cause: Cause) -> bool:
    """Whether a person can bring a cause about for a test."""
    device = cause.device
    if device.kind == "mains":
        return not any(d.kind in ("isolator", "plug-connector") for d in facts.plan.devices.values())
    return device.kind not in NOT_TRIED or cause.rule.event.position.startswith("keypad")


def live_test(facts: Facts) -> Table:
    """The sheet; its steps are numbered through."""
    steps = live_steps(facts)
    rows: list[Row] = [(str(n), s.stage, s.do, s.expected, "", "", "", "") for n, s in enumerate(steps, start=1)]
    return Table("live-test", "Live test", COLUMNS, tuple(rows), tuple(_notes(facts)), landscape=True, group="stage")


def live_steps(facts: Facts) -> list[Step]:
    """All steps in their order. Every cell of the chart whose cause a person can bring about is tried by one of them."""
    causes = [cause for cause in causes_of(facts) if is_tried(facts, cause)]
    trials = list(_trials(facts, causes))
    return [
        *_control(facts, causes),
        *_no_motor(facts.plan),
        *(() if _supplies(facts.plan) else _quiet(facts, causes, NO_MOTOR)),
        *_no_belt(facts.plan),
        *trials,
        *_lifted(facts),
        *_whole(facts.plan, trials),
    ]


def _notes(facts: Facts) -> Iterator[str]:
    yield "Only after the dead test, by somebody competent, and with the drive's settings entered."
    yield "Nobody is within reach of what moves; one hand is at the isolator."
    yield "Nothing is opened, clamped on or measured while power is on: for that switch off, lock off, wait."
    yield "Events are written DEVICE=POSITION, one after the other, from everything at rest and switched off. Tripped: by hand."
    yield "Something else happens than expected: switch off, lock off, and do not go on before it is understood."
    left = [c for c in causes_of(facts) if not is_tried(facts, c) and c.cells]
    if left:
        words = [f"{c.event} ({NOT_TRIED[c.device.kind]})" for c in left]
        yield f"Not tried: {listed(words, '; ')}."


def _control(facts: Facts, causes: Iterable[Cause]) -> Iterator[Step]:
    """Coils and lamps, without anything that could turn."""
    plan = facts.plan
    supplies = _supplies(plan)
    own = [d.name for d in plan.devices.values() if d.kind == "drive" and section(d.values, "control", "supply")]
    off = _leads(plan)
    if not supplies:
        yield Step(CONTROL, f"The control supply comes from {listed(own) or 'the mains'}: begin with the next stage", "")
        return
    yield Step(CONTROL, f"Locked off: take off the leads {off}", "Nothing that turns is connected")
    yield Step(
        CONTROL, f"Switch on; only the supply of {listed(supplies)} is looked at", "No fuse or breaker trips, nothing is warm"
    )
    yield from _quiet(facts, causes, CONTROL)


def _supplies(plan: Plan) -> list[str]:
    """What gives a control supply of its own, which can be on while nothing turns."""
    return [d.label() for d in plan.devices.values() if d.kind in ("dc-supply", "transformer")]


def _leads(plan: Plan) -> str:
    """Where the motors are disconnected."""
    ends = [f"{d.name} U1 V1 W1" for d in plan.devices.values() if d.kind == "motor"]
    return listed(ends) or "of whatever moves"


def _quiet(facts: Facts, causes: Iterable[Cause], stage: str) -> Iterator[Step]:
    """Every change of a coil, lamp or load, each by the shortest way to it."""
    effects = {e.name: e for e in effects_of(facts.plan) if e.what != "motor"}
    cells = [(c, effects[n], cell) for c in causes for n, found in c.cells.items() if n in effects for cell in found]
    yield from _merged(facts, cells, stage)


def _merged(facts: Facts, wanted: Iterable[tuple[Cause, Effect, Cell]], stage: str) -> Iterator[Step]:
    """One step for all cells that the same way shows."""
    found: dict[str, tuple[list[str], set[tuple[str, str]]]] = {}
    for cause, effect, cell in wanted:
        way = _way(facts.view_of(effect.name, cause.rule.event.device), cause, cell)
        if way:
            words, covers = found.setdefault(way, ([], set()))
            words.append(f"{effect.name} {cell.words.partition(',')[0].removesuffix(' when put back')}")
            covers.add((cause.event, effect.name))
    for way, (words, covers) in found.items():
        yield Step(stage, way, listed(words, "; "), frozenset(covers))


def _way(b: Behaviour, cause: Cause, cell: Cell) -> str:
    """The shortest sequence of events that shows a cell."""
    rule = next(r for r in b.events if r.event == cause.rule.event)
    if cell.turns == LATER:
        undo = [r for r in b.events if r.event.device == rule.event.device and b.after(r, cell.before) & cell.after]
        path = next((p for r in undo if (p := b.reach.step_trace(r, cell.before, cell.after))), None)
    else:
        loose = cell.before & ~b.start_held
        path = b.reach.step_trace(rule, loose, cell.after) if loose else None
        path = path or b.reach.step_trace(rule, cell.before, cell.after)
    return _events(path) if path else ""


def _events(path: Path) -> str:
    return " ".join(str(rule.event) for rule, _ in path if rule is not None)


def _no_motor(plan: Plan) -> Iterator[Step]:
    for drive in (d for d in plan.devices.values() if d.kind == "drive"):
        yield Step(
            NO_MOTOR, f"Locked off: {_leads(plan)} off. Switch on {drive.label()}", "Its display is on, it does not run, no fault"
        )
        yield Step(NO_MOTOR, f"{drive.name}: read back every setting of the sheet of settings", "Each as on the sheet")
        yield Step(NO_MOTOR, "Each start, then each stop, each direction", "The display shows the right direction, then stopped")


def _no_belt(plan: Plan) -> Iterator[Step]:
    motors = listed(d.name for d in plan.devices.values() if d.kind == "motor")
    if motors:
        yield Step(NO_BELT, f"Locked off: connect {motors}, belt off or coupling open, chuck and tool off", "Covers are on again")
        yield Step(NO_BELT, "Switch on, touch nothing, wait a minute", f"{motors} stands still")
        yield Step(
            NO_BELT,
            f"Each direction, at the lowest speed: watch which way the shaft of {motors} turns",
            "As the button or lever says. The other way: lock off, wait, exchange two of U, V, W at the motor",
        )


class Mode(NamedTuple):
    """A way of running: a start event, the direction, and the states in which the motor then runs, start let go if it can be."""

    start: EventRule
    direction: str
    states: int


def modes_of(b: Behaviour, motor: Device) -> list[Mode]:
    """All ways in which a motor runs; of two with the same states one is enough."""
    found: dict[int, Mode] = {}
    effect = Effect(motor, "motor")
    for rule in b.events:
        for direction in ("forward", "reverse") if b.is_start(rule.event) else ():
            there = acts(b, effect, direction)
            begun = b.after(rule, b.reached & ~acts(b, effect)) & there
            kept = 0
            for other in b.events:
                if other.event.device == rule.event.device and other.event.position != rule.event.position:
                    kept |= b.after(other, begun) & there & ~b.start_held
            states = kept or begun & ~b.start_held or begun
            if states:
                found.setdefault(states, Mode(rule, direction, states))
    return list(found.values())


def _trials(facts: Facts, causes: list[Cause]) -> Iterator[Step]:
    """Every start; then from every way of running every cause that ends it, and what happens when it is put back."""
    for motor in facts.of_kind("motor"):
        starting = [(c, cell) for c in causes for cell in c.cells.get(motor.name, ()) if cell.turns != OFF]
        for cause, cell in starting:
            way = _way(facts.view_of(motor.name, cause.device.name), cause, cell)
            yield Step(NO_BELT, way, f"{motor.name} {cell.words}", frozenset({(cause.event, motor.name)}))
        for cause in causes:
            if any(cell.turns == OFF for cell in cause.cells.get(motor.name, ())):
                yield from _stopping(facts, motor, cause)


def _stopping(facts: Facts, motor: Device, cause: Cause) -> Iterator[Step]:
    b = facts.view_of(motor.name, cause.device.name)
    rule = next(r for r in b.events if r.event == cause.rule.event)
    there, tried = acts(b, Effect(motor, "motor")), False
    cells = [cell for cell in cause.cells[motor.name] if cell.turns == OFF]
    for mode in modes_of(b, motor):
        before = mode.states & cells[0].before
        path = b.reach.step_trace(rule, before, cells[0].after) if before and b.after(rule, before) & cells[0].after else None
        if path:
            tried = True
            yield _stop_step(b, motor, cause, path, there, cells[0], mode)
    if not tried:
        path = b.reach.step_trace(rule, cells[0].before, cells[0].after)
        if path:
            yield _stop_step(b, motor, cause, path, there, cells[0], None)


def _stop_step(b: Behaviour, motor: Device, cause: Cause, path: Path, there: int, cell: Cell, mode: Mode | None) -> Step:
    after, own = 1 << path[-1][1], cause.rule.event
    rest = b.plan.devices[own.device].positions
    undo = [r for r in b.events if r.event.device == own.device and r.event.position in rest and not b.is_start(r.event)]
    back = [r for r in undo if r.event != own and b.after(r, after)]
    expected = f"{motor.name} {cell.words.partition(',')[0].removesuffix(' (not while a start is held)')}"
    way = _events(path)
    if back:
        again = "starts again, for its start is still held" if after & b.start_held else "STARTS AGAIN"
        starts = b.after(back[0], after) & there
        expected += f"; at {back[0].event}: {again if starts else 'stays stopped until started afresh'}"
        way += f", then {back[0].event}"
    running = f"{motor.name} {mode.direction} by {mode.start.event}: " if mode else ""
    return Step(NO_BELT, running + way, expected, frozenset({(cause.event, motor.name)}))


def _lifted(facts: Facts) -> Iterator[Step]:
    """Broken-wire trials: a wire is lifted dead, then somebody tries to start. Wires that stay live are left alone."""
    plan = facts.plan
    live = isolation_of(plan, paths_of(plan)).live
    apart = {str(w) for w in plan.wires if {w.a, w.b} & live or w.colour == EARTH_COLOUR or "mains" in _kinds(plan, w)}
    seen: dict[str, dict[str, tuple[str, str]]] = {}
    for held, verdict, wires, _ in broken_wires(facts):
        for number, wire in wires.items() if verdict == STOPS and held.must[1] == "stopped" else ():
            if wire not in apart:
                seen.setdefault(number, {})[held.must[0]] = (wire, held.must[0])
    for motors in seen.values():
        wire = next(iter(motors.values()))[0]
        do = f"Switch off, lock off, wait. Lift {wire} at one end, insulate it. Switch on, try to start. Lock off, put it back"
        yield Step(NO_BELT, do, f"{listed(motors)} does not start, or stops")


def _kinds(plan: Plan, wire: Wire) -> set[str]:
    return {plan.devices[end.device].kind for end in (wire.a, wire.b)}


def _whole(plan: Plan, trials: Sequence[Step]) -> Iterator[Step]:
    """The stops once more on the whole machine, with the time to standstill."""
    yield Step(WHOLE, "Locked off: belt on, guards on, chuck empty and its key out", "Turns freely by hand")
    if any(" reverse by " in trial.do for trial in trials):
        yield Step(
            WHOLE,
            "Locked off: look how chuck or tool is held on the spindle",
            "Screwed on, it comes off in reverse: lock it on, or leave out all below that is in reverse and take reverse away",
        )
    if trials:
        yield Step(
            WHOLE,
            "First start, at the lowest speed, nobody in line with the chuck: watch which way the spindle turns",
            "As the button or lever says. The other way, what is screwed on comes off: stop, lock off, look at the motor's wires",
        )
    for trial in trials:
        if "stops" in trial.expected and ", then " in trial.do:
            yield Step(WHOLE, trial.do, f"{trial.expected}. Time to standstill: ____ s")
    if any(d.kind == "drive" for d in plan.devices.values()):
        yield Step(
            WHOLE,
            "Lowest and highest speed, each for a minute",
            "No fault, nothing is hot, no speed above what chuck or tool may turn",
        )
