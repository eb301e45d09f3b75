"""One behaviour for the whole plan, or for a large plan several that each tell of a part of it."""

from __future__ import annotations

from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.plan.model import Plan


def views_of(plan: Plan) -> tuple[Behaviour, ...]:
    """The views that together tell of every device of the plan."""
    return (Behaviour(plan),)
