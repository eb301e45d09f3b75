"""Values of a plan as inputs of a calculation: the quantity together with its words and its line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from wirecheck.electrics.number import Input, Missing
from wirecheck.plan.model import Device, Machine, Quantity


class Given(NamedTuple):
    """A quantity that a plan states of a device, and the same as an input."""

    value: float
    high: float
    quantity: Quantity
    input: Input


def given(device: Device | Machine, path: str, words: str = "") -> Given | None:
    """The quantity at a dotted path of the values of a device or the machine, `output.current`; None where it is not stated.

    `words` names it in the input, by default the path with spaces: `T1 output current`.
    """
    here: object = device.values
    for key in path.split("."):
        here = here.get(key) if isinstance(here, Mapping) else None
    if not isinstance(here, Quantity):
        return None
    at = device.lines.get(path, device.spot)
    what = f"{_called(device)} {words or path.replace('.', ' ').replace('_', ' ')}"
    return Given(here.value, here.value if here.high is None else here.high, here, Input(what, here.text, at))


def _called(device: Device | Machine) -> str:
    return "machine" if isinstance(device, Machine) else device.name


def missing(device: Device | Machine, path: str, decides: str) -> Missing:
    """The question for what `given` did not find."""
    return Missing(f"{_called(device)} {path}", device.lines.get(path.rpartition(".")[0], device.spot), decides)
