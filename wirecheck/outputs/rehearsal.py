"""A rehearsal as text and as JSON: after each event what moved, what is live, which coils are in, what the motors do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecheck.behaviour.rehearsal import REST, Played
from wirecheck.circuit.elements import has_coil
from wirecheck.findings import NOTICE
from wirecheck.outputs.json import dump
from wirecheck.outputs.text import WIDTH_LEAST, WIDTH_MOST, Page
from wirecheck.plan.model import Plan

SMALL_V = 1.0
"""The voltage over something that does not act is told from 1 V on."""


def render_rehearsal_json(plan: str, steps: Sequence[Played]) -> str:
    """The steps as a JSON object."""
    return dump({"wirecheck": 1, "plan": plan, "steps": [_step(step) for step in steps], "notice": NOTICE})


def _step(step: Played) -> dict[str, object]:
    return {
        "event": step.event,
        "outcomes": step.outcomes,
        "moved": list(step.moved),
        "changes": list(step.changes),
        "live": list(step.live),
        "energised": [*step.coils, *step.loads],
        "motion": dict(step.motion),
        "volts": dict(step.volts),
        "notes": list(step.notes),
    }


def render_rehearsal_text(plan: Plan, steps: Sequence[Played], colour: bool = False, width: int = 100) -> str:
    """The steps for a machinist: a block for each, what moved first, what the motors do last."""
    page = Page(max(WIDTH_LEAST, min(width, WIDTH_MOST)), colour)
    page.paragraph(f"{plan.file}: played from rest, with the supply off and nothing touched.", "strong")
    number = 0
    for step in steps:
        number += step.event != REST and not step.fault and not step.again
        page.blank()
        label = "" if step.event == REST else "fault" if step.fault else str(number)
        page.labelled(label, f"{step.event}{_title(plan, step)}", "danger" if step.fault else "strong")
        for margin, line in _lines(plan, step):
            page.labelled(margin, line)
    page.blank()
    page.paragraph(NOTICE, "strong")
    return "\n".join(page.lines) + "\n"


def _title(plan: Plan, step: Played) -> str:
    """What the device is that is operated: its title, or its kind with what it is for; and what its position means."""
    name, _, position = step.event.partition("=")
    device = plan.devices.get(name)
    if device is None or step.fault:
        return ""
    about = device.values.get("guards")
    words = device.title or f"{device.role or ''} {device.kind}{f' of {about}' if about else ''}".replace("-", " ").strip()
    return f"   ({', '.join(part for part in (words, device.meaning(position)) if part)})"


def _lines(plan: Plan, step: Played) -> Iterator[tuple[str, str]]:
    if step.event != REST:
        yield "moves", "; ".join(_together(step.changes)) or "nothing"
    yield "live", ", ".join(step.live) or "nothing"
    if any(has_coil(device) for device in plan.devices.values()):
        yield "coils in", ", ".join(step.coils) or "none"
    if step.loads:
        yield "on", ", ".join(step.loads)
    idle = [name for name in step.volts if not _acts(plan, step, name) and step.volts[name] >= SMALL_V]
    idle = [name for name in idle if not step.restless or name not in step.moved]
    if idle:
        yield "volts", f"{', '.join(f'{name} {step.volts[name]:.1f} V' for name in idle)}, without acting"
    still = [name for name, how in step.motion.items() if how == "stopped" and _keeps(step, name)]
    for name, how in step.motion.items():
        if name not in still:
            yield "motor", _motor(step, name, how)
    if still:
        yield "motor" if len(still) == 1 else "motors", f"{', '.join(still)} stand{'s' if len(still) == 1 else ''} still"
    for note in step.notes:
        yield "note", note


def _together(changes: Sequence[str]) -> Iterator[str]:
    """What several devices do alike in one sentence: `K1, K2 drop out`."""
    alike: dict[str, list[str]] = {}
    for change in changes:
        name, _, does = change.partition(" ")
        alike.setdefault(does, []).append(name)
    for does, names in alike.items():
        verb, _, rest = does.partition(" ")
        plural = {"is": "are", "has": "have", "goes": "go"}.get(verb, verb.removesuffix("s"))
        yield f"{', '.join(names)} {does if len(names) == 1 else f'{plural} {rest}'.strip()}"


def _acts(plan: Plan, step: Played, name: str) -> bool:
    """Whether a voltage needs no word: it makes something act, or is that of a winding or of a source's input."""
    return name in (*step.coils, *step.loads) or plan.devices[name.partition(":")[0]].kind in ("motor", "transformer")


def _keeps(step: Played, motor: str) -> bool:
    """Whether a motor did before the step what it does after it, whichever way it came to it."""
    return all(motion[motor] == step.motion[motor] for motion in step.before)


def _motor(step: Played, name: str, how: str) -> str:
    if step.restless and how != "stopped":
        return f"{name} runs {how} on and off"
    if how == "stopped":
        return f"{name} stops"
    return f"{name} {'keeps running' if _keeps(step, name) else 'runs'} {how}, {_windings(step, name)}"


def _windings(step: Played, motor: str) -> str:
    """The voltages on the windings, in one number where they are the same."""
    volts = {name.partition(":")[2]: v for name, v in step.volts.items() if name.startswith(f"{motor}:")}
    fed = {name: v for name, v in volts.items() if v >= SMALL_V}
    if len(fed) < len(volts) or max(fed.values()) - min(fed.values()) > SMALL_V:
        return ", ".join(f"{v:.0f} V on {name}" for name, v in volts.items())
    return f"{max(fed.values()):.0f} V on each winding"
