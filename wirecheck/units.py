"""Quantities as a plan writes them: a number or a range, a prefix, a unit, and AC or DC where it matters."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

_MICRO = {"µ": 1e-6, "μ": 1e-6, "u": 1e-6}
_USUAL = {"": 1.0, "m": 1e-3, "k": 1e3, "M": 1e6}
_SMALL = _USUAL | _MICRO
_NONE = {"": 1.0}

UNITS: dict[str, tuple[tuple[str, ...], dict[str, float]]] = {
    "V": (("V",), _USUAL),
    "A": (("A",), _SMALL),
    "W": (("W",), _USUAL),
    "VA": (("VA",), _USUAL),
    "mm2": (("mm2", "mm²"), _NONE),
    "m": (("m",), _USUAL),
    "ohm": (("ohm", "Ω", "\u2126"), _USUAL),
    "Hz": (("Hz",), _USUAL),
    "rpm": (("rpm",), _NONE),
    "s": (("s",), _USUAL),
    "F": (("F",), _SMALL | {"n": 1e-9, "p": 1e-12}),
    "degC": (("°C", "degC"), _NONE),
}
"""For every unit the ways to write it and the prefixes that it takes."""

_USED = {
    "V": ("V", "mV", "kV"),
    "A": ("A", "mA", "kA"),
    "W": ("W", "kW"),
    "VA": ("VA", "kVA"),
    "mm2": ("mm2",),
    "m": ("m",),
    "ohm": ("ohm", "kohm", "Mohm"),
    "Hz": ("Hz", "kHz"),
    "rpm": ("rpm",),
    "s": ("s", "ms"),
    "F": ("uF", "nF"),
    "degC": ("°C",),
}
"""The spellings that a message names; all of `UNITS` are read."""

_EXAMPLES = {
    "V": "230 V",
    "A": "16 A",
    "W": "1.1 kW",
    "VA": "100 VA",
    "mm2": "0.75 mm2",
    "m": "3 m",
    "ohm": "120 ohm",
    "Hz": "50 Hz",
    "rpm": "1400 rpm",
    "s": "2 s",
    "F": "10 uF",
    "degC": "45 °C",
}

_SPELLINGS = {
    prefix + spelling: (unit, factor)
    for unit, (ways, factors) in UNITS.items()
    for spelling in ways
    for prefix, factor in factors.items()
}
_NUMBER = r"[0-9]{1,12}(?:\.[0-9]{1,12})?"
_PLAIN_NUMBER = r"[0-9]{1,12}(\.[0-9]{1,12})?"
_PATTERN = re.compile(rf"({_NUMBER})(?:\s*[-–]\s*({_NUMBER}))?\s*([^\s0-9.,+-][^\s]*)?(?:\s+(\S+))?")
_AWG = re.compile(r"(?:([0-9]{1,2})|([1-4])/0)\s*AWG")


class Reading(NamedTuple):
    """A quantity in base units: lower end, upper end of a range, unit, and AC or DC where the text says so."""

    value: float
    high: float | None
    unit: str
    current: str | None


class UnitError(ValueError):
    """Text that is no quantity of the wanted kind. The message is for the user; `expected` says what would fit."""

    def __init__(self, message: str, expected: str) -> None:
        self.expected = expected
        super().__init__(message)


def fitting(units: Sequence[str], current: str | None = None) -> str:
    """What to write, in words: `a number with its unit (V, mV or kV), such as 230 V`."""
    ways = [way for unit in units for way in _USED[unit]]
    listed = ways[0] if len(ways) == 1 else f"{', '.join(ways[:-1])} or {ways[-1]}"
    return f"a number with its unit ({listed}), such as {_EXAMPLES[units[0]]}{f' {current}' if current else ''}"


def quantity_pattern(units: Sequence[str], current: str | None = None, awg: bool = False) -> str:
    """A regular expression, in the common part of Python's and JavaScript's, that fits what `read_quantity` takes."""
    ways = sorted({re.escape(s) for s, (unit, _) in _SPELLINGS.items() if unit in units}, key=lambda s: (len(s), s))
    kinds = f"(\\s+{current or '(AC|DC)'})?" if {"V", "A"} & set(units) else ""
    quantity = f"{_PLAIN_NUMBER}(\\s*[-–]\\s*{_PLAIN_NUMBER})?\\s*({'|'.join(ways)}){kinds}"
    return f"{quantity}|([0-9]{{1,2}}|[1-4]/0)\\s*AWG" if awg else quantity


def read_quantity(text: str, units: Sequence[str], current: str | None = None, awg: bool = False) -> Reading:
    """Read a quantity that must be in one of `units`.

    Parameters
    ----------
    text : str
        What stands in the plan, `200-240 V`.
    units : sequence of str
        The base units that fit, keys of `UNITS`.
    current : "AC" or "DC", optional
        What the quantity must be where the text says AC or DC.
    awg : bool
        Whether a size may be given as `14 AWG`.

    Raises
    ------
    UnitError
        The number, the unit, the range or the current does not fit.

    Examples
    --------
    >>> read_quantity("24 V DC", ["V"])
    Reading(value=24.0, high=None, unit='V', current='DC')
    >>> read_quantity("200-240 V", ["V"]).high
    240.0
    """
    expected = fitting(units, current)
    if text.endswith("AWG") and "mm2" in units:
        return _read_awg(text, awg, expected)
    match = _PATTERN.fullmatch(text.strip())
    if match is None:
        raise UnitError(_no_quantity(text), expected)
    low, high, written, kind = match.groups()
    if written is None:
        raise UnitError(f"`{text}` has no unit", expected)
    unit, factor = _unit(text, written, expected)
    if unit not in units:
        raise UnitError(f"`{text}` has the unit {written}, which does not fit here", expected)
    _check_current(text, unit, kind, current, expected)
    value, upper = _scaled(low, factor), _scaled(high, factor) if high else None
    if upper is not None and upper < value:
        raise UnitError(f"the range `{text}` ends below its beginning", expected)
    return Reading(value, upper, unit, kind)


def _scaled(number: str, factor: float) -> float:
    """A number times its prefix, free of the dust of binary fractions (0.1 m is 0.0001, not 0.00010000000000000002)."""
    return float(f"{float(number) * factor:.12g}")


def _unit(text: str, written: str, expected: str) -> tuple[str, float]:
    known = _SPELLINGS.get(written)
    if known is None:
        glued = next((kind for kind in ("AC", "DC") if written.endswith(kind) and written[:-2] in _SPELLINGS), None)
        hint = f": write a space before {glued}" if glued else ""
        raise UnitError(f"`{text}` has the unit `{written}`, which is not known{hint}", expected)
    return known


def _check_current(text: str, unit: str, kind: str | None, current: str | None, expected: str) -> None:
    if kind is None:
        return
    if kind not in ("AC", "DC") or unit not in ("V", "A"):
        raise UnitError(f"`{text}` has `{kind}` after its unit, where only AC or DC can stand after V or A", expected)
    if current is not None and kind != current:
        raise UnitError(f"`{text}` is {kind}, where only {current} fits", expected)


def _no_quantity(text: str) -> str:
    if re.match(r"[0-9]+,[0-9]", text):
        return f"`{text}` has a comma: write a decimal point"
    if text.lstrip().startswith("-"):
        return f"`{text}` is below nothing"
    return f"`{text}` is not a quantity"


def _read_awg(text: str, allowed: bool, expected: str) -> Reading:
    """An American wire gauge as an area: each gauge down is 92 to the power of 1/39 in diameter (ASTM B258)."""
    match = _AWG.fullmatch(text.strip())
    if match is None:
        raise UnitError(f"`{text}` is not a wire gauge", "a gauge such as 14 AWG or 1/0 AWG")
    if not allowed:
        raise UnitError(f"`{text}` is a wire gauge, which is read only where machine.region is NA", expected)
    gauge = int(match[1]) if match[1] else 1 - int(match[2])
    diameter_mm = 0.127 * 92 ** ((36 - gauge) / 39)
    return Reading(round(3.141592653589793 / 4 * diameter_mm**2, 4), None, "mm2", None)
