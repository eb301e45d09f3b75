"""The dead-test sheet: what is measured with the supply off, in which order, and what the meter should show."""

from __future__ import annotations

from collections.abc import Iterator

from wirecheck.metering.choosing import Candidate, DeadTest, dead_test, kinds_found
from wirecheck.metering.dead import paths_of
from wirecheck.metering.errors import exchanged_within
from wirecheck.metering.expected import expected
from wirecheck.metering.matrix import Setting
from wirecheck.plan.model import Device, Plan, Terminal
from wirecheck.sheets.table import Row, Table, listed

COLUMNS = ("step", "operate", "from", "to", "where", "expected", "reading", "done", "name", "date")
LIMIT_COLUMNS = ("what nobody finds with a meter", "how many like it", "why", "done", "name", "date")

REST = "rest"

BY_HAND = {"blown": "the fuse is taken out", "tripped": "the breaker is switched off by hand", "parted": "the plug is pulled"}
"""What somebody does to bring a device into a position that otherwise only comes about by itself."""

EXCHANGED = {"place": "two ends in one place", "device": "two ends on one device, or of one cable in one place"}


def dead_tables(plan: Plan) -> list[Table]:
    """The dead-test sheet, and what it cannot find."""
    test = dead_test(plan)
    return [_sheet(plan, test), _limits(plan, test)]


def operated(setting: Setting) -> str:
    """What is operated for a reading, as events; `rest` where nothing is."""
    return " ".join(map(str, setting)) or REST


def step_row(plan: Plan, test: DeadTest, step: str, candidate: Candidate) -> Row:
    """A reading as a row of the sheet, to be filled in."""
    reading = candidate.reading
    words = expected(test.matrix, paths_of(plan), candidate)
    places = listed(plan.devices[t.device].place or t.device for t in (reading.a, reading.b))
    return (step, operated(reading.setting), str(reading.a), str(reading.b), places, words, "", "", "", "")


def _sheet(plan: Plan, test: DeadTest) -> Table:
    rows = tuple(step_row(plan, test, str(number), c) for number, c in enumerate(test.readings, start=1))
    notes = (*_isolate(plan, test), *_how(plan, test), *_counts(plan, test), *_insulation(plan))
    return Table("dead-test", "Dead test", COLUMNS, rows, notes, landscape=True, group="operate")


def _isolate(plan: Plan, test: DeadTest) -> Iterator[str]:
    isolation = test.isolation
    names = listed(plan.devices[name].label() for name in isolation.by)
    if isolation.plug:
        yield f"1. Pull the plug ({names}) and keep it in sight and in your charge until the end of the test."
    elif isolation.by:
        live = ", ".join(sorted(str(t) for t in isolation.live if not t.mark.startswith("*")))
        yield f"1. Switch off {names}, lock it off, keep the key. Its supply side stays live: touch nothing at {live}."
    else:
        yield "1. The plan shows no isolator and no plug: somebody competent has to cut the supply ahead of it and lock it off."
    yield "2. Have it proved dead by somebody competent, at every terminal below: a wire on the wrong side would keep it live."
    yield "3. Wait until drives have lost their charge; their manuals say how long."


def _how(plan: Plan, test: DeadTest) -> Iterator[str]:
    on = sorted(name for name in test.matrix.supply_on if name not in test.isolation.by)
    yield (
        "4. At rest: buttons and pedals let go, emergency stops released, guards closed, breakers on, fuses in, plugs mated, "
        f"selectors in their first position{f', {listed(on)} on' if on else ''}. A step names what is put elsewhere and held "
        f"there; all else is at rest. No relay is pushed in by hand.{_as_operated(test)}"
    )
    yield (
        "5. Closed is below 2 ohm, open above 1 Mohm. Take off the leads' own resistance and write down the ohms, or the word. "
        "Of earth conductors, the first steps, some tenths of an ohm are much. If a reading is wrong, stop: "
        "`wirecheck diagnose` takes the filled-in file and says what may be wired wrong."
    )
    drives = [d.name for d in plan.devices.values() if d.kind == "drive"]
    if drives:
        yield (
            f"6. The wiring stays on {listed(drives)}. Its electronics may read anything but closed. Commons of a drive that "
            "the plan joins by wires are taken as not joined inside it: if its manual says otherwise, see to these wires by eye."
        )


