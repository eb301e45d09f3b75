"""Hand-made findings on any plan, for the drawings' tests."""

from __future__ import annotations

from wirecheck.findings import Finding, Spot


def finding(severity: str, message: str, devices: tuple[str, ...] = (), wires: tuple[str, ...] = ()) -> Finding:
    """A finding with only what a drawing shows of it."""
    return Finding("some-rule", severity, message, "why", "remedy", Spot("plan.yaml", 1, 1), devices, wires)
