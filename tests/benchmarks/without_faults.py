"""A check by the rules that need no fault: `python -m tests.benchmarks.without_faults check PLAN`. For the benchmark alone."""

from __future__ import annotations

from wirecheck import pipeline
from wirecheck.__main__ import main
from wirecheck.facts import Facts
from wirecheck.rules.loader import NEED_FAULTS, load_rules


def leave_faults_out() -> None:
    """Let the pipeline judge the other rules alone, and say nothing of how functions stand up to faults."""
    rules = tuple(rule for rule in load_rules() if rule.kind not in NEED_FAULTS)
    for owner, name, instead in (
        (pipeline, "load_rules", lambda: rules),
        (pipeline, "function_summaries", lambda _facts: ()),
        (Facts, "fault_trials", None),  # whatever needs faults all the same crashes, and nothing is measured
    ):
        setattr(owner, name, instead)


if __name__ == "__main__":
    leave_faults_out()
    main()