def _as_operated(test: DeadTest) -> str:
    """What a position of a fuse, breaker or plug means to a hand, where the steps have one."""
    positions = {event.position for candidate in test.readings for event in candidate.reading.setting}
    return "".join(f" {position.capitalize()} here: {BY_HAND[position]}." for position in BY_HAND if position in positions)


def _counts(plan: Plan, test: DeadTest) -> Iterator[str]:
    kinds = "; ".join(f"{kind} {found} of {number}" for kind, (number, found) in kinds_found(test).items())
    yield (
        f"These {len(test.readings)} readings find {test.found.bit_count()} of {len(test.errors)} single wiring errors "
        f"({kinds}) in {len(plan.wires)} wires. Exchanged are {EXCHANGED[exchanged_within(plan)]}. "
        "What no reading finds is on the sheet after this one."
    )


ELECTRONIC = frozenset(
    {"drive", "dc-supply", "safety-relay", "thermistor-relay", "timer-relay", "sensor", "thermistor", "residual-current-device"}
)
SPOILING = frozenset({"lamp", "buzzer", "capacitor", "diode", "line-filter"})
"""What an insulation tester destroys, and what else spoils its reading. Common practice, no source."""


def _insulation(plan: Plan) -> Iterator[str]:
    off = [d.label() for d in plan.devices.values() if d.kind in ELECTRONIC | SPOILING]
    off += [f"{d.name} TP1 and TP2" for d in plan.devices.values() if d.values.get("sensor") in ("thermistor", "opens-when-hot")]
    if off:
        yield (
            f"Before an insulation test, which is for somebody competent: disconnect every wire of {listed(off)}. "
            "The test voltage destroys electronics, and what stays connected gives a false pass."
        )
    thermistors = [
        d.name if d.kind == "thermistor" else f"{d.name} TP1 and TP2" for d in plan.devices.values() if _is_thermistor(d)
    ]
    if thermistors:
        yield (
            f"A thermistor bears no more than {MOST_ON_A_THERMISTOR}: on {listed(thermistors)} only an ohmmeter that gives no "
            "more, and never the insulation tester between its two ends. Joined, they may be tested against the rest."
        )


MOST_ON_A_THERMISTOR = "2.5 V"
"""IEC 60947-8: the highest voltage on the terminals of a thermistor detector (value from memory)."""


def _is_thermistor(device: Device) -> bool:
    return device.kind == "thermistor" or device.values.get("sensor") == "thermistor"


def _limits(plan: Plan, test: DeadTest) -> Table:
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, error in enumerate(test.errors):
        if not test.found >> number & 1:
            groups.setdefault((error.kind, error.wires[:1] or error.devices), []).append(number)
    rows = []
    for numbers in groups.values():
        first = test.errors[numbers[0]]
        rows.append((first.text, str(len(numbers)), _why(test, first.removed, plan), "", "", ""))
    notes = ("Look at these by eye: follow the wire from end to end, before the cover goes on.",)
    return Table("dead-test-limits", "What the dead test cannot find", LIMIT_COLUMNS, tuple(rows), notes)


def _why(test: DeadTest, removed: frozenset[str], plan: Plan) -> str:
    ends: set[Terminal] = {t for w in plan.wires if f"wire {w.index}" in removed for t in (w.a, w.b)}
    if any(t in test.isolation.live or plan.devices[t.device].kind == "mains" for t in ends) and test.isolation.live:
        return "an end is on the supply side, which stays live: for somebody competent, with the supply cut ahead of it"
    return "another way through metal, a winding or electronics reads the same"
