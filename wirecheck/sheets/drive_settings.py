"""The drive settings: what the plan's wiring needs, why each matters, and what would be found if it were set otherwise."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from wirecheck.findings import Finding, severity_rank
from wirecheck.plan.model import Device, Plan, Quantity
from wirecheck.sheets.table import Row, Table

COLUMNS = ("drive", "setting", "set to", "why", "if set otherwise", "manual page", "entered", "done")

Judge = Callable[[Plan], Sequence[Finding]]
"""The findings on a plan; it is asked again and again, with one setting changed each time."""

WHY: Mapping[str, str] = {
    "control.mode": "Whether a push on a button is remembered (three-wire) or the command must stay (two-wire).",
    "control.logic": "Which side switches an input: plus (sourcing) or common (sinking). Wrong, no input acts, or all do.",
    "control.start_on": "Whether a start button that is held or stuck counts again when power or permit comes back.",
    "control.inputs": "What the terminal does. The wiring is made for this.",
    "control.reference": "Where the speed knob is, and that its input takes volts and not milliamperes.",
    "control.relays": "When the drive's output contact closes. The wiring is made for this.",
    "control.safe_torque_off": "Take out the factory's bridges: with them the wiring cannot take the torque away.",
    "settings.command_source": "Where run commands come from. A keypad that can start is not stopped by every button.",
    "settings.both_directions": "What happens when both run inputs are on at once.",
    "settings.restarts_itself_after_fault": "A drive that clears its own faults starts again by itself.",
    "settings.base_frequency": "With the base voltage it fixes volts per hertz: wrong, the motor overheats or has no torque.",
    "settings.base_voltage": "The voltage at base frequency: that of the winding as its links connect it.",
    "settings.min_frequency": "A shaft fan cools little at low speed.",
    "settings.max_frequency": "How fast spindle, chuck and motor can turn.",
    "settings.motor_current": "The drive's overload protection of the motor works by it.",
    "settings.stop": "How an ordinary stop ends: ramp, coast or braking, and in what time.",
    "settings.on_power_up_with_run": "A run command that is there when power comes back.",
    "settings.after_trip_reset_with_run": "A run command that is still there when a trip is reset.",
    "settings.after_safe_torque_off_with_run": "A run command that is still there when torque is given back.",
    "settings.after_permit_with_run": "A run command that is still there when run-permit, enable or coast-stop is given back.",
}
"""Why a setting matters, by its path in the plan or the path above it."""

OTHERWISE: Mapping[str, tuple[object, ...]] = {
    "control.mode": ("two-wire", "three-wire"),
    "control.logic": ("sourcing", "sinking"),
    "control.start_on": ("edge", "level"),
    "settings.command_source": ("terminals", "keypad", "both"),
    "settings.restarts_itself_after_fault": (True, False),
    "settings.on_power_up_with_run": ("waits", "starts"),
    "settings.after_trip_reset_with_run": ("waits", "starts"),
    "settings.after_safe_torque_off_with_run": ("waits", "starts"),
    "settings.after_permit_with_run": ("waits", "starts"),
}
"""Settings that change what the circuit does, with the values that each may have."""

WORST: Mapping[str, str] = {
    "control.mode": "two-wire", "control.logic": "sourcing", "control.start_on": "level", "settings.command_source": "both",
    "settings.restarts_itself_after_fault": "true", "settings.on_power_up_with_run": "starts",
    "settings.after_trip_reset_with_run": "starts", "settings.after_safe_torque_off_with_run": "starts",
    "settings.after_permit_with_run": "starts",
}  # fmt: skip
"""What is assumed of a setting that is not stated."""

MOST_DRIVES = 3
"""With more drives than this the sheet does not work out what each setting prevents: it would take too long."""


def drive_settings(plan: Plan, judge: Judge) -> Table:
    """All settings of all drives. `judge` says what is found in a plan; it is called once for each setting changed."""
    drives = [d for d in plan.devices.values() if d.kind == "drive"]
    now = {(f.rule, f.message) for f in judge(plan)} if 0 < len(drives) <= MOST_DRIVES else set()
    rows = [row for drive in drives for row in _of_drive(plan, drive, judge if len(drives) <= MOST_DRIVES else None, now)]
    notes = [
        "The plan rests on these settings. Enter each, and write down the page of the drive's manual that says what it means.",
        "If set otherwise: what the check finds with this one setting changed and all else as planned; empty where nothing more.",
        *(() if drives else ("The plan has no drive.",)),
        *(("What each setting prevents is not worked out for so many drives.",) if len(drives) > MOST_DRIVES else ()),
    ]
    return Table("drive-settings", "Drive settings", COLUMNS, tuple(rows), tuple(notes), landscape=True, group="drive")


def _of_drive(plan: Plan, drive: Device, judge: Judge | None, now: set[tuple[str, str]]) -> Iterator[Row]:
    stated = dict(_flat(drive.values))
    missing = [path for path in OTHERWISE if path not in stated and path != "control.start_on"]
    for path in (*stated, *missing):
        words = f"{stated[path]}" if path in stated else f"NOT STATED: find out ({WORST[path]} is assumed)"
        key = path.removeprefix("control.").removeprefix("settings.").replace("_", " ")
        others = "; ".join(_others(plan, drive, path, stated.get(path, WORST.get(path, "")), judge, now)) if judge else ""
        yield (drive.label(), key, words, _why(path), others, "", "", "")


def _flat(values: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    """Everything about control and settings that somebody has to enter, by dotted path."""
    for top in ("control", "settings"):
        given = values.get(top)
        for key, value in given.items() if isinstance(given, Mapping) else ():
            path = f"{top}.{key}"
            if key in ("inputs", "relays") and isinstance(value, Mapping):
                yield from ((f"{path}.{mark}", _words(does)) for mark, does in value.items())
            elif _why(path):
                yield path, _words(value)


def _why(path: str) -> str:
    return WHY.get(path) or WHY.get(path.rpartition(".")[0], "")


def _words(value: object) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{str(key).replace('_', ' ')} {_words(inner)}" for key, inner in value.items())
    if isinstance(value, list | tuple):
        return " ".join(map(_words, value))
    return value.text if isinstance(value, Quantity) else str(value).lower() if isinstance(value, bool) else str(value)


def _others(plan: Plan, drive: Device, path: str, stated: str, judge: Judge, now: set[tuple[str, str]]) -> Iterator[str]:
    """For every other value of a setting, the worst that is then found and was not before."""
    for value in OTHERWISE.get(path, ()):
        if _words(value) != stated:
            fresh = [f for f in judge(_changed(plan, drive, path, value)) if (f.rule, f.message) not in now]
            worst = max(fresh, key=lambda f: severity_rank(f.severity), default=None)
            if worst is not None and worst.severity != "advice":
                yield f"{_words(value)}: {worst.severity}. {worst.message} (rule {worst.rule})"


def _changed(plan: Plan, drive: Device, path: str, value: object) -> Plan:
    """The plan with one setting of one drive at another value."""
    top, _, key = path.partition(".")
    given = drive.values.get(top)
    inner = {**(given if isinstance(given, Mapping) else {}), key: value}
    other = replace(drive, values={**drive.values, top: inner})
    return replace(plan, devices={**plan.devices, drive.name: other})
