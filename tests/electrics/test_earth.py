"""Protective conductors, leakage, faults to earth, and the protection of transformers: figures worked out by hand."""

from __future__ import annotations

import pytest

from tests.electrics.plans import changed, number, numbers
from tests.electrics.wired import DRILL, MILL, SANDER
from wirecheck.electrics.number import Number

SECOND_PE = (
    "  - {number: PE, run: [X0:3, M1:PE]",
    "  - {number: PE, run: [X0:5, T1:PE], size: 1.5 mm2}\n  - {number: PE, run: [X0:3, M1:PE]",
)


def leak(plan: str, device: str) -> Number | None:
    return next(iter(numbers(plan, "current in a protective conductor", device)), None)


def test_a_protective_conductor_is_as_thick_as_its_lines() -> None:
    """Behind a drive it has the size of the lines: 1.5 mm2."""
    plan = changed(DRILL, ("run: [X0:3, M1:PE], size: 1.5 mm2", "run: [X0:3, M1:PE], size: 1 mm2"))
    found = number(plan, "protective conductor size", "M1")
    assert (found.value, found.low) == (1.0, 1.5)
    assert "X0:3 to M1:PE" in found.advice


def test_lines_thicker_than_their_protection_asks_need_no_thicker_earth() -> None:
    """10 A: 1 mm2 carries 10.3 A in trunking, so a line of 1 mm2 would do, and an earth of 1 mm2 with it."""
    plan = changed(DRILL, ("run: [X0:2, T1:PE], size: 1.5 mm2", "run: [X0:2, T1:PE], size: 1 mm2"))
    found = number(plan, "protective conductor size", "T1")
    assert (found.value, found.low) == (1.0, 1.0)


def test_an_overload_relay_does_not_make_the_earth_thinner() -> None:
    """The motor's 1.7 A setting says nothing of a fault: the breaker of 6 A counts, for which 0.75 mm2 carries enough."""
    found = number(changed(SANDER, ("rating: 6 A, curve: D", "rating: 13 A, curve: D")), "protective conductor size", "M1")
    assert found.low == 1.5
    assert number(SANDER, "protective conductor size", "M1").low == 0.75


def test_one_thin_conductor_for_several_devices_is_told_once() -> None:
    plan = changed(MILL, ("run: [G0:PE, X0:1], size: 4 mm2", "run: [G0:PE, X0:1], size: 1 mm2"))
    (found,) = [n for n in numbers(plan, "protective conductor size") if n.too_low]
    assert set(found.devices) == {"G1", "M2"}


def test_an_american_earth_follows_the_breaker() -> None:
    """Behind 20 A the equipment grounding conductor is 12 AWG, 3.31 mm2. NFPA 79, value from memory."""
    plan = changed(
        DRILL,
        ("machine: {name: Pillar drill}", "machine: {name: Pillar drill, region: NA}"),
        ("rating: 10 A, curve: C", "rating: 20 A, curve: C"),
        ("rating: 16 A, curve: B", "rating: 20 A, curve: B"),
        ("run: [X0:2, T1:PE], size: 1.5 mm2", "run: [X0:2, T1:PE], size: 14 AWG"),
    )
    found = number(plan, "protective conductor size", "T1")
    assert found.low == pytest.approx(3.31, abs=0.01)
    assert "12 AWG" in found.advice


@pytest.mark.parametrize(
    ("changes", "drive", "machine"),
    [
        ((), True, False),
        ((SECOND_PE,), None, False),
        ((("run: [X0:2, T1:PE], size: 1.5 mm2", "run: [X0:2, T1:PE], size: 10 mm2"),), None, False),
        ((SECOND_PE, ("leakage: 9 mA", "leakage: 12 mA")), None, True),
        ((SECOND_PE, ("curve: B},", "curve: B}, plug: 32 A,")), None, False),
    ],
    ids=["one thin", "two", "one of 10 mm2", "too much for a machine", "industrial plug"],
)
def test_leakage_of_9_milliamps(changes: tuple[tuple[str, str], ...], drive: bool | None, machine: bool) -> None:
    """IEC 61800-5-1, 4.3.5.5: above 3.5 mA a second conductor or 10 mm2; IEC 60204-1, 8.2.6: for a machine above 10 mA."""
    plan = changed(DRILL, ("leakage: 2 mA", "leakage: 9 mA"), *changes)
    own, all_of_it = leak(plan, "T1"), leak(plan, "G0")
    assert (own.too_high if own else None) is drive
    assert bool(all_of_it and all_of_it.too_high) is machine
    assert (all_of_it is None) == ("plug: 32 A" in plan)  # an industrial plug with 2.5 mm2 may carry any leakage


