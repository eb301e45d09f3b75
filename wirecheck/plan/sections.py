"""The keys of the plan's sections beside the devices, read once from their description."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from wirecheck.kinds.parameter import Parameter, parameters_of
from wirecheck.nodes import compose, plain_data
from wirecheck.resources import package_folder, read_text

TOP_LEVEL: Mapping[str, tuple[bool, str]] = {
    "wirecheck": (True, "version of the plan format, 1"),
    "machine": (True, "what the plan is for"),
    "places": (False, "enclosures and stations"),
    "devices": (True, "every device by its designation"),
    "wires": (True, "list of runs"),
    "cables": (False, "cables by their designation"),
    "functions": (False, "the safety functions that you intend"),
    "accepted": (False, "findings that you knowingly accept"),
}
"""The keys of a plan: whether each is needed, and what it holds."""

ONE_OF: Mapping[str, str] = {
    "machine": "machine",
    "places": "place",
    "wires": "wire",
    "cables": "cable",
    "functions": "function",
    "accepted": "accepted",
}
"""By the key of a section beside the devices what one of its parts is called in `sections`."""


def section_page(name: str) -> tuple[str, str]:
    """How a section is written, in a sentence or two, and a piece of a plan to copy."""
    path = package_folder("plan", "data") / "section_pages.yaml"
    told = plain_data(compose(read_text(path), path.name))[name]
    return str(told["about"]), str(told["fragment"])


@cache
def sections() -> dict[str, dict[str, Parameter]]:
    """The keys of machine, place, cable, wire, function and accepted."""
    path = package_folder("plan", "data") / "sections.yaml"
    return {name: parameters_of(keys) for name, keys in plain_data(compose(read_text(path), path.name)).items()}
