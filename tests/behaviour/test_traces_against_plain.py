"""Every trace that a check prints, played by the plain engine: event by event the motors do what the trace says.

For the examples that is every finding of the whole check; for the rules, what each of them finds on its own bad examples. Left
out are the rules whose traces play on something else than the plan with one fault at most: `ELSEWHERE`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from tests.oracles.plain_engine import PlainEngine, State
from tests.oracles.plain_faults import FaultyEngine, dying_in
from tests.test_examples import report_on
from wirecheck.behaviour.faults import single_faults
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Step
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.plan.model import Event, Plan
from wirecheck.rules.examples import Example, read_rule_file
from wirecheck.rules.record import Rule
from wirecheck.rules.runner import judge_rules

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("[bg]*/*.yaml"))
RULES = sorted((ROOT / "rules").glob("*.yaml"))

WORDS = {"pulls": "in", "drops": "out"}

ELSEWHERE = {
    "no-sneak-path": "a coil gets its voltage through other loads",
    "no-sneak-path-by-fault": "the same, because of a fault",
    "contact-speed-does-not-matter": "the contacts of one device overlap, which those of the plan do not",
    "survives-a-second-fault": "there are two faults",
}
"""Claim kinds, and what the plain engine does not know of in their traces."""

NEVER_AT_REST = ("comes-to-rest", "hunting-moves-no-motor")
"""Claim kinds whose traces may end where something moves for ever."""


class Played:
    """The plain engine on one plan, without faults and with."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.whole = plan, PlainEngine(plan)
        self._named = {fault.text: fault for fault in single_faults(plan)}
        self._dying: frozenset[str] | None = None

    def dying(self) -> frozenset[str]:
        """What a short kills without any fault, for which all must have been looked at."""
        if self._dying is None:
            self.whole.reach()
            self._dying = dying_in(self.whole)
        return self._dying

    def complaint(self, evidence: Evidence, restless: bool) -> str:
        """What is wrong with a trace; empty where the plain engine plays it."""
        engine, ends = self.ends(evidence)
        if any(self._moved(engine, state, evidence.steps[-1]) for state in ends):
            return ""
        if restless and self._goes_on(evidence):
            return ""
        return f"cannot be played: {evidence.fault} {evidence.events} {[dict(step.motion) for step in evidence.steps]}"

    def ends(self, evidence: Evidence) -> tuple[PlainEngine, list[State]]:
        """Where a trace ends when the motors do as its steps say."""
        events, motion = _events(evidence), [step.motion for step in evidence.steps]
        if evidence.fault is None:
            return self.whole, self.whole.replay(events, motion)
        assert evidence.fault_after is not None
        engine = FaultyEngine(self.whole, self._named[evidence.fault], self.dying())
        return engine, engine.replay_with_fault(events, evidence.fault_after, motion)

    def _goes_on(self, evidence: Evidence) -> bool:
        """Whether after the last event, or one before it, something moves for ever and passes the motion that is told."""
        *events, last = _events(evidence)
        before = self.whole.replay(events, [step.motion for step in evidence.steps[: len(events) + 1]])
        outcomes = [self.whole.step(state, last) for state in before]
        told = evidence.steps[len(events) + 1 :]
        return any(o.oscillates and all(self.whole.as_shown(o.passed, step.motion) for step in told) for o in outcomes)

    @staticmethod
    def _moved(engine: PlainEngine, state: State, step: Step) -> bool:
        """Whether every coil that the step says moved is where it moved to."""
        at = dict(engine.view(state))
        told = [(words[0], WORDS[words[1]]) for text in step.moved if (words := text.split())[1] in WORDS]
        return all(at[name] == how for name, how in told if name in engine.coils)


def _events(evidence: Evidence) -> list[Event]:
    return [Event(*event.split("=")) for event in evidence.events]


def complaints(plan: Plan, evidences: Iterable[Evidence], restless: bool = False) -> list[str]:
    """What is wrong with some traces."""
    played = Played(plan)
    return [wrong for evidence in evidences if evidence.steps and (wrong := played.complaint(evidence, restless))]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_trace_of_an_example_is_played_by_the_plain_engine(path: Path) -> None:
    evidences = [f.evidence for f in report_on(path).findings]
    assert any(evidence.fault for evidence in evidences)
    assert complaints(read_plan(path), evidences) == []


@pytest.mark.parametrize("path", EXAMPLES[::4], ids=lambda p: p.stem)
def test_a_trace_that_ends_otherwise_is_not_played(path: Path) -> None:
    """The comparison itself can fail: with a motor that stands at the end where the trace has it turn."""
    played = Played(read_plan(path))
    turning = [e for f in report_on(path).findings if (e := f.evidence).fault and e.steps[-1].motion["M1"] != "stopped"]
    assert turning
    for evidence in turning:
        *before, last = evidence.steps
        other = evidence._replace(steps=(*before, last._replace(motion={"M1": "stopped"})))
        assert played.complaint(other, restless=False).startswith("cannot be played")


def bad_examples(rule: Path) -> Iterator[tuple[Rule, Example]]:
    record, examples = read_rule_file(rule)
    if record.kind not in ELSEWHERE:
        yield from ((record, example) for example in examples if example.findings)


@pytest.mark.parametrize("path", RULES, ids=lambda p: p.stem)
def test_every_trace_of_a_rule_is_played_by_the_plain_engine(path: Path) -> None:
    for rule, example in bad_examples(path):
        plan = read_plan_text(example.plan, example.name)
        findings = judge_rules([rule], Facts(plan)).findings
        assert complaints(plan, (f.evidence for f in findings), rule.kind in NEVER_AT_REST) == [], example.name
