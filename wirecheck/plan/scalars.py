"""Reads single words of a plan: quantities, known words, booleans, numbers, colours, marks."""

from __future__ import annotations

import re
from collections.abc import Callable

from wirecheck.errors import nearest_word
from wirecheck.kinds import COLOURS, Parameter
from wirecheck.nodes import Node
from wirecheck.plan.model import Quantity
from wirecheck.units import UnitError, fitting, read_quantity

LONGEST_NAME = 64
FREE = ("text", "terminal", "event", "demand")
"""Types whose words are taken as they are; what they refer to is looked at where it is known."""

_WHOLE = re.compile("0|[1-9][0-9]{0,8}")
_DECIMAL = re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?")
_NAME = re.compile(r"[^\s:=,\[\]{}\"'`]+")


class Misfit(Exception):
    """A word that does not fit its parameter: the message for the user, what would fit, and the nearest known word."""

    def __init__(self, message: str, expected: str, nearest: str = "") -> None:
        self.message, self.expected, self.nearest = message, expected, nearest
        super().__init__(message)


def is_name(text: str) -> bool:
    """Whether a text can name a device, a mark or a position."""
    return len(text) <= LONGEST_NAME and text.isprintable() and _NAME.fullmatch(text) is not None


def split_path(text: str) -> tuple[str, ...]:
    """The marks in a contact's name: `11-12`, `21-22-24`; empty where it is not such a name.

    >>> split_path("21-22-24")
    ('21', '22', '24')
    """
    marks = tuple(text.split("-"))
    return marks if len(marks) > 1 and all(map(is_name, marks)) else ()


def expected_of(parameter: Parameter) -> str:
    """What may stand at a parameter, in words."""
    if parameter.type == "quantity":
        return fitting(parameter.units, parameter.current)
    return " or ".join(map(expected_of, parameter.choices)) if parameter.choices else parameter.describe()


def read_scalar(node: Node, parameter: Parameter, awg: bool = False) -> object:
    """The value of a word as its parameter says; Misfit where it is none."""
    if parameter.type == "quantity":
        return _quantity(node, parameter, awg)
    if parameter.type in FREE:
        return node.text
    return _READERS[parameter.type](node, parameter)


def _quantity(node: Node, parameter: Parameter, awg: bool) -> Quantity:
    try:
        read = read_quantity(node.text, parameter.units, parameter.current, awg)
    except UnitError as bad:
        raise Misfit(str(bad), bad.expected) from None
    if read.value == 0 and not parameter.zero:
        raise Misfit(f"`{node.text}` must be more than nothing", expected_of(parameter))
    return Quantity(read.value, read.unit, node.text, read.high, read.current)


def _stands(node: Node, parameter: Parameter) -> Misfit:
    quoted = " in quotes" if not node.plain and parameter.type in ("boolean", "integer", "number") else ""
    return Misfit(f"{node.what()}{quoted} stands here", parameter.describe())


def _word(node: Node, parameter: Parameter) -> str:
    if node.text in parameter.words:
        return node.text
    meant = parameter.meant.get(node.text.casefold()) or nearest_word(node.text, parameter.words)
    raise Misfit(f"`{node.text}` is not known", parameter.describe(), meant)


def _boolean(node: Node, parameter: Parameter) -> bool:
    if node.is_boolean:
        return node.text == "true"
    raise _stands(node, parameter)


def _number(node: Node, parameter: Parameter) -> float:
    pattern, make = (_WHOLE, int) if parameter.type == "integer" else (_DECIMAL, float)
    if node.plain and pattern.fullmatch(node.text):
        number: float = make(node.text)
        if (parameter.least is None or number >= parameter.least) and (parameter.most is None or number <= parameter.most):
            return number
    raise _stands(node, parameter)


def _poles(node: Node, parameter: Parameter) -> int | str:
    counts = node.text.split("/")
    if len(counts) > 2 or not all(_WHOLE.fullmatch(n) and int(n) in range(2, 200, 2) for n in counts):
        raise _stands(node, parameter)
    return node.text if len(counts) == 2 else int(node.text)


def _colour(node: Node, _parameter: Parameter) -> str:
    parts = node.text.split("/")
    wrong = [part for part in parts if part not in COLOURS]
    if not wrong and len(parts) < 3:
        return node.text
    codes = f"one of {', '.join(COLOURS)}, or two such as WH/BU for a stripe"
    raise Misfit(f"`{node.text}` is not a colour code", codes, nearest_word(wrong[0], COLOURS) if wrong else "")


def _name(node: Node, parameter: Parameter) -> str:
    if is_name(node.text):
        return node.text
    raise _stands(node, parameter)


def _path(node: Node, parameter: Parameter) -> str:
    marks = split_path(node.text)
    if len(marks) == 2 and marks[0] != marks[1]:
        return node.text
    raise _stands(node, parameter)


_READERS: dict[str, Callable[[Node, Parameter], object]] = {
    "word": _word,
    "boolean": _boolean,
    "integer": _number,
    "number": _number,
    "poles": _poles,
    "colour": _colour,
    "mark": _name,
    "position": _name,
    "device": _name,
    "path": _path,
}
