"""What is written at the top of a place's frame."""

from __future__ import annotations

from wirecheck.drawings.lettering import clean, shorten, width
from wirecheck.drawings.shapes import Text
from wirecheck.plan.model import Place, Plan

_NAME, _ABOUT = 9.0, 6.0
_LEFT, _BASELINE, _GAP = 8.0, 12.0, 6.0
_MOST_NAME, _MOST_ABOUT = 150.0, 250.0


def heading(plan: Plan, name: str | None) -> tuple[str, str]:
    """The place's name, and what it is and withstands; for what has no place, that it has none."""
    if name is None:
        kinds = {d.kind for d in plan.devices.values() if d.place is None}
        return ("supply" if kinds <= {"mains"} else "no place stated"), ""
    return shorten(clean(name), _NAME, _MOST_NAME, True), shorten(_about(plan.places.get(name)), _ABOUT, _MOST_ABOUT)


def heading_room(plan: Plan, name: str | None) -> float:
    """How wide a frame must be for its heading."""
    title, about = heading(plan, name)
    return 2 * _LEFT + width(title, _NAME, True) + (_GAP + width(about, _ABOUT) if about else 0.0)


def heading_texts(plan: Plan, name: str | None, left: float, top: float) -> list[Text]:
    """The heading of a frame whose upper left corner is given."""
    title, about = heading(plan, name)
    x, y = left + _LEFT, top + _BASELINE
    beside = [Text(x + width(title, _NAME, True) + _GAP, y, about, _ABOUT)] if about else []
    return [Text(x, y, title, _NAME, True), *beside]


def _about(place: Place | None) -> str:
    if place is None:
        return ""
    parts = [place.title, place.ip, "swarf" if place.swarf else "", "coolant" if place.coolant else ""]
    return clean(", ".join(p for p in parts if p))
