"""The runner: what a rule yields, and that none is passed over in silence."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from types import ModuleType

import pytest

from tests.rules.plans import plan, rule, spot
from wirecheck.errors import TooLarge
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.rules.record import Rule
from wirecheck.rules.registry import claim_kinds, judge_of
from wirecheck.rules.runner import judge_rules

Install = Callable[..., None]


@pytest.fixture
def install(monkeypatch: pytest.MonkeyPatch) -> Install:
    """Puts a claim kind of the test's own beside the others."""

    def put(kind: str, judge: object) -> None:
        module = ModuleType(kind)
        module.judge = judge  # type: ignore[attr-defined]  # a module takes any attribute
        monkeypatch.setitem(sys.modules, f"wirecheck.rules.claims.{kind.replace('-', '_')}", module)

    return put


def one_of_each(made: Rule, facts: Facts) -> Iterator[Finding | Proof]:
    yield made.finding(spot(3), "dark")
    yield made.proof(4)


def crashes(made: Rule, facts: Facts) -> Iterator[Finding | Proof]:
    yield made.proof(4)
    raise ZeroDivisionError("no lamp")


def too_large(made: Rule, facts: Facts) -> Iterator[Finding | Proof]:
    raise TooLarge("more than 100000 states")


def test_findings_and_proofs_are_told_apart(install: Install) -> None:
    install("one-of-each", one_of_each)
    made = judge_rules([rule(kind="one-of-each")], Facts(plan()))
    assert [f.message for f in made.findings] == ["dark"]
    assert made.proved == (Proof("Every lamp is marked", 4),)
    assert made.incomplete == ()


def test_rule_that_crashes_is_a_finding_and_the_report_incomplete(install: Install) -> None:
    install("crashes", crashes)
    install("one-of-each", one_of_each)
    made = judge_rules([rule("bad-rule", "crashes"), rule("good-rule", "one-of-each")], Facts(plan()))
    crash, dark = made.findings
    assert (crash.rule, crash.severity, crash.at) == ("bad-rule", "malfunction", spot(2))
    assert "could not be judged" in crash.message
    assert "ZeroDivisionError: no lamp" in crash.why
    assert dark.message == "dark"
    assert made.incomplete == ("the rule bad-rule could not be judged",)
    assert made.proved == (Proof("Every lamp is marked", 4),)


def test_claim_kind_that_does_not_exist_is_a_crash_of_its_rule() -> None:
    made = judge_rules([rule(kind="no-such-kind")], Facts(plan()))
    assert [f.rule for f in made.findings] == ["lamps-are-marked"]
    assert made.incomplete


def test_what_is_too_large_is_told_once_with_the_rules_that_wait_for_it(install: Install) -> None:
    install("too-large", too_large)
    made = judge_rules([rule(name, "too-large") for name in ("a-rule", "b-rule", "c-rule")], Facts(plan()))
    assert made.findings == ()
    assert made.incomplete == ("more than 100000 states; so not decided: a-rule, b-rule and c-rule",)


def test_an_interrupt_is_no_crash(install: Install) -> None:
    def interrupted(made: Rule, facts: Facts) -> Iterator[Finding | Proof]:
        raise KeyboardInterrupt

    install("interrupted", interrupted)
    with pytest.raises(KeyboardInterrupt):
        judge_rules([rule(kind="interrupted")], Facts(plan()))


def test_progress_is_told_before_each_rule(install: Install) -> None:
    install("one-of-each", one_of_each)
    told: list[tuple[int, int, str]] = []
    judge_rules([rule(kind="one-of-each")] * 2, Facts(plan()), lambda *step: told.append(step))
    assert told == [(0, 2, "Every lamp is marked"), (1, 2, "Every lamp is marked")]


@pytest.mark.parametrize("kind", claim_kinds())
def test_every_claim_kind_has_what_the_machinery_asks_for(kind: str) -> None:
    from wirecheck.rules.registry import conditions_of, words_of

    assert callable(judge_of(kind))
    assert isinstance(conditions_of(kind)["properties"], dict)
    assert {"devices", "wires"} <= words_of(kind)
