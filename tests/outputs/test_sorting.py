"""Which findings a text tells at full length, which below another, and which in short; how evidence reads."""

from __future__ import annotations

from tests.outputs.reports import advice, danger, report
from wirecheck.findings import Evidence, Finding, Spot, Step
from wirecheck.outputs.evidence import evidence_lines
from wirecheck.outputs.sorting import Sorted, sorted_out, with_less
from wirecheck.outputs.text import render_text

TRACE = Evidence(events=("G0=on", "S2=open"))
FAULTY = TRACE._replace(fault="K1 stuck in", fault_after=0)


def whole(**changes: object) -> Finding:
    return danger(message="M1 runs.", evidence=TRACE, **changes)


def test_what_follows_a_finding_is_told_below_it_with_its_line() -> None:
    follower = whole(rule="other-rule", follows=("guard-open-keeps-motion-stopped", "M1 runs."))._replace(
        message="M1 starts.", severity="malfunction"
    )
    text = render_text(report(whole(), follower))
    assert "    also by the same cause, line 41: malfunction: M1 starts.\n" in text
    assert "MALFUNCTION: " not in text
    assert "MALFUNCTION: M1 starts.\n" in render_text(report(whole(), follower), full=True)


def test_what_follows_a_finding_that_is_not_told_stands_by_itself() -> None:
    follower = danger(follows=("another-rule", "gone"))
    assert sorted_out([follower]) == Sorted([follower], {}, [])


def test_a_fault_is_told_in_short_where_the_same_device_fails_without_one() -> None:
    faulty = danger(message="M1 runs on with K1 stuck.", evidence=FAULTY)
    assert sorted_out([whole(), faulty]) == Sorted([whole()], {}, [faulty])
    elsewhere = whole(devices=("S9", "M2"))
    assert sorted_out([elsewhere, faulty])[2] == []
    milder = whole(severity="malfunction")
    assert sorted_out([faulty, milder])[2] == []


def test_advice_is_told_in_short_beside_what_is_worse_and_where_it_is_on_a_stuck_part() -> None:
    assert sorted_out([danger(), advice()])[2] == [advice()]
    assert sorted_out([advice()])[2] == []
    stuck = advice(evidence=FAULTY)
    assert sorted_out([stuck])[2] == [stuck]
    text = render_text(report(stuck))
    assert (
        "ADVICE in short (--full tells why and what to do, `wirecheck faults` every fault):\n line 12 K1 pulls in late.\n" in text
    )


def test_a_walk_says_once_what_it_passes_and_how_that_stands() -> None:
    walk = ("G1:+", "K1:13", "K1:14", "K1:23", "K1:24", "Q2:A1")
    assert list(evidence_lines(Evidence(walk=walk, passes={"K1": "run, pulled in"}))) == [
        ("walk", "G1:+ > K1:13 > K1:14 (run, pulled in) > K1:23 > K1:24 > Q2:A1")
    ]


def test_cases_stand_below_each_other_as_a_table() -> None:
    cases = {"wire 7 whole": "M1 stops", "wire 7 broken": "M1 goes on"}
    assert list(evidence_lines(Evidence(cases=cases))) == [
        ("cases", "wire 7 whole:  M1 stops"),
        ("", "wire 7 broken: M1 goes on"),
    ]


def test_a_fault_that_is_a_step_takes_no_number_of_an_event() -> None:
    steps = (Step("rest"), Step("K1 stuck in", ("K1 pulls in",), {}, ("the fault comes",)), Step("G0=on"))
    made = Evidence(events=("G0=on",), steps=steps, fault="K1 stuck in", fault_after=0)
    assert list(evidence_lines(made)) == [("fault", "K1 stuck in  K1 pulls in"), ("1", "G0=on")]


def test_rest_is_shown_where_something_happens_at_rest() -> None:
    steps = (Step("rest", (), {"M1": "forward"}), Step("G0=on"))
    assert next(iter(evidence_lines(Evidence(steps=steps)))) == ("0", "rest   M1 runs forward")


def test_numbers_that_the_message_says_are_not_said_again() -> None:
    made = Evidence(numbers={"measured": "20 V", "limit": "20.4 V"})
    assert list(evidence_lines(made, "K1 gets 20 V and needs 20.4 V.")) == []
    assert list(evidence_lines(made, "K1 gets 20 V.")) == [("numbers", "measured 20 V, limit 20.4 V")]


def test_advice_gives_way_where_the_screen_is_full_but_nothing_worse_does() -> None:
    one, other = advice(), advice(message="K2 pulls in late.")
    assert with_less(Sorted([one, other], {}, [], asking=False)) == Sorted([one], {}, [other], asking=False)
    assert with_less(Sorted([one], {}, [other], asking=False)) is None
    assert with_less(Sorted([danger(), danger(message="M2 runs.")], {}, [], asking=False)) is None
    many = [advice(message=f"K{n} pulls in late.") for n in range(20)]
    text = render_text(report(*many))
    assert len(text.splitlines()) <= 50
    assert all(f"K{n} pulls in late." in text for n in range(20))


def test_what_is_not_stated_gives_way_first_and_is_still_named() -> None:
    one = advice()
    assert with_less(Sorted([one], {}, [])) == Sorted([one], {}, [], asking=False)
    asked = {"field": "T1 leakage", "at": "bench-lathe.yaml:20", "decides": ["whether one protective conductor is enough"]}
    other = asked | {"field": "M1 current", "at": "bench-lathe.yaml:31"}
    room = render_text(report(questions=(asked, other)))
    assert "     ask T1 leakage is not stated (line 20). It decides whether one protective conductor is enough.\n" in room
    many = [danger(message=f"M{n} runs on.", devices=(f"M{n}",)) for n in range(9)]
    full = render_text(report(*many, questions=(asked, other)))
    assert "     ask T1 leakage (line 20) and M1 current (line 31) are not stated: what they decide is left open\n" in full
    single = render_text(report(*many, questions=(asked,)))
    assert "     ask T1 leakage (line 20) is not stated: what it decides is left open (--full tells it).\n" in single


def test_advice_on_single_faults_is_told_by_its_lines_where_the_screen_is_full_but_nothing_worse_is() -> None:
    stuck = [advice(message=f"S{n} no longer stops M1.", evidence=FAULTY, at=Spot("bench-lathe.yaml", n, 3)) for n in (3, 5)]
    worse = danger(message="M1 runs on with K1 stuck.", evidence=FAULTY, severity="malfunction")
    found = with_less(Sorted([danger()], {}, [worse, advice(), *stuck], asking=False))
    assert found == Sorted([danger()], {}, [worse, advice()], asking=False, counted=stuck)
    many = [danger(message=f"M{n} runs on.", devices=(f"M{n}",)) for n in range(9)]
    text = render_text(report(*many, *stuck))
    assert "S3 no longer stops M1." not in text
    assert "would do: lines 3 and 5, 2 findings." in " ".join(text.split())
    assert "S3 no longer stops M1." in render_text(report(*many, *stuck), full=True)


def test_what_follows_does_not_name_again_what_else_does_the_same() -> None:
    lead = danger(message="M1 starts with wire 6 earthed.")
    named = ("guard-open-keeps-motion-stopped", "M1 starts with wire 6 earthed.")
    follower = danger(
        rule="other-rule", message="S1 no longer stops M1 with wire 6 earthed. The same with wire 7.", follows=named
    )
    text = render_text(report(lead, follower))
    assert "line 41: S1 no longer stops M1 with wire 6 earthed.\n" in text
    assert "The same with wire 7." in render_text(report(lead, follower), full=True)
