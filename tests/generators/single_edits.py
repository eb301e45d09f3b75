"""Wrong plans made from correct ones by one edit: what a hand can get wrong in one place.

The plan is written down as it was wired: after an edit every potential has a number of its own, so that no slip of a number gives
the mistake away.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from itertools import pairwise
from random import Random
from typing import NamedTuple

from tests.generators.plan_data import Data, contacts_of, end_of, form_of
from tests.oracles.plain_network import Node, UnionFind

Marks = dict[str, tuple[str, ...]]
"""The terminals of every device."""

EARTH = "PE"
OTHER_FORM = {"NC": "NO", "NO": "NC", "guard-closed": "guard-open", "guard-open": "guard-closed"}
SETTINGS: dict[str, tuple[str, ...]] = {
    "settings.on_power_up_with_run": ("starts",),
    "settings.after_trip_reset_with_run": ("starts",),
    "settings.after_safe_torque_off_with_run": ("starts",),
    "settings.after_permit_with_run": ("starts",),
    "settings.command_source": ("both", "keypad"),
    "settings.both_directions": ("first-wins", "unknown"),
    "settings.restarts_itself_after_fault": ("true",),
    "control.mode": ("two-wire", "three-wire"),
    "control.logic": ("sourcing", "sinking"),
    "control.start_on": ("level",),
    "reset": ("automatic", "manual", "monitored"),
    "make_before_break": ("true",),
    "mode": ("on-delay", "off-delay"),
}
"""The settings that a hand gets wrong, and to what."""


class Edit(NamedTuple):
    """A wrong plan's data, and what was done."""

    data: Data
    sort: str
    text: str


def single_edit(base: Data, marks: Marks, seed: object) -> Edit | None:
    """One edit drawn by lot, the same for the same seed; None where a plan has nothing for the sort that was drawn."""
    rng = Random(str(seed))
    data = deepcopy(base)
    data["wires"] = [{**w, "run": [a, b]} for w in data["wires"] for a, b in pairwise(w["run"])]
    sort = rng.choices(list(SORTS), weights=[4, 4, 3, 3, 4])[0]
    text = SORTS[sort](data, marks, rng)
    if not text:
        return None
    _number_afresh(data)
    return Edit(data, sort, text)


def _end_moved(data: Data, marks: Marks, rng: Random) -> str:
    """One end of a wire on another terminal, mostly of the same device."""
    wire, place = rng.choice(data["wires"]), rng.choice((0, 1))
    device, mark = end_of(wire["run"][place])
    to = device if rng.random() < 0.6 and len(marks[device]) > 1 else rng.choice(list(marks))
    free = [m for m in marks[to] if f"{to}:{m}" not in wire["run"]]
    if not free:
        return ""
    new = f"{to}:{rng.choice(free)}"
    text = f"wire {_name(wire)}: the end at {device}:{mark} on {new}"
    wire["run"][place] = new
    return text


def _removed(data: Data, marks: Marks, rng: Random) -> str:
    wire = data["wires"].pop(rng.randrange(len(data["wires"])))
    return f"wire {_name(wire)} missing"


def _exchanged(data: Data, marks: Marks, rng: Random) -> str:
    """Two ends exchanged, mostly at the same device."""
    one, place = rng.choice(data["wires"]), rng.choice((0, 1))
    device = end_of(one["run"][place])[0]
    others = [
        (w, p)
        for w in data["wires"]
        for p in (0, 1)
        if w is not one
        and w["run"][p] != one["run"][place]
        and w["run"][p] not in one["run"]
        and one["run"][place] not in w["run"]
    ]
    near = [(w, p) for w, p in others if end_of(w["run"][p])[0] == device]
    if not others:
        return ""
    two, there = rng.choice(near if near and rng.random() < 0.7 else others)
    text = f"the ends of wire {_name(one)} at {one['run'][place]} and of wire {_name(two)} at {two['run'][there]} exchanged"
    one["run"][place], two["run"][there] = two["run"][there], one["run"][place]
    return text


