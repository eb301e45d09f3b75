"""The same question to the engine and to a SAT solver, for every fault of one zone: is the emergency stop lost, and how soon?

Both are asked for the least number of events, at most `EVENTS`, that lead from rest to a state in which the emergency stop is
pressed and a contactor of the motor is in, with the fault there from the start. The solver gets the encoding that the tests hold
the engine against, anew for each fault; most of its time goes into stating the question. Of the plan and of the faults both get
what that encoding knows: no mechanical interlock, wires open and contacts of the control circuit stuck. The engine's time has
the healthy plan in it; it looks at runs of any length, the solver only at those of `EVENTS` events.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from time import process_time
from typing import NamedTuple

from tests.generators.zone_line import zone_line
from tests.oracles.sat_encoding import BoundedReach
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faulted import FaultSet
from wirecheck.behaviour.faults import Fault, single_faults
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Contact, Device, Plan

EVENTS = 4
"""Supply on, isolator on, a start button, the emergency stop: where it can be lost it is lost with these."""

STOP, CONTACTORS = "S101", ("Q102", "Q103")


class Compared(NamedTuple):
    """How long each took for all faults tried, in seconds of the processor: the solver with its encoding, and solving alone."""

    faults: int
    engine_s: float
    encoded_s: float
    solved_s: float


def one_zone() -> Plan:
    """A line of one zone without the mechanical interlock."""
    plan = read_plan_text(zone_line(1), "one zone")
    devices = {
        name: replace(d, values={k: v for k, v in d.values.items() if k != "mechanical_interlock"})
        for name, d in plan.devices.items()
    }
    return replace(plan, devices=devices)


def faults_of(plan: Plan) -> list[Fault]:
    """The faults that both can be asked about."""
    poles = {str(c) for d in plan.devices.values() for c in d.contacts if c.pole}
    stuck = ("stuck open", "welded")
    return [f for f in single_faults(plan) if f.kind == "wire open" or (f.kind in stuck and not poles & (f.opened | f.closed))]


def with_fault(plan: Plan, fault: Fault) -> Plan:
    """The plan with a fault built into it, for the encoding that knows of none."""
    wires = tuple(w for w in plan.wires if ("wire", str(w.index)) not in fault.removed)
    devices = {name: replace(d, contacts=tuple(_stuck(d, c, fault) for c in d.contacts)) for name, d in plan.devices.items()}
    return replace(plan, wires=wires, devices=devices)


def _stuck(device: Device, contact: Contact, fault: Fault) -> Contact:
    if str(contact) in fault.closed:
        return contact._replace(closed_in=frozenset(device.positions or ("out", "in")))
    return contact._replace(closed_in=frozenset()) if str(contact) in fault.opened else contact


def engine_answers(plan: Plan, faults: list[Fault]) -> Iterator[int | None]:
    """For each fault after how many events the emergency stop is lost, by the engine."""
    healthy = Behaviour(plan)
    trial = FaultSet(healthy)
    for fault in faults:
        b = trial.behaviour(trial.model(fault), from_start=True)
        bad = b.reached & b.at(STOP, "pressed") & (b.within(CONTACTORS[0]) | b.within(CONTACTORS[1]))
        yield b.reach.depth(bad) if bad else None


def compare(each: int = 1) -> Compared:
    """Ask both about each one of so many faults; AssertionError where they do not agree."""
    plan = one_zone()
    faults = faults_of(plan)[::each]
    began = process_time()
    answers = list(engine_answers(plan, faults))
    engine_s = process_time() - began
    encoded_s = solved_s = 0.0
    for fault, answer in zip(faults, answers, strict=True):
        began = process_time()
        solver = BoundedReach(with_fault(plan, fault), EVENTS)
        encoded = process_time()
        depths = [d for name in CONTACTORS if (d := solver.shortest({STOP: "pressed", name: "in"})) is not None]
        done = process_time()
        assert (min(depths) if depths else None) == answer, fault.text
        encoded_s, solved_s = encoded_s + done - began, solved_s + done - encoded
    return Compared(len(faults), engine_s, encoded_s, solved_s)
