"""What a single fault lets act through other loads: a lost common, a source that is gone; and what follows."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from wirecheck.behaviour.faults import Fault
from wirecheck.behaviour.followed import FollowedFault, Sort
from wirecheck.behaviour.sneaks import GLOWS, UNCERTAIN, Sneak
from wirecheck.behaviour.verdicts import Effect, FaultTrial
from wirecheck.circuit.impedances import Impedance
from wirecheck.errors import TooLarge
from wirecheck.plan.model import Terminal


@dataclass(frozen=True, slots=True)
class Outcome:
    """What follows from sneak paths with a fault: the behaviour, and what it loses and starts that the fault alone does not."""

    followed: FollowedFault
    effect: Effect


@dataclass(frozen=True, slots=True)
class FaultSneaks:
    """What one fault lets act or glow through other loads.

    `certain` is what follows from what acts, or is held in, at its voltage; `doubtful` what follows if all that may act at its
    voltage does, None where that is no more.
    """

    fault: Fault
    sneaks: tuple[Sneak, ...]
    certain: Outcome
    doubtful: Outcome | None


def fault_sneaks(
    trial: FaultTrial, effects: Sequence[Effect], loads: Sequence[Impedance], known: Collection[Sort]
) -> Iterator[FaultSneaks]:
    """The sneak paths that single faults bring about in one view.

    Parameters
    ----------
    trial : FaultTrial
        The trial of the view.
    effects : sequence of Effect
        What the faults do there without sneak paths; none where that was not worked out.
    loads : sequence of Impedance
        All that takes current in the plan.
    known : collection
        The sneak paths of the view without any fault.

    Raises
    ------
    TooLarge
        There are too many different networks around one coil.
    """
    plain = {f.text: effect for effect in effects for f in effect.faults}
    for fault, within in trial.suspects(effects):
        try:
            found = _of(trial, fault, within, loads, known, plain.get(fault.text))
        except TooLarge as large:
            raise TooLarge(f"{large}, with {fault.text}") from large
        if found is not None:
            yield found


def _of(
    trial: FaultTrial,
    fault: Fault,
    within: Mapping[Terminal, int],
    loads: Sequence[Impedance],
    known: Collection[Sort],
    plain: Effect | None,
) -> FaultSneaks | None:
    def follow(uncertain_pulls: bool) -> Outcome:
        followed = FollowedFault(trial.set, fault, within, loads, trial.islands.mixed, known, uncertain_pulls)
        return Outcome(followed, _beyond(trial, fault, followed, plain))

    certain = follow(uncertain_pulls=False)
    sneaks = certain.followed.sneaks
    if not sneaks:
        return None
    doubtful = follow(uncertain_pulls=True) if any(s.verdict == UNCERTAIN for s in sneaks) else None
    if doubtful and not (
        doubtful.effect.lost.keys() - certain.effect.lost or doubtful.effect.starts.keys() - certain.effect.starts
    ):
        doubtful = None
    return FaultSneaks(fault, tuple(sneaks), certain, doubtful)


def _beyond(trial: FaultTrial, fault: Fault, followed: FollowedFault, plain: Effect | None) -> Effect:
    """What is lost and started with the sneak paths followed, without what the fault loses and starts alone."""
    if all(s.verdict == GLOWS for s in followed.sneaks) or not followed.acting.moved:
        return Effect((fault,), ())
    if plain is None:
        model = trial.set.model(fault)
        from_start = trial.set.behaviour(model, from_start=True)
        plain = trial.effect_in(fault, from_start, trial.set.behaviour(model, from_start=False, other=from_start))
    effect = trial.effect_in(fault, followed.from_start, followed.any_time)
    return Effect(
        (fault,),
        effect.verdicts,
        {i: shown for i, shown in effect.lost.items() if i not in plain.lost},
        {motor: shown for motor, shown in effect.starts.items() if motor not in plain.starts},
    )
