"""No single fault of the kinds listed loses a function (`part: stop`) or begins motion (`part: start`)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from wirecheck.behaviour.faults import Fault
from wirecheck.behaviour.verdicts import Held, Shown
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Device
from wirecheck.rules.happenings import named, stopper
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import fault_evidence, live_poles, shorted_at, told_event

KINDS = ["wire open", "stuck open", "welded", "coil open", "stuck in", "earthed", "shorted", "source lost", "input stuck"]
CONDITIONS = {
    "required": ["faults", "part"],
    "properties": {
        "faults": {"description": "The classes of single fault.", "type": "array", "minItems": 1, "items": {"enum": KINDS}},
        "part": {
            "description": "stop: no stop, emergency stop or guard is lost. start: nothing starts by itself.",
            "enum": ["stop", "start"],
        },
    },
}
WORDS = frozenset({"function", "device", "motor", "stopper", "stopped", "fault", "also", "others", "advice"})


class Bad(NamedTuple):
    """What one group of alike faults does to one function or motor."""

    faults: tuple[Fault, ...]
    shown: Shown


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each function lost, or each motor begun; all faults that do it are named."""
    kinds = {str(kind) for kind in rule.claim["faults"]}  # type: ignore[attr-defined]
    part = _lost if rule.claim["part"] == "stop" else _begun
    found: list[Finding | Proof] = list(part(rule, facts, kinds))
    tried = [f for _, effects in facts.fault_effects for e in effects for f in e.faults if f.kind in kinds]
    states = sum(b.reached.bit_count() for b in facts.views)
    yield from found or [rule.proof(states, faults=len(tried), condition_reached=bool(tried))]


def _of_kinds(faults: tuple[Fault, ...], kinds: set[str]) -> tuple[Fault, ...]:
    return tuple(f for f in faults if f.kind in kinds)


def _lost(rule: Rule, facts: Facts, kinds: set[str]) -> Iterator[Finding]:
    for functions, effects in facts.fault_effects:
        for i, held in enumerate(functions):
            bad = [Bad(faults, e.lost[i]) for e in effects if i in e.lost and (faults := _of_kinds(e.faults, kinds))]
            if bad:
                yield finding(rule, facts, bad, held.must[0], held)


def _begun(rule: Rule, facts: Facts, kinds: set[str]) -> Iterator[Finding]:
    for motor in facts.of_kind("motor"):
        all_effects = [e for _, effects in facts.fault_effects for e in effects]
        bad = [
            Bad(faults, e.starts[motor.name])
            for e in all_effects
            if motor.name in e.starts and (faults := _of_kinds(e.faults, kinds))
        ]
        if bad:
            yield finding(rule, facts, bad, motor.name, None)


def finding(rule: Rule, facts: Facts, bad: list[Bad], motor: str, held: Held | None, severity: str | None = None) -> Finding:
    """One finding for all faults that do the same: the shortest trace is shown, of one fault."""
    worst = min(bad, key=lambda b: b.shown.rank)
    fault, faults = worst.faults[0], [f for b in bad for f in b.faults]
    others = list(dict.fromkeys(f.text for f in faults if f is not fault))
    device = held.cause.device if held else None
    spot = device.spot if device else facts.plan.devices[motor].spot
    names = [f.devices for f in (fault, *faults)]
    return rule.finding(
        spot,
        devices=tuple(dict.fromkeys((*((device.name,) if device else ()), *(d for group in names for d in group), motor))),
        wires=tuple(dict.fromkeys(w for f in (fault, *faults) for w in f.wires)),
        evidence=fault_evidence(worst.shown, fault)._replace(cases=_cases(fault, worst.shown, motor, held)),
        severity=severity,
        function=held.name if held else "",
        device=named(device) if device else "",
        motor=facts.plan.devices[motor].label(),
        stopper=stopper(device, held.cause.event.position) if device and held else "",
        stopped="itself" if device and device.name == motor else facts.plan.devices[motor].label(),
        fault=fault.text,
        also=also(others),
        advice=_advice(worst, facts.plan.devices[motor]),
        others=f" or one of {len(others)} other faults" if len(others) > 1 else f" or {others[0]}" if others else "",
    )


def _advice(bad: Bad, motor: Device) -> str:
    """What to do about an earthed conductor: where it takes a supply away for a time, the supply's return is earthed already."""
    b, fault = bad.shown.behaviour, bad.faults[0]
    *states, last = (number for _, number in bad.shown.path.after) if fault.kind == "earthed" else (0,)
    for source in (s for number in states for s in shorted_at(b, number) if s not in shorted_at(b, last)):
        what = f"what hangs on wire {fault.wires[0]}" if fault.wires else "the circuit that touches"
        return (
            f"Feed {what} from elsewhere, or through a fuse of its own that is small enough to blow first: touching metal it "
            f"shorts {live_poles(source)}, and when the voltage comes back, a command that still stands counts as a fresh one."
        )
    return (
        "Join the return of the control supply, the side straight at the coils, to the earth bar at one point; put the fuse and "
        f"every contact that lets {motor.label()} run on the other side. Then such a touch blows the fuse and the machine stops."
    )


WHOLE = {"wire open": "whole", "earthed": "clear of metal", "source lost": "there"}
FAILED = {"wire open": "broken", "earthed": "touching metal", "source lost": "gone"}


def _cases(fault: Fault, shown: Shown, motor: str, held: Held | None) -> dict[str, str]:
    """What happens without the fault and with it: the same event, two outcomes."""
    b, (last, _) = shown.behaviour, shown.path.after[-1]
    event = f"{told_event(b, last.event)}, and " if last else ""
    what = fault.text.rpartition(" ")[0]
    whole = f"{what} {WHOLE[fault.kind]}" if fault.kind in WHOLE else "all in order"
    failed = f"{what} {FAILED[fault.kind]}" if fault.kind in FAILED else fault.text
    if held and last and last.event == held.cause.event:
        return {whole: f"{event}{motor} stops", failed: f"{event}{motor} goes on"}
    return {whole: f"{event}{motor} stays still", failed: f"{event}{motor} starts"}


def also(others: list[str]) -> str:
    """The other faults that do the same, as a sentence."""
    if not others:
        return ""
    shown = others if len(others) < 6 else [*others[:4], f"{len(others) - 4} more"]
    if any(", then " in other for other in others):
        return f" The same with {'; '.join(shown)}."
    return f" The same with {join_words(shown)}."
