"""The steps that everything stands on: uprights on a grid, levels and cores a pitch apart."""

from __future__ import annotations

GRID = 4.0
"""Uprights stand at multiples of this."""
PITCH = 5.0
"""From one lane to the next, and from core to core; heights are multiples of it."""


def up_to(value: float, step: float) -> float:
    """The next multiple of a step."""
    return -(-round(value, 3) // step) * step
