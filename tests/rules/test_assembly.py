"""From what the rules said to the report: order, folding, acceptances."""

from __future__ import annotations

import pytest

from tests.rules.plans import FILE, acceptance, device, finding, plan, signed, spot
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Accepted
from wirecheck.rules.assembly import CANNOT_KNOW, accept, assemble, fold
from wirecheck.rules.runner import Judgement


def judged(*findings: Finding, proved: tuple[Proof, ...] = (), incomplete: tuple[str, ...] = ()) -> Judgement:
    return Judgement(findings, proved, incomplete)


def test_findings_stand_by_line_column_rule() -> None:
    mixed = [
        finding("c", 9),
        finding("b", 7, at=spot(7, 5)),
        finding("z", 7, at=spot(7, 2), rule="b-rule"),
        finding("a", 7, at=spot(7, 2), rule="a-rule", severity="advice"),
    ]
    report = assemble(plan(), judged(*mixed))
    assert [f.message for f in report.findings] == ["a", "z", "b", "c"]


def test_equal_findings_fold_into_one_with_all_devices_and_the_shortest_trace() -> None:
    long, short = Evidence(events=("A=1", "B=2", "C=3")), Evidence(events=("A=1",))
    folded = fold(
        [
            finding("dead", 9, devices=("H2", "K1"), wires=("8",), evidence=short, severity="danger"),
            finding("dead", 7, devices=("H1", "K1"), wires=("7",), evidence=long, rests_on=("x",)),
            finding("other", 7),
        ]
    )
    assert [f.message for f in folded] == ["dead", "other"]
    assert folded[0].at == spot(7)
    assert folded[0].devices == ("H1", "K1", "H2")
    assert folded[0].wires == ("7", "8")
    assert folded[0].evidence == short
    assert folded[0].severity == "danger"
    assert folded[0].rests_on == ("x",)


def test_same_message_of_another_rule_is_another_finding() -> None:
    assert len(fold([finding("dead"), finding("dead", rule="other-rule")])) == 2


def test_acceptance_is_filled_in() -> None:
    (accepted,) = accept([finding()], plan(accepted=[acceptance()]))
    assert accepted.accepted == {"because": "it is the only lamp"}
    assert assemble(plan(accepted=[acceptance()]), judged(finding())).verdict == "clear"


@pytest.mark.parametrize("entry", [acceptance(devices=("H1", "H2")), acceptance(devices=()), acceptance(rule="other-rule")])
def test_acceptance_of_something_else_is_told(entry: Accepted) -> None:
    kept, advice = accept([finding()], plan(accepted=[entry]))
    assert kept.accepted is None
    assert (advice.rule, advice.severity, advice.at) == ("acceptance-matches-a-finding", "advice", spot(30))


def test_stale_acceptance_names_what_the_rule_did_find() -> None:
    _, advice = accept([finding(devices=("H1", "K1"))], plan(accepted=[acceptance()]))
    assert "H1 and K1" in advice.remedy


def test_acceptance_of_a_rule_that_was_not_judged_names_the_nearest() -> None:
    entry = acceptance(rule="lamps-are-markd")
    _, advice = accept([finding()], plan(accepted=[entry]), ["lamps-are-marked", "stop-stops-motion"])
    assert advice.remedy.endswith("No rule `lamps-are-markd` was judged: did you mean `lamps-are-marked`?")
    _, advice = accept([finding()], plan(accepted=[acceptance(devices=())]), ["lamps-are-marked"])
    assert "was judged" not in advice.remedy


def test_no_acceptance_is_stale_while_anything_is_open() -> None:
    made = plan(accepted=[acceptance()])
    assert [f.rule for f in assemble(made, judged()).findings] == ["acceptance-matches-a-finding"]
    assert assemble(made, judged(incomplete=("too large",))).findings == ()


def test_order_of_devices_does_not_matter() -> None:
    (accepted,) = accept([finding(devices=("H1", "K1"))], plan(accepted=[acceptance(devices=("K1", "H1"))]))
    assert accepted.accepted


def test_danger_is_accepted_with_because_by_and_date() -> None:
    (accepted,) = accept([finding(severity="danger")], plan(accepted=[acceptance(**signed())]))
    assert accepted.accepted == signed()


@pytest.mark.parametrize("missing", ["because", "by", "date"])
def test_danger_is_not_accepted_without(missing: str) -> None:
    report = assemble(plan(accepted=[acceptance(**signed(**{missing: " "}))]), judged(finding(severity="danger")))
    danger, advice = report.findings
    assert danger.accepted is None
    assert report.verdict == "findings"
    assert advice.rule == "acceptance-says-who-and-why"
    assert missing in advice.message


def test_second_of_two_acceptances_can_be_the_one_that_counts() -> None:
    accepted, *_ = accept([finding(severity="danger")], plan(accepted=[acceptance(), acceptance(**signed())]))
    assert accepted.accepted == signed()


def test_report_carries_what_was_proved_assumed_and_counted() -> None:
    proofs = (Proof("a", 20, 3), Proof("b", 30))
    report = assemble(plan(device("H1", "lamp"), assumed=["x", "x", "y"]), judged(proved=proofs))
    assert (report.plan, report.proved, report.assumed, report.not_checked) == (FILE, proofs, ("x", "y"), CANNOT_KNOW)
    assert report.statistics == {"devices": 1, "wires": 0, "states": 30, "faults": 3}


def test_nothing_is_proved_where_anything_is_open() -> None:
    report = assemble(plan(), judged(finding(), proved=(Proof("a", 20),), incomplete=("too large",)))
    assert (report.verdict, report.proved, report.incomplete) == ("incomplete", (), ("too large",))
    assert len(report.findings) == 1
