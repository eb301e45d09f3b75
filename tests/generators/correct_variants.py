"""Correct plans made from correct plans: each change leaves the plan as right as it was.

A variant is drawn by lot, the same for the same seed. Every change edits the plan's data in place and says whether it found
anything to change.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from itertools import pairwise
from random import Random
from typing import Any, NamedTuple

from tests.generators.plan_data import Data, all_ends, contacts_of, end_of, form_of, letter_of, unused_name

Change = Callable[[Data, Random], bool]

STARTS = ("start", "forward", "reverse")
STOP_KINDS = ("push-button", "foot-switch", "limit-switch")
SPARE_KINDS = ("push-button", "emergency-stop", "guard-switch", "relay", "contactor", "selector", "key-switch")
PHASE_COLOURS = ("BK", "BN", "GY")
INSIDE_THE_PANEL = "panel"


class Variant(NamedTuple):
    """A plan's data and the names of the changes that made it."""

    data: Data
    changes: tuple[str, ...]


def variant(base: Data, seed: object) -> Variant:
    """A correct variant of a correct plan: some of the changes, at least three where so many find anything to change."""
    rng = Random(str(seed))
    data = deepcopy(base)
    wanted = set(rng.sample(list(CHANGES), rng.randint(3, 6)))
    made = [name for name, change in CHANGES.items() if name in wanted and change(data, rng)]
    rest = [name for name in CHANGES if name not in wanted]
    while len(made) < 3 and rest:
        name = rest.pop()
        made += [name] if CHANGES[name](data, rng) else []
    return Variant(data, tuple(made))


# More devices in the right place


def another_stop(data: Data, rng: Random) -> bool:
    """A second stop in series with a stop, contact by contact."""
    return _another(data, rng, _in_series, lambda d: d.get("role") == "stop" and d["kind"] in STOP_KINDS, "NC")


def another_emergency_stop(data: Data, rng: Random) -> bool:
    """A second emergency stop in series with one, and in the same functions."""
    return _another(data, rng, _in_series, lambda d: d["kind"] == "emergency-stop", "NC")


def another_start(data: Data, rng: Random) -> bool:
    """A second start across a start, contact by contact."""
    return _another(data, rng, _across, lambda d: d.get("role") in STARTS and d["kind"] == "push-button", "NO")


def _another(data: Data, rng: Random, join: Callable[..., None], fits: Callable[[Data], bool], form: str) -> bool:
    wired = {end for _, _, end in all_ends(data)}
    chosen = []
    for name, device in data["devices"].items():
        contacts = contacts_of(device)
        used = [c.split("-") for c in contacts if {(name, mark) for mark in c.split("-")} & wired]
        whole = all((name, mark) in wired for marks in used for mark in marks)
        if fits(device) and used and whole and all(form_of(c) == form for c in contacts.values()):
            chosen.append((name, used))
    if not chosen:
        return False
    name, used = rng.choice(chosen)
    new = unused_name(data["devices"], letter_of(name), 20)
    data["devices"][new] = deepcopy(data["devices"][name])
    data["devices"][new]["title"] = "second station"
    for marks in used:
        join(data, name, new, *marks)
    for function in data.get("functions", {}).values():
        causes = function["when"] if isinstance(function["when"], list) else [function["when"]]
        more = [c.replace(f"{name}=", f"{new}=", 1) for c in causes if c.startswith(f"{name}=")]
        function["when"] = [*causes, *more] if more else function["when"]
    return True


def _in_series(data: Data, old: str, new: str, a: str, b: str) -> None:
    """What went on from one end of the old contact goes on from the new one, and a wire joins the two contacts."""
    like = _wire_at(data, old, b)
    for wire, place, end in list(all_ends(data)):
        if end == (old, b):
            wire["run"][place] = f"{new}:{b}"
    _wire(data, f"{old}:{b}", f"{new}:{a}", like)


def _across(data: Data, old: str, new: str, a: str, b: str) -> None:
    for mark in (a, b):
        like = _wire_at(data, old, mark)
        _wire(data, f"{old}:{mark}", f"{new}:{mark}", like, number=like["number"])


