"""What a parameter may be: the small language in which kinds and the plan's own sections describe their keys."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

TYPES = (
    "quantity",
    "word",
    "boolean",
    "integer",
    "number",
    "poles",
    "text",
    "terminal",
    "event",
    "demand",
    "colour",
    "mark",
    "path",
    "position",
    "device",
    "link",
    "list",
    "mapping",
    "table",
    "either",
)
"""What the words mean: `poles` is 4 or 4/2, `terminal` DEVICE:MARK, `event` DEVICE=POSITION, `demand` what a function must bring
about, `path` two marks such as 1-2, `link` two marks or more in a list. A `mapping` has known keys, a `table` free ones.
"""

COLOURS = ("BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ", "GNYE")
"""Colour codes of IEC 60757; a stripe is written `WH/BU`."""


class Parameter(NamedTuple):
    """One key of a device or of another part of a plan.

    Parameters
    ----------
    type : str
        One of `TYPES`.
    units, current : tuple of str, str or None
        Of a quantity: the base units that fit, and AC or DC where only one does.
    words : tuple of str
        Of a word: those that are known.
    meant : mapping of str to str
        Of a word: what some other words are here, to be proposed where one of them stands.
    least, most : float or None
        Bounds of a number, or of the length of a list. A quantity must be above 0 unless `zero`.
    of : Parameter or None
        Of a list or a table: what each item is.
    keys : mapping of str to Parameter
        Of a mapping.
    choices : tuple of Parameter
        Of an either; they differ in shape (scalar, list, mapping), which decides.
    default : tuple of str
        Marks that the device has where the parameter is left out.
    worst : str
        What is assumed where it is left out; empty where its absence has no worst case.
    """

    type: str
    help: str = ""
    needed: bool = False
    units: tuple[str, ...] = ()
    current: str | None = None
    zero: bool = False
    words: tuple[str, ...] = ()
    meant: Mapping[str, str] = {}
    least: float | None = None
    most: float | None = None
    of: Parameter | None = None
    keys: Mapping[str, Parameter] = {}
    choices: tuple[Parameter, ...] = ()
    default: tuple[str, ...] = ()
    worst: str = ""

    @property
    def shape(self) -> str:
        """Whether the value is a scalar, a list or a mapping; empty for an either."""
        if self.type in ("list", "link"):
            return "list"
        if self.type in ("mapping", "table"):
            return "mapping"
        return "" if self.type == "either" else "scalar"

    def describe(self) -> str:
        """What may stand here, in a few words."""
        if self.type == "word":
            return " or ".join(self.words) if len(self.words) < 3 else "one of " + ", ".join(self.words)
        if self.type == "either":
            return ", or ".join(choice.describe() for choice in self.choices)
        if self.type == "list" and self.of is not None:
            return f"a list, each item {self.of.describe()}"
        if self.type == "mapping":
            return f"a mapping with {', '.join(self.keys)}, such as {{{next(iter(self.keys))}: ...}}"
        if self.type == "integer":
            return f"a whole number{_bounds(self)}"
        return f"a number{_bounds(self)}" if self.type == "number" else _DESCRIPTIONS[self.type]


def _bounds(parameter: Parameter) -> str:
    if parameter.least is None:
        return ""
    return f" from {parameter.least:g}" + (f" to {parameter.most:g}" if parameter.most is not None else " up")


_DESCRIPTIONS = {
    "quantity": "a number with its unit",
    "boolean": "true or false",
    "text": "text",
    "terminal": "a terminal, DEVICE:MARK, such as S1:12",
    "event": "an event, DEVICE=POSITION, such as S2=open",
    "demand": "DEVICE stopped, or DEVICE off",
    "poles": "a number of poles such as 4, or 4/2 for two speeds",
    "colour": "a colour code such as BU, or WH/BU with a stripe",
    "mark": "a terminal mark",
    "path": "two terminal marks such as 1-2",
    "position": "a position of the device",
    "device": "a device of this plan",
    "link": "a list of two terminal marks or more",
    "table": "a mapping",
}


def parameter_of(data: Any) -> Parameter:
    """A parameter from its description as plain data (checked by the schema of the kinds, so not again here)."""
    if isinstance(data, str):
        data = {"type": data}
    given = {key: _MADE_OF[key](value) if key in _MADE_OF else value for key, value in data.items() if key != "of"}
    if data["type"] == "either":
        given["choices"] = tuple(map(parameter_of, data["of"]))
    elif "of" in data:
        given["of"] = parameter_of(data["of"])
    return Parameter(**given)


def _words(data: Any) -> tuple[str, ...]:
    return tuple(map(str, data))


def parameters_of(data: Mapping[str, Any]) -> dict[str, Parameter]:
    """All parameters of a mapping of descriptions."""
    return {name: parameter_of(described) for name, described in data.items()}


_MADE_OF: Mapping[str, Callable[[Any], Any]] = {
    "units": tuple,
    "words": _words,
    "default": _words,
    "least": float,
    "most": float,
    "keys": parameters_of,
}
