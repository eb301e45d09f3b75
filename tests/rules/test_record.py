"""How a rule words its findings."""

from __future__ import annotations

import pytest

from tests.rules.plans import rule, spot
from wirecheck.findings import Evidence, Proof
from wirecheck.rules.record import fill, join_words


@pytest.mark.parametrize(
    ("words", "text"), [([], ""), (["S1"], "S1"), (["S1", "S2"], "S1 and S2"), (["S1", "S2", "K1"], "S1, S2 and K1")]
)
def test_words_join_as_in_a_sentence(words: list[str], text: str) -> None:
    assert join_words(words) == text


def test_finding_takes_the_rule_and_fills_its_texts() -> None:
    made = rule(message="{device} is dark: mark {devices}.").finding(
        spot(3), devices=["H1", "H2"], wires=["7"], device="H1 (ready)"
    )
    assert made.message == "H1 (ready) is dark: mark H1 and H2."
    assert made.why == "Nobody knows what H1 and H2 means."
    assert made.remedy == "Mark H1 and H2."
    assert (made.rule, made.severity, made.sources) == ("lamps-are-marked", "malfunction", ("common practice",))
    assert (made.at, made.devices, made.wires, made.evidence) == (spot(3), ("H1", "H2"), ("7",), Evidence())


def test_claim_kind_may_word_the_message_and_change_the_severity() -> None:
    made = rule().finding(spot(3), "H1 {dark} is dead.", severity="danger", rests_on=["H1 voltage is not stated"])
    assert (made.message, made.severity, made.rests_on) == ("H1 {dark} is dead.", "danger", ("H1 voltage is not stated",))


def test_braces_in_what_is_filled_in_stay() -> None:
    assert fill("{device} stays live", {"device": "{why} {0}"}) == "{why} {0} stays live"


def test_a_word_that_nobody_fills_is_an_error() -> None:
    with pytest.raises(KeyError, match="motor"):
        rule(why="{motor} runs.").finding(spot(3), "x")


def test_proof_says_the_title() -> None:
    assert rule().proof(5, condition_reached=False) == Proof("Every lamp is marked", 5, 0, condition_reached=False)
