"""What the trip of an overload relay stops: of two speeds its own, by the right contact."""

from __future__ import annotations

from tests.electrics.plans import changed, example
from tests.electrics.test_motor_protection import TWO_SPEEDS
from tests.rules.test_wiring_rules import found

NAME = "overload-relay-stops-its-motor"
SANDER = example("motor-has-overload-protection", "An overload relay")


def devices(plan: str) -> list[tuple[str, ...]]:
    return [finding.devices for finding in found(NAME, plan)]


def test_of_two_speeds_each_relay_need_stop_only_its_own() -> None:
    assert devices(TWO_SPEEDS) == [("F4", "Q2", "M1"), ("F5", "Q3", "M1")]
    one = changed(
        TWO_SPEEDS,
        ("run: [S1:14, Q3:21]", "run: [S1:14, F4:95]"),
        ("  - {number: 3,", "  - {number: 8, run: [F4:96, Q3:21]}\n  - {number: 3,"),
    )
    assert devices(one) == [("F5", "Q3", "M1")]
    both = changed(
        one,
        ("run: [S1:24, Q2:21]", "run: [S1:24, F5:95]"),
        ("  - {number: 5,", "  - {number: 9, run: [F5:96, Q2:21]}\n  - {number: 5,"),
    )
    assert devices(both) == []


def test_a_make_contact_beside_the_break_contact_is_found() -> None:
    """97-98 closes at the trip and keeps the coil in."""
    across = changed(
        SANDER,
        ("contacts: {95-96: NC}", "contacts: {95-96: NC, 97-98: NO}"),
        ("  - {number: N, run", "  - {number: 5, run: [Q2:A2, F4:97]}\n  - {number: N, run: [F4:98, G0:N]}\n  - {number: N, run"),
    )
    assert devices(across) == [("F4", "Q2", "M1")]


def test_the_finding_names_the_contact_and_the_coil() -> None:
    past = changed(SANDER, ("run: [Q2:A2, F4:95]", "run: [Q2:A2, F4:96]"))
    told = found(NAME, past)[0]
    assert told.severity == "damage"
    assert "at Q2, through the contact 95-96 of F4" in told.remedy
    assert told.evidence.events[-1] == "F4=tripped"