def _wire_at(data: Data, device: str, mark: str) -> Data:
    return next(wire for wire, _, end in all_ends(data) if end == (device, mark))


def _wire(data: Data, a: str, b: str, like: Data, number: str | None = None) -> None:
    numbers = {str(w["number"]) for w in data["wires"]}
    wire: Data = {"number": number or unused_name(numbers, "", 200), "run": [a, b]}
    data["wires"].append(wire | {k: like[k] for k in ("size", "colour") if k in like})


def lamp_across_a_coil(data: Data, rng: Random) -> bool:
    """An indicator lamp beside a coil."""
    wired = {end for _, _, end in all_ends(data)}
    coils = [n for n, d in data["devices"].items() if d.get("coil") and {(n, "A1"), (n, "A2")} <= wired]
    if not coils:
        return False
    coil = rng.choice(coils)
    lamp = unused_name(data["devices"], "P", 20)
    data["devices"][lamp] = {"kind": "lamp", "voltage": data["devices"][coil]["coil"], "power": "0.3 W"}
    for mark, at in (("A1", "X1"), ("A2", "X2")):
        like = _wire_at(data, coil, mark)
        _wire(data, f"{coil}:{mark}", f"{lamp}:{at}", like, number=like["number"])
    return True


def spare_contacts(data: Data, rng: Random) -> bool:
    """Contacts that nothing is wired to, on up to three devices."""
    fit = [n for n, d in data["devices"].items() if d["kind"] in SPARE_KINDS and contacts_of(d)]
    for name in rng.sample(fit, min(3, len(fit))):
        contacts = data["devices"][name]["contacts"]
        like = rng.choice(list(contacts))
        marks = like.split("-")
        if all(len(m) == 2 and m.isdigit() for m in marks):
            contacts["-".join(f"{rng.choice('79')}{m[1]}" if i == 0 else f"7{m[1]}" for i, m in enumerate(marks))] = deepcopy(
                contacts[like]
            )
    return bool(fit)


# The same wires by other ways


def terminal_blocks(data: Data, rng: Random) -> bool:
    """A terminal of a block in every line."""
    block = unused_name(data["devices"], "X", 20)
    runs: list[Data] = []
    terminal = 0
    for wire in data["wires"]:
        for a, b in pairwise(wire["run"]):
            terminal += 1
            near, far = (a, b) if _outside(data, a) else (b, a)
            runs.append({**wire, "run": [near, f"{block}:{terminal}"]})
            runs.append({k: v for k, v in wire.items() if k not in ("cable", "core")} | {"run": [f"{block}:{terminal}", far]})
    data["devices"][block] = {"kind": "terminal-block", "title": "one terminal in every line"}
    data["wires"] = runs
    return True


def _outside(data: Data, terminal: str) -> bool:
    return str(data["devices"][end_of(terminal)[0]].get("place", INSIDE_THE_PANEL)) != INSIDE_THE_PANEL


def pendant_plug(data: Data, rng: Random) -> bool:
    """A plug in every line to the buttons, where nothing but buttons that spring back and emergency stops can start or stop."""
    devices = data["devices"]
    hand = {n for n, d in devices.items() if d["kind"] in ("push-button", "emergency-stop")}
    others = [d for n, d in devices.items() if n not in hand and (d.get("role") == "stop" or d.get("run_positions"))]
    latching = any(devices[n]["kind"] == "push-button" and devices[n].get("latching") == "true" for n in hand)
    stops = [n for n in hand if devices[n].get("role") == "stop" or devices[n]["kind"] == "emergency-stop"]
    motors = sum(d["kind"] == "motor" for d in devices.values())
    if (
        not stops
        or others
        or latching
        or motors != 1
        or any(d["kind"] in ("no-volt-release", "plug-connector") for d in devices.values())
    ):
        return False
    plug = unused_name(devices, "X", 30)
    runs: list[Data] = []
    poles: list[str] = []
    for wire in data["wires"]:
        for a, b in pairwise(wire["run"]):
            inside = [end_of(t)[0] in hand for t in (a, b)]
            if inside[0] == inside[1]:
                runs.append({**wire, "run": [a, b]})
                continue
            button, panel = (a, b) if inside[0] else (b, a)
            fixed, loose = str(2 * len(poles) + 1), str(2 * len(poles) + 2)
            poles.append(f"{fixed}-{loose}")
            runs.append({**wire, "run": [f"{plug}:{loose}", button]})
            runs.append({k: v for k, v in wire.items() if k not in ("cable", "core")} | {"run": [panel, f"{plug}:{fixed}"]})
    devices[plug] = {"kind": "plug-connector", "title": "pendant plug", "poles": poles}
    data["wires"] = runs
    return True


