"""What contacts switch, against what they are rated for, and for which duty.

A utilisation category says what a rating is for: AC-1 resistive loads and drives, AC-3 motors, AC-15 and DC-13 coils and other
electromagnets. For another duty a contact does as long as it carries a small share of its rating.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from wirecheck.circuit.currents import Passage
from wirecheck.electrics.conductors import Conductors
from wirecheck.electrics.given import given
from wirecheck.electrics.number import Input, Missing, Number, figure, in_words
from wirecheck.electrics.states import States
from wirecheck.electrics.tables import table
from wirecheck.findings import Spot
from wirecheck.plan.model import Device, Plan

CONTACT, POLES = "current of a contact", "current of a contactor"
NUMBERS = (CONTACT, POLES)

RATING = re.compile(r"([0-9.]+)\s*(m?)A\b\s*(?:((?:AC|DC)-?[0-9]+[ab]?))?", re.IGNORECASE)
MOTOR_DUTIES = frozenset({"AC-2", "AC-3", "AC-3E", "AC-4"})
COIL_DUTIES = frozenset({"AC-11", "AC-14", "AC-15", "DC-11", "DC-13", "DC-14"})
SOURCE = "IEC 60947-4-1:2018 and IEC 60947-5-1:2016, utilisation categories"


class Rated(NamedTuple):
    """What a contact is rated for: a current in A and a category, which may be empty."""

    amps: float
    category: str
    field: str
    text: str
    at: Spot


def numbers(plan: Plan, states: States) -> Iterator[Number]:
    """One number for each rated contact, and one for the poles of each rated contactor or relay."""
    found = states.conductors()
    for device in plan.devices.values():
        if device.kind in ("contactor", "relay", "timer-relay") and (rated := _of_poles(device)):
            each = found.currents.through.get(device.name, {}).values()
            yield from _worst(_number(found, POLES, device, "the poles", rated, passages) for passages in each)
        for contact in device.contacts:
            own = _parsed(contact.rating, f"contacts.{contact.name}.rating", contact.spot)
            if own is not None and (passages := found.currents.by_contact.get(str(contact))):
                yield _number(found, CONTACT, device, f"contact {contact.name}", own, passages)


def _worst(each: Iterator[Number]) -> Iterator[Number]:
    """Of the poles of one device the one that carries most."""
    found = list(each)
    if found:
        yield max(found, key=lambda n: float("inf") if n.value is None else n.value)


def _of_poles(device: Device) -> Rated | None:
    rating, category = given(device, "rating"), device.values.get("category")
    if rating is None:
        return None
    word = str(category).upper() if category else ""
    return Rated(rating.value, word, "category", f"{rating.quantity.text} {word}".strip(), rating.input.at or device.spot)


def _parsed(text: str | None, field: str, at: Spot) -> Rated | None:
    found = RATING.search(text or "")
    if found is None:
        return None
    amps = float(found[1]) * (0.001 if found[2] else 1.0)
    word = (found[3] or "").upper()
    return Rated(amps, word if "-" in word or not word else f"{word[:2]}-{word[2:]}", field, str(text), at)


def _number(found: Conductors, name: str, device: Device, part: str, rated: Rated, passages: Sequence[Passage]) -> Number:
    carried = found.carried(passages)
    duty, share = _duty(found, rated, passages)
    least, asked = carried.against(rated.amps)
    other_duty = share < 1 or _is_for_motors_alone(rated, passages)
    if not asked and least is not None and other_duty and least > rated.amps * share and (share == 1 or least <= rated.amps):
        asked = (Missing(f"{device.name} {rated.field}", rated.at, f"whether {part} may switch {duty}"),)
        least = None
    elsewhere = (
        f" That is not said to hold for {duty}, for which up to {figure(share * 100)} % of it will do." if share < 1 else ""
    )
    return Number(
        name=name,
        device=device.name,
        at=rated.at,
        value=least,
        unit="A",
        high=rated.amps,
        working=f"Through {part} of {device.name}: {carried.words or 'a current that is not known'}. Rated {rated.text}."
        f"{elsewhere}",
        inputs=(*carried.inputs, Input(f"{device.name} {rated.field}", rated.text, rated.at)),
        source=SOURCE if share == 1 else table("contact-category").cite(),
        devices=tuple(dict.fromkeys((device.name, *carried.devices))),
        events=carried.events,
        missing=asked,
        advice=f"Fit one that is rated for {duty} of {in_words(least or 0.0, 'A')} at least.",
    )


def _is_for_motors_alone(rated: Rated, passages: Sequence[Passage]) -> bool:
    """Whether the rating is for motors and no motor is switched: for other loads such a contactor has a higher one."""
    return rated.category in MOTOR_DUTIES and not any(_is_motor(p) for p in passages)


def _is_motor(passage: Passage) -> bool:
    return passage.load.kind == "winding" and passage.source.role == "supply"


def _duty(found: Conductors, rated: Rated, passages: Sequence[Passage]) -> tuple[str, float]:
    """What is switched, in words, and the share of the rating up to which that does."""
    direct = any(p.source.kind == "DC" for p in passages)
    motors = any(map(_is_motor, passages))
    coils = any(p.load.kind == "coil" or found.plan.devices[p.load.device].kind == "solenoid" for p in passages)
    words = "a motor" if motors else f"{'direct' if direct else 'alternating'} current" + (" to a coil" if coils else "")
    rows = table("contact-category")

    def share(duty: str) -> float:
        return float((rows.row(duty=duty) or {})["most"])

    if (rated.category.startswith("AC") and direct) or (rated.category.startswith("DC") and not direct):
        return words, share("kind")
    if motors and rated.category not in MOTOR_DUTIES:
        return words, share("motor")
    if coils and rated.category and rated.category not in COIL_DUTIES | MOTOR_DUTIES:
        return words, share("coil")
    return words, 1.0
