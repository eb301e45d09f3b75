"""A plan's text becomes frozen records, or the list of everything that is wrong with it."""

from wirecheck.plan.reader import decode_plan, read_plan, read_plan_text

__all__ = ["decode_plan", "read_plan", "read_plan_text"]
