"""What a single fault lets act through other loads: a lost common, a source that is gone; and what follows."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from wirecheck.behaviour.causes import about_to_stop
from wirecheck.behaviour.faulted import FaultedBehaviour
from wirecheck.behaviour.faults import Fault
from wirecheck.behaviour.followed import FollowedFault, Sort
from wirecheck.behaviour.sneaks import GLOWS, UNCERTAIN, Sneak
from wirecheck.behaviour.space import minus
from wirecheck.behaviour.verdicts import Effect, FaultTrial, Shown, to_reached
from wirecheck.circuit.impedances import Impedance
from wirecheck.errors import TooLarge
from wirecheck.plan.model import Terminal


@dataclass(frozen=True, slots=True)
class Outcome:
    """What follows from sneak paths with a fault: the behaviour, and what it loses and starts that the fault alone does not.

    `kept` has for each motor that it keeps going, where nothing else has been lost, a trace to where it turns though without any
    fault it never does, everything being operated so: a jog that has been let go.
    """

    followed: FollowedFault
    effect: Effect
    kept: Mapping[str, Shown]


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
        followed = FollowedFault(trial.set, fault, within, loads, trial.mixed, known, uncertain_pulls)
        effect = _beyond(trial, fault, followed, plain)
        told = {*effect.starts, *(trial.functions[i].must[0] for i in effect.lost)}
        kept = {motor: shown for motor, shown in _kept(trial, fault, followed).items() if motor not in told}
        return Outcome(followed, effect, kept)

    certain = follow(uncertain_pulls=False)
    sneaks = certain.followed.sneaks
    if not sneaks:
        return None
    doubtful = follow(uncertain_pulls=True) if any(s.verdict == UNCERTAIN for s in sneaks) else None
    return FaultSneaks(fault, tuple(sneaks), certain, doubtful if doubtful and _more(doubtful, certain) else None)


def _more(one: Outcome, other: Outcome) -> bool:
    effect, given = one.effect, other.effect
    return bool(effect.lost.keys() - given.lost or effect.starts.keys() - given.starts or one.kept.keys() - other.kept)


def _kept(trial: FaultTrial, fault: Fault, followed: FollowedFault) -> dict[str, Shown]:
    """The motors that go on where they never turn without a fault, whatever coils and drives remember."""
    model, found = trial.set.model(fault), dict[str, Shown]()
    alone = [trial.set.behaviour(model, from_start) for from_start in (True, False)]
    for motor in trial.healthy.motors if followed.acting.moved else ():
        ever = _however_it_came(trial, trial.healthy.moving(motor) & trial.healthy.reached) | trial.healthy.start_held
        if any(_going(b, motor, ever) for b in alone):
            continue
        for b in (followed.from_start, followed.any_time):
            bad = _going(b, motor, ever)
            depth = b.reach.depth(bad)
            if depth is not None and motor not in found:
                found[motor] = trial.shown(b, depth, partial(to_reached, states=bad))
    return found


def _going(b: FaultedBehaviour, motor: str, ever: int) -> int:
    bad = minus(b.moving(motor) & b.reached, ever)
    return minus(bad, about_to_stop(b, bad, b.moving(motor)))


def _however_it_came(trial: FaultTrial, states: int) -> int:
    """All states in which everything that has positions stands as in one of these."""
    space, devices = trial.healthy.space, trial.healthy.plan.devices
    for variable in space.variables.values():
        if variable.name not in devices or not devices[variable.name].positions:
            for bit in range(variable.low, variable.low + variable.width):
                states |= space.flip(states, [bit])
    return states


def _beyond(trial: FaultTrial, fault: Fault, followed: FollowedFault, plain: Effect | None) -> Effect:
    """What is lost and started with the sneak paths followed, without what the fault loses and starts alone."""
    if all(s.verdict == GLOWS for s in followed.sneaks) or not followed.acting.moved:
        return Effect((fault,), ())
    if plain is None:
        model = trial.set.model(fault)
        from_start = trial.set.behaviour(model, from_start=True)
        plain = trial.effect_in(fault, from_start, trial.set.behaviour(model, from_start=False, other=from_start))
    effect = trial.effect_in(fault, followed.from_start, followed.any_time)
    return replace(
        effect,
        lost={i: shown for i, shown in effect.lost.items() if i not in plain.lost},
        starts={motor: shown for motor, shown in effect.starts.items() if motor not in plain.starts},
    )
