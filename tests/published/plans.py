"""Published circuits as plan texts: a 230 V supply whose return is earthed at the source."""

from __future__ import annotations

from collections.abc import Iterable


def plan(devices: Iterable[str], runs: Iterable[str], mains: str = "phases: 1, voltage: 230 V, earthing: TN") -> str:
    """A plan whose supply is `G0`; a run is its terminals with blanks between. `X0` is the earth bar."""
    lines = [
        "wirecheck: 1",
        "machine: {name: published circuit}",
        "devices:",
        f"  G0: {{kind: mains, {mains}}}",
        "  X0: {kind: earth-bar}",
    ]
    lines += [f"  {device}" for device in devices]
    lines += ["wires:", '  - {number: PE, run: ["G0:PE", "X0:1"]}']
    for number, run in enumerate(runs, 1):
        lines.append(f"  - {{number: {number}, run: [{', '.join(map(repr, run.split()))}]}}".replace("'", '"'))
    return "\n".join(lines) + "\n"


def button(name: str, contact: str = "13-14: NO") -> str:
    """A push-button."""
    return f"{name}: {{kind: push-button, contacts: {{{contact}}}}}"


def relay(name: str, contacts: str, kind: str = "relay", more: str = "") -> str:
    """A relay for 230 V."""
    return f"{name}: {{kind: {kind}, coil: 230 V AC, contacts: {{{contacts}}}{more}}}"


def lamp(name: str) -> str:
    """A lamp for 230 V."""
    return f"{name}: {{kind: lamp, voltage: 230 V AC}}"
