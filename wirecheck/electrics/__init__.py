"""The numbers: what windings, motors, drives, conductors and protective devices get, against what they are made for.

Each module of `wirecheck.electrics.calculations` works out some quantities of a plan::

    NUMBERS = ("drive output current",)                       # the names of what it works out, for rules to ask for

    def numbers(plan: Plan, states: States) -> Iterator[Number]: ...

A `Number` carries its value, its limits, the working in words, every input with its place in the plan, and the source of
its limits, so that somebody can follow it with a calculator. A value that the plan does not give makes the number unknown:
it then carries what must be asked, and is never taken as being within its limits. The claim kind `within` judges numbers.

`tables` reads the tables of `rules/tables/`, data with their source and region. `states` is what calculations may ask of
the behaviour, which is worked out elsewhere.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from wirecheck.electrics.number import Input, Missing, Number

if TYPE_CHECKING:
    from wirecheck.electrics.states import States
    from wirecheck.plan.model import Plan

CALCULATIONS: tuple[str, ...] = (
    "winding_voltage",
    "motor_rating",
    "drive_supply",
    "drive_output",
    "motor_protection",
    "speeds",
    "stopping",
    "braking",
    "conductor_current",
    "device_load",
    "conductor_section",
    "voltage_drop",
    "protective_conductor",
    "fault_loop",
    "transformer_protection",
    "coil_voltage",
    "supply_load",
    "contact_current",
    "leakage",
    "cable_voltage",
)
"""The modules of `wirecheck.electrics.calculations`, in the order in which `check --numbers` shows what they work out."""


def numbers_of(plan: Plan, states: States) -> tuple[Number, ...]:
    """All numbers of a plan, known and unknown."""
    modules = (import_module(f"wirecheck.electrics.calculations.{name}") for name in CALCULATIONS)
    return tuple(number for module in modules for number in module.numbers(plan, states))


def known_names() -> frozenset[str]:
    """The names that a rule may ask for."""
    modules = (import_module(f"wirecheck.electrics.calculations.{name}") for name in CALCULATIONS)
    return frozenset(name for module in modules for name in module.NUMBERS)


__all__ = ["CALCULATIONS", "Input", "Missing", "Number", "known_names", "numbers_of"]
