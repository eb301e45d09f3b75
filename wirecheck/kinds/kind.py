"""A device kind as a record: what terminals, positions, contacts and parameters a device of it has."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from wirecheck.kinds.parameter import Parameter, parameter_of, parameters_of
from wirecheck.nodes import Node

COMMON = parameters_of(
    {
        "title": {"type": "text", "help": "what it is for, in your own words"},
        "place": {"type": "text", "help": "one of the plan's places"},
        "part": {"type": "text", "help": "catalogue text for the parts list"},
        "notes": {"type": "text", "help": "anything worth keeping"},
        "links": {
            "type": "list",
            "of": "link",
            "help": "bars and factory bridges between its terminals, such as [[1, 2]]",
        },
    }
)
"""What every device may have, whatever its kind."""

POLES = parameter_of(
    {"type": "list", "of": "path", "least": 1, "help": "its main poles, each written as two marks, such as [1-2, 3-4]"}
)


class Poles(NamedTuple):
    """The main poles of a kind: the states in which they conduct, or that they always do; `fixed` where no plan lists them."""

    closed_in: tuple[str, ...] = ()
    always: bool = False
    needed: bool = False
    fixed: tuple[str, ...] = ()


class Variant(NamedTuple):
    """What a kind has besides when one of its parameters has a certain value."""

    terminals: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()
    events: tuple[str, ...] = ()


class Kind(NamedTuple):
    """A device kind.

    `terminals` are there always, `optional_terminals` may be wired but need not, `late_terminals` are always there and drawn
    last; `terminals_from` are the parameters (dotted paths) whose values name terminals. `states` are what contacts speak of
    where they differ from the positions; `forms` say in which states each contact form conducts (None: the kind has no contacts,
    empty: a contact must say `closed_in`). `events` can happen to it beside being put in a position. `aliases`
    map a parameter to the one that it is another word for. A kind
    of the house's own that behaves as another keeps that one's name, is called `house` in plans, and gives its devices the keys
    of `preset`.
    """

    name: str
    title: str
    about: str
    letter: str
    group: str
    fragment: str
    terminals: tuple[str, ...] = ()
    optional_terminals: tuple[str, ...] = ()
    late_terminals: tuple[str, ...] = ()
    any_terminal: bool = False
    terminals_from: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()
    positions_from: str = ""
    states: tuple[str, ...] = ()
    events: tuple[str, ...] = ()
    forms: Mapping[str, tuple[str, ...]] | None = None
    poles: Poles | None = None
    relays: str = ""
    elements: str = ""
    depends: Mapping[str, Mapping[str, Variant]] = {}
    parameters: Mapping[str, Parameter] = {}
    aliases: Mapping[str, str] = {}
    house: str = ""
    preset: Node | None = None

    @property
    def called(self) -> str:
        """What a plan calls it."""
        return self.house or self.name

    @property
    def keys(self) -> dict[str, Parameter | None]:
        """Every key that a device of this kind may have; None for `kind` and `contacts`, which have a form of their own."""
        found: dict[str, Parameter | None] = {"kind": None, **COMMON}
        if self.forms is not None:
            found["contacts"] = None
        if self.poles is not None and not self.poles.fixed:
            found["poles"] = POLES
        return found | dict(self.parameters)

    @property
    def coil(self) -> bool:
        """Whether the kind is moved by a coil or a supply of its own rather than by hand."""
        return "in" in self.states


def _words(data: Mapping[str, Any], key: str) -> tuple[str, ...]:
    return tuple(map(str, data.get(key, ())))


def _variant(data: Mapping[str, Any]) -> Variant:
    return Variant(_words(data, "terminals"), _words(data, "positions"), _words(data, "events"))


def kind_of(data: Mapping[str, Any]) -> Kind:
    """A kind from its description as plain data, which follows `schemas/kind.schema.json`."""
    poles = data.get("poles")
    contacts = data.get("contacts")
    return Kind(
        name=data["kind"],
        title=data["title"],
        about=data["about"],
        letter=data["letter"],
        group=data["group"],
        fragment=data["fragment"],
        terminals=_words(data, "terminals"),
        optional_terminals=_words(data, "optional_terminals"),
        late_terminals=_words(data, "late_terminals"),
        any_terminal=data.get("any_terminal", False),
        terminals_from=_words(data, "terminals_from"),
        positions=_words(data, "positions"),
        positions_from=data.get("positions_from", ""),
        states=_words(data, "states"),
        events=_words(data, "events"),
        forms=None if contacts is None else {form: tuple(states) for form, states in contacts["forms"].items()},
        poles=None
        if poles is None
        else Poles(_words(poles, "closed_in"), poles.get("always", False), poles.get("needed", False), _words(poles, "fixed")),
        relays=data.get("relays", ""),
        elements=data.get("elements", ""),
        depends={p: {str(v): _variant(d) for v, d in by.items()} for p, by in data.get("depends", {}).items()},
        parameters=parameters_of(data["parameters"]),
        aliases=data.get("aliases", {}),
    )