# Other names, another order


def other_numbers(data: Data, rng: Random) -> bool:
    """Every wire number but the earth's becomes another one."""
    old = list(dict.fromkeys(str(w["number"]) for w in data["wires"] if w["number"] != "PE"))
    new = dict(zip(old, rng.sample(range(300, 300 + 2 * len(old)), len(old)), strict=True))
    for wire in data["wires"]:
        wire["number"] = str(new.get(wire["number"], wire["number"]))
    return True


def other_colours(data: Data, rng: Random) -> bool:
    """The colours of the phases change places."""
    shifted = rng.sample(PHASE_COLOURS, 3)
    found = [w for w in data["wires"] if w.get("colour") in PHASE_COLOURS]
    for wire in found:
        wire["colour"] = shifted[PHASE_COLOURS.index(wire["colour"])]
    return bool(found)


def other_names(data: Data, rng: Random) -> bool:
    """Every device gets another designation with the same letter, every cable another number."""
    new = _renamed(data["devices"], rng)
    cables = _renamed(data.get("cables", {}), rng)
    data["devices"] = {new[n]: d for n, d in data["devices"].items()}
    for device in data["devices"].values():
        if "mechanical_interlock" in device:
            device["mechanical_interlock"] = _with_names(device["mechanical_interlock"], new)
    if cables:
        data["cables"] = {cables[n]: c for n, c in data["cables"].items()}
    for wire in data["wires"]:
        wire["run"] = [f"{new[d]}:{m}" for d, m in map(end_of, wire["run"])]
        if "cable" in wire:
            wire["cable"] = cables.get(wire["cable"], wire["cable"])
    for function in data.get("functions", {}).values():
        function["when"] = _with_names(function["when"], new)
        function["must"] = _with_names(function["must"], new)
    return True


def _renamed(names: Data, rng: Random) -> dict[str, str]:
    numbers = rng.sample(range(40, 40 + 2 * len(names)), len(names))
    return {name: f"{letter_of(name)}{n}" for name, n in zip(names, numbers, strict=True)}


def _with_names(said: Any, new: dict[str, str]) -> Any:
    """`S2=open`, `M1 stopped`, `Q3`, or a list of such, with the new names."""
    if isinstance(said, list):
        return [_with_names(one, new) for one in said]
    return next((new[n] + said[len(n) :] for n in new if said == n or said.startswith((f"{n}=", f"{n} "))), said)


def another_order(data: Data, rng: Random) -> bool:
    """Devices, contacts and wires in another order; runs the other way round, or in pieces."""
    data["devices"] = _shuffled(data["devices"], rng)
    for device in data["devices"].values():
        if "contacts" in device:
            device["contacts"] = _shuffled(device["contacts"], rng)
    runs = []
    for wire in data["wires"]:
        run = wire["run"][:: rng.choice((1, -1))]
        pieces = [list(pair) for pair in pairwise(run)] if rng.random() < 0.5 else [run]
        runs += [{**wire, "run": piece} for piece in pieces]
    rng.shuffle(runs)
    data["wires"] = runs
    return True


def _shuffled(mapping: Data, rng: Random) -> Data:
    items = list(mapping.items())
    rng.shuffle(items)
    return dict(items)


CHANGES: dict[str, Change] = {
    "another stop": another_stop,
    "another emergency stop": another_emergency_stop,
    "another start": another_start,
    "lamp across a coil": lamp_across_a_coil,
    "spare contacts": spare_contacts,
    "pendant plug": pendant_plug,
    "terminal blocks": terminal_blocks,
    "other colours": other_colours,
    "other numbers": other_numbers,
    "other names": other_names,
    "another order": another_order,
}
"""In the order in which they are made."""