def _form_swapped(data: Data, marks: Marks, rng: Random) -> str:
    """A make contact for a break contact, a guard's contact of the other sense, a selector's closed in another position."""
    wired = {end_of(t) for w in data["wires"] for t in w["run"]}
    found = [(n, c) for n, d in data["devices"].items() for c in contacts_of(d) if (n, c.split("-")[0]) in wired]
    if not found:
        return ""
    name, contact = rng.choice(found)
    device = data["devices"][name]
    said = device["contacts"][contact]
    if form_of(said) in OTHER_FORM:
        new = OTHER_FORM[form_of(said)]
        device["contacts"][contact] = (
            new if isinstance(said, str) else {k: (new if v == form_of(said) else v) for k, v in said.items()}
        )
        return f"{name}:{contact} is {new}"
    if form_of(said) == "CO":
        common, broken, made = contact.split("-")
        device["contacts"] = {(k if k != contact else f"{common}-{made}-{broken}"): v for k, v in device["contacts"].items()}
        return f"{name}:{contact} has its halves exchanged"
    if isinstance(said, dict) and "closed_in" in said:
        positions = [p for p in device["positions"] if [p] != said["closed_in"]]
        device["contacts"][contact] = {**said, "closed_in": [rng.choice(positions)]}
        return f"{name}:{contact} is closed in {device['contacts'][contact]['closed_in'][0]}"
    return ""


def _setting_changed(data: Data, marks: Marks, rng: Random) -> str:
    """A setting of a drive, relay or selector, or what one input of a drive does."""
    places = list(_settings(data)) + list(_inputs(data))
    if not places:
        return ""
    name, holder, key, new = rng.choice(places)
    holder[key] = new
    return f"{name}: {key} is {new}"


def _settings(data: Data) -> Iterator[tuple[str, Data, str, object]]:
    for name, device in data["devices"].items():
        for path, words in SETTINGS.items():
            *parts, key = path.split(".")
            holder = device
            for part in parts:
                holder = holder.get(part, {})
            if key in holder and (device["kind"] != "key-switch" or key != "mode"):
                yield from ((name, holder, key, word) for word in words if word != holder[key])


def _inputs(data: Data) -> Iterator[tuple[str, Data, str, object]]:
    for name, device in data["devices"].items():
        inputs = device.get("control", {}).get("inputs", {}) if device["kind"] == "drive" else {}
        for mark, said in inputs.items():
            if isinstance(said, dict):
                level = "closed" if said.get("acts_when") == "open" else "open"
                yield name, said, "acts_when", level
                yield name, inputs, mark, "run-reverse"
            else:
                other = {"run-forward": "run-reverse", "run-reverse": "run-forward", "jog": "run-forward"}.get(said)
                if other:
                    yield name, inputs, mark, other


SORTS: dict[str, Callable[[Data, Marks, Random], str]] = {
    "end moved": _end_moved,
    "contact form": _form_swapped,
    "wire missing": _removed,
    "ends exchanged": _exchanged,
    "setting": _setting_changed,
}


def _name(wire: Data) -> str:
    return f"{wire['number']} [{wire['run'][0]}\u2013{wire['run'][1]}]"


def _number_afresh(data: Data) -> None:
    """Give every potential a number of its own; conductors that were earth conductors stay so."""
    classes = UnionFind({})
    for wire in data["wires"]:
        classes.join(*map(end_of, wire["run"]))
    for name, device in data["devices"].items():
        for link in device.get("links", []):
            for mark in link[1:]:
                classes.join((name, link[0]), (name, mark))
        if device["kind"] == "earth-bar":
            marks = {m for w in data["wires"] for n, m in map(end_of, w["run"]) if n == name}
            for mark in sorted(marks):
                classes.join((name, min(marks)), (name, mark))
    numbers: dict[Node, str] = {}
    for wire in data["wires"]:
        if wire["number"] != EARTH:
            root = classes.find(end_of(wire["run"][0]))
            wire["number"] = numbers.setdefault(root, str(len(numbers) + 1))