def test_leakage_that_is_not_stated_is_asked_for() -> None:
    found = leak(changed(DRILL, ("    leakage: 2 mA\n", "")), "T1")
    assert found is not None
    assert [m.field for m in found.missing] == ["T1 leakage"]


def test_the_current_of_a_fault_to_earth() -> None:
    """0.6 ohm and twice 3 m of 2.5 mm2 (28.65 mohm each): 0.6573 ohm; 0.95 by 230 V by that are 332.4 A. Calculated."""
    found = number(DRILL, "earth-fault current")
    assert found.value == pytest.approx(332.4, abs=0.3)
    assert found.low == 80  # of 16 A with curve B ahead


@pytest.mark.parametrize(("curve", "needs"), [("B", 50), ("C", 80), ("D", 80)])
def test_the_device_that_needs_least_counts(curve: str, needs: float) -> None:
    """16 A with curve B ahead needs 80 A; 10 A with curve B 50 A, with C 100 A, with D 200 A. IEC 60898-1, value from memory."""
    found = number(changed(DRILL, ("rating: 10 A, curve: C", f"rating: 10 A, curve: {curve}")), "earth-fault current")
    assert found.low == needs


@pytest.mark.parametrize(
    ("breaker", "needs"),
    [
        ("{kind: fuse, rating: 6 A, class: gG, place: panel}", 47),
        ("{kind: fuse, rating: 4 A, class: T, place: panel}", 40),
        ("{kind: residual-current-device, poles: [1-2], trip_current: 30 mA, place: panel}", 0.15),
    ],
    ids=["gG", "slow", "residual current"],
)
def test_fuses_and_residual_current_devices_switch_off_too(breaker: str, needs: float) -> None:
    plan = changed(DRILL, ("{kind: circuit-breaker, poles: [1-2], rating: 10 A, curve: C, place: panel}", breaker))
    assert number(plan, "earth-fault current").low == pytest.approx(needs)


def test_nobody_is_asked_for_the_loop() -> None:
    assert numbers(changed(DRILL, (", fault_loop: 0.6 ohm", "")), "earth-fault current") == []
    assert numbers(changed(DRILL, ("earthing: TN", "earthing: TT")), "earth-fault current") == []


def test_a_curve_that_is_not_stated_is_asked_for() -> None:
    plan = changed(DRILL, ("{rating: 16 A, curve: B}", "{rating: 16 A}"), ("rating: 10 A, curve: C", "rating: 10 A"))
    found = number(plan, "earth-fault current")
    assert found.value is None
    assert [m.field for m in found.missing] == ["F1 curve", "G0 protected_by.curve"]


def test_what_protects_a_transformer() -> None:
    """63 VA by 24 V are 2.625 A, by 1.67 are 4.384 A. NFPA 79, value from memory."""
    found = number(SANDER, "protection of a transformer")
    assert found.value == 2
    assert found.high == pytest.approx(4.384, abs=0.001)
    assert "fuse of 2.62 A" in found.advice
    assert "no more than 4.38 A" in found.advice  # the limit that the finding names too


def test_two_fuses_in_a_row() -> None:
    """10 A behind 16 A: 1.6 times. IEC 60269-1, value from memory."""
    plan = changed(
        MILL,
        ("{kind: circuit-breaker, poles: [1-2], rating: 16 A, curve: C, place: panel}", "{kind: fuse, rating: 16 A, class: gG}"),
        ("  X0: {kind: earth-bar", "  F4: {kind: fuse, rating: 10 A, class: gG}\n  X0: {kind: earth-bar"),
        (
            "run: [F1:2, Q2:1], size: 2.5 mm2}",
            "run: [F1:2, F4:1], size: 2.5 mm2}\n  - {number: L5, run: [F4:2, Q2:1], size: 2.5 mm2}",
        ),
    )
    found = number(plan, "ratio of two fuses")
    assert (found.value, found.low) == (1.6, 1.6)
    assert not found.too_low


def test_a_size_that_is_not_stated_is_said_among_the_inputs() -> None:
    plan = changed(DRILL, ("run: [X0:2, T1:PE], size: 1.5 mm2", "run: [X0:2, T1:PE]"))
    found = number(plan, "current in a protective conductor", "T1")
    assert ("wire PE X0:2 to T1:PE size", "not stated") in {(given.what, given.text) for given in found.inputs}
