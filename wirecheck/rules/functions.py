"""What the report says of each function: what was tried, what loses it, and what its structure supports at most."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress

from wirecheck.behaviour.faults import EXCLUDED, FAIL_SAFE, Fault
from wirecheck.behaviour.verdicts import SEEN, UNSEEN, Effect, Held
from wirecheck.errors import TooLarge
from wirecheck.facts import Facts


def function_summaries(facts: Facts) -> tuple[Mapping[str, object], ...]:
    """One summary for each function and what it must stop, in the plan's order."""
    by_sneaks: Mapping[str, list[tuple[tuple[Held, ...], Effect]]] = {}
    with suppress(TooLarge):  # then the rule on that says so, and the report is incomplete
        by_sneaks = losses_by_sneaks(facts)
    found = {
        (held.name, held.cause.event, held.must): _summary(held, i, effects, by_sneaks)
        for functions, effects in facts.fault_effects
        for i, held in enumerate(functions)
    }
    return tuple(found[held.name, held.cause.event, held.must] for held in facts.held_functions)


def losses_by_sneaks(facts: Facts) -> Mapping[str, list[tuple[tuple[Held, ...], Effect]]]:
    """By fault what it loses and starts only by what then acts through other loads: in each view the functions and the effect."""
    found: dict[str, list[tuple[tuple[Held, ...], Effect]]] = {}
    for trial, each in facts.fault_sneaks:
        for lets in each:
            effect = lets.certain.effect
            if effect.lost or effect.starts:
                found.setdefault(lets.fault.text, []).append((trial.functions, effect))
    return found


def _summary(
    held: Held, i: int, effects: Iterable[Effect], by_sneaks: Mapping[str, list[tuple[tuple[Held, ...], Effect]]]
) -> Mapping[str, object]:
    faults = [(fault, _verdict(held, fault, effect.verdicts[i], by_sneaks)) for effect in effects for fault in effect.faults]
    taken = [(fault, verdict) for fault, verdict in faults if verdict in (SEEN, UNSEEN)]
    lost = [(fault, verdict) for fault, verdict in taken if fault.kind != EXCLUDED]
    function = held.cause.function
    return {
        "name": held.name,
        "when": str(held.cause.event),
        "must": f"{held.must[0]} {held.must[1]}",
        "stated": bool(function and function.stated),
        "faults_tried": sum(fault.kind != EXCLUDED for fault, _ in faults),
        "lost_by": [fault.text for fault, _ in lost],
        "lost_unseen_by": [fault.text for fault, verdict in lost if verdict == UNSEEN],
        "structure": structure(lost, [fault.text for fault, _ in taken if fault.kind == EXCLUDED]),
        "required": {"category": function.category if function else None, "level": function.level if function else None},
    }


def _verdict(held: Held, fault: Fault, alone: str, by_sneaks: Mapping[str, list[tuple[tuple[Held, ...], Effect]]]) -> str:
    """The verdict on a fault with what then acts through other loads."""
    for functions, effect in by_sneaks.get(fault.text, ()):
        for i in effect.lost:
            if functions[i] is held:
                return effect.verdicts[i]
    return alone


def structure(lost: Iterable[tuple[Fault, str]], rests_on: Sequence[str] = ()) -> str:
    """The highest category that the structure supports, and the fault that stops it there (ISO 13849-1, value from memory)."""
    lost = list(lost)
    for fault, _ in lost:
        if fault.kind in FAIL_SAFE:
            return f"none: {fault.text} takes it away, so it is not fail-safe"
    for fault, verdict in lost:
        if verdict == UNSEEN:
            return f"category 1 at most: {fault.text} takes it away unseen"
    for fault, _ in lost:
        return f"category 2 at most: {fault.text} takes it away, seen at the next start"
    if rests_on:
        return f"category 3 at most, and only as far as this is rightly excluded: {', '.join(rests_on)}"
    return "category 3 at most: no single fault tried takes it away"
