"""A computed quantity with its limits and its working, or with what is missing to compute it."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from wirecheck.findings import Spot


def always() -> tuple[str, ...]:
    """The way to what is so in every state: there is none to show."""
    return ()


PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"))
WITHOUT_PREFIX = frozenset({"mm2", "rpm", "%", ""})
ROUNDING = 1e-9
"""Relative slack of a comparison: a value that is its limit but for the dust of binary fractions is within it."""


class Input(NamedTuple):
    """What a number was computed from. `at` is the plan's line, None for what is not in the plan.

    `basis` says how it is known: `stated` in the plan, `computed` by another number, `table`, `assumed` (a worst case for
    what is not stated) or `estimated` (where only the manual would know).
    """

    what: str
    text: str
    at: Spot | None = None
    basis: str = "stated"


class Missing(NamedTuple):
    """What would have to be known: the field as the plan would write it, where it belongs, and what it decides.

    `field` is `M1 current.delta`, `at` the device (or cable), `decides` ends a sentence that begins `It decides`.
    """

    field: str
    at: Spot
    decides: str


class Number(NamedTuple):
    """A computed quantity of a device, cable or wire.

    Attributes
    ----------
    name : str
        What it is, the same for all devices: `conductor current`. One of the `NUMBERS` of its module.
    device : str
        The designation of what it belongs to: a device, a cable or, as `wire 12`, a wire.
    at : Spot
        Where a reader of the plan looks first.
    value : float or None
        In SI base units (V, A, W, VA, mm2, m, ohm, Hz, rpm, s, F, %); None where something is missing.
    unit : str
        The unit of value and limits.
    low, high : float or None
        The limits, None where there is none on that side.
    working : str
        The formula in words with its figures filled in, to be followed with a calculator.
    inputs : tuple of Input
        All that it was computed from.
    source : str
        Where the limits come from: body, edition, clause; or `common practice`. Ends in ` (value from memory)` where so.
    case : str
        In which state it is so, as `running forward in star`; empty where it is always so.
    devices, wires : tuple of str
        All that take part, for the finding.
    events : function without arguments
        Finds the shortest way to the state in which it is so, where that matters. It takes a while: only what is shown is found.
    missing : tuple of Missing
        What to ask where the value or its limits are unknown.
    advice : str
        What would bring it within its limits, concretely, where the calculation knows; a sentence.
    effect : str
        What follows while it is outside of them, where that hangs on the case; a sentence.
    """

    name: str
    device: str
    at: Spot
    value: float | None
    unit: str
    low: float | None = None
    high: float | None = None
    working: str = ""
    inputs: tuple[Input, ...] = ()
    source: str = ""
    case: str = ""
    devices: tuple[str, ...] = ()
    wires: tuple[str, ...] = ()
    events: Callable[[], tuple[str, ...]] = always
    missing: tuple[Missing, ...] = ()
    advice: str = ""
    effect: str = ""

    @property
    def too_high(self) -> bool:
        """Above its upper limit; False where that is not known."""
        return self.value is not None and self.high is not None and self.value > self.high * (1 + ROUNDING)

    @property
    def too_low(self) -> bool:
        """Below its lower limit; False where that is not known."""
        return self.value is not None and self.low is not None and self.value < self.low * (1 - ROUNDING)

    @property
    def unknown(self) -> bool:
        """Something is missing, so that nobody can tell whether it is within its limits."""
        return bool(self.missing)

    @property
    def uncertain(self) -> tuple[str, ...]:
        """The inputs that are no figures of the plan: assumed worst cases and estimates, in words."""
        return tuple(f"{i.what} {i.text} ({i.basis})" for i in self.inputs if i.basis in ("assumed", "estimated"))

    def value_text(self) -> str:
        """The value with its unit: `4.5 A`, or `not known`."""
        return "not known" if self.value is None else in_words(self.value, self.unit)

    def limit_text(self) -> str:
        """The limits with their unit: `207-253 V`, `at most 16 A`, `at least 20.4 V`, or nothing."""
        if self.low is not None and self.high is not None:
            if in_words(self.low, self.unit) == in_words(self.high, self.unit):
                return in_words(self.high, self.unit)
            return f"{figure(self.low)}-{figure(self.high)} {self.unit}".rstrip()
        if self.high is not None:
            return f"at most {in_words(self.high, self.unit)}"
        return "" if self.low is None else f"at least {in_words(self.low, self.unit)}"


def figure(value: float) -> str:
    """A number to three places that count, without needless zeros; whole numbers in full.

    >>> figure(132.79), figure(4.5), figure(1420.0), figure(0.02345)
    ('133', '4.5', '1420', '0.0235')
    """
    if abs(value) >= 100:
        return f"{value:.0f}"
    return f"{float(f'{value:.3g}'):.12g}"


def in_words(value: float, unit: str) -> str:
    """A quantity with a prefix that fits.

    >>> in_words(0.0035, "A"), in_words(1100, "W"), in_words(2.5, "mm2"), in_words(0, "V")
    ('3.5 mA', '1.1 kW', '2.5 mm2', '0 V')
    """
    if unit in WITHOUT_PREFIX or value == 0:
        return f"{figure(value)} {unit}".rstrip()
    factor, prefix = next((p for p in PREFIXES if abs(value) >= p[0] * 0.9995), PREFIXES[-1])
    return f"{figure(value / factor)} {prefix}{unit}"
