"""What conductors carry and what protects them, against figures worked out by hand."""

from __future__ import annotations

import pytest

from tests.electrics.plans import changed, numbers
from tests.electrics.wired import DRILL, MILL, MILL_ON_THREE_PHASES, SANDER, adding
from wirecheck.electrics.number import Number

W1 = "W1: {cores: 4, size: 1.5 mm2, length: 3 m, method: C}"
SIX_ENDS = adding(
    changed(
        SANDER,
        ("    links: [[U2, V2, W2]]}\n", "    notes: six ends}\n"),
        (
            "plate: {delta: 230 V, star: 400 V}, current: {delta: 2.9 A, star: 1.7 A}",
            "plate: {delta: 400 V}, current: {delta: 17 A}",
        ),
    ),
    """Q3: {kind: contactor, coil: 24 V AC, poles: [1-2, 3-4, 5-6], place: panel}
Q4: {kind: contactor, coil: 24 V AC, poles: [1-2, 3-4, 5-6], place: panel}
S3: {kind: selector, positions: [star, delta], contacts: {13-14: {closed_in: [star]}, 23-24: {closed_in: [delta]}}}""",
    """number: U2, run: [Q3:2, M1:U2], size: 1.5 mm2
number: V2, run: [Q3:4, M1:V2], size: 1.5 mm2
number: W2, run: [Q3:6, M1:W2], size: 1.5 mm2
number: U2, run: [Q3:2, Q4:2], size: 1.5 mm2
number: V2, run: [Q3:4, Q4:4], size: 1.5 mm2
number: W2, run: [Q3:6, Q4:6], size: 1.5 mm2
number: Y, run: [Q4:1, Q4:3, Q4:5], size: 1.5 mm2
number: V, run: [F4:4, Q3:1], size: 1.5 mm2
number: W, run: [F4:6, Q3:3], size: 1.5 mm2
number: U, run: [F4:2, Q3:5], size: 1.5 mm2
number: 6, run: [Q2:A1, S3:13, S3:23]
number: 7, run: [S3:14, Q4:A1]
number: 8, run: [S3:24, Q3:A1]
number: 0V, run: [Q2:A2, Q3:A2, Q4:A2]""",
)
"""All six ends wired: Q2 the lines, Q3 the delta, Q4 the star."""


def of_wire(plan: str, name: str, wire: str, cable: str = "") -> Number:
    """The number of this name that a wire takes part in; of several the one in a cable."""
    found = [n for n in numbers(plan, name) if wire in n.wires]
    (one,) = [n for n in found if not cable or f" in {cable}" in n.device]
    return one


def test_a_drive_and_its_supply_are_added() -> None:
    """5 A at 24 V are 120 W; by 0.51 by 230 V that is 1.023 A; the pump's 90 W are 0.391 A. Calculated."""
    found = of_wire(MILL, "conductor current", "L1")
    assert found.value == pytest.approx(1.0230 + 0.3913, abs=0.001)
    assert found.high == pytest.approx(28)  # 4 mm2, method C
    assert any("estimated" in words for words in found.uncertain)


def test_between_a_line_and_n_a_load_gets_the_voltage_of_a_phase() -> None:
    """400 V divided by 1.732 are 230.94 V: 120 W by 0.51 by that are 1.0189 A, 90 W at 230 V take there 0.3929 A. Calculated."""
    found = of_wire(MILL_ON_THREE_PHASES, "conductor current", "L1")
    assert found.value == pytest.approx(1.0189 + 0.3929, abs=0.001)
    assert "divided by 231 V" in found.working


def test_the_estimate_of_a_drive_between_a_line_and_n() -> None:
    """370 W by 2 to 4 VA for each W, of which the most counts, by 230.94 V."""
    on_three = changed(DRILL, ("phases: 1, voltage: 230 V", "phases: 3, voltage: 400 V"), ("[G0:L, ", "[G0:L1, "))
    one, three = (
        of_wire(changed(plan, ("240 V, current: 5.4 A", "240 V")), "conductor current", "L1") for plan in (DRILL, on_three)
    )
    assert one.value is not None
    assert three.value == pytest.approx(one.value * 230 / 230.94, rel=1e-4)


def test_a_motor_on_a_drive_takes_its_plate_current_in_delta() -> None:
    assert of_wire(DRILL, "conductor current", "U").value == pytest.approx(1.9)
    assert of_wire(DRILL, "conductor current", "L1").value == pytest.approx(5.4)


def test_inside_a_delta_a_wire_carries_a_winding_alone() -> None:
    """17 A in the lines are 17 / 1.732 = 9.815 A in a winding. Calculated."""
    assert of_wire(SIX_ENDS, "conductor current", "U", "W1").value == pytest.approx(9.815, abs=0.001)
    loads = [n for n in numbers(SIX_ENDS, "conductor current") if "L41" in n.wires]
    assert max(n.value or 0 for n in loads) == pytest.approx(17)


def test_loads_that_never_come_together_are_not_added() -> None:
    """Two lamps on the two sides of a change-over switch: 5 W at 24 V each, 0.208 A, never both. Calculated."""
    either = adding(
        MILL,
        """S3: {kind: selector, positions: [left, right], contacts: {13-14: {closed_in: [left]}, 23-24: {closed_in: [right]}}}
P1: {kind: lamp, voltage: 24 V DC, power: 5 W}
P2: {kind: lamp, voltage: 24 V DC, power: 5 W}""",
        """number: 7, run: [F2:2, S3:13, S3:23], size: 1.5 mm2
number: 8, run: [S3:14, P1:X1]
number: 9, run: [S3:24, P2:X1]
number: 0V, run: [P1:X2, P2:X2, Q2:A2]""",
    )
    assert of_wire(either, "conductor current", "7").value == pytest.approx(5 / 24, abs=0.001)


NO_INPUT = changed(DRILL, (", voltage: 200-240 V, current: 5.4 A", ", voltage: 200-240 V"))


def test_a_current_that_is_not_known_is_asked_for() -> None:
    found = of_wire(changed(NO_INPUT, (", current: 2.4 A, power: 0.37 kW}", "}")), "conductor current", "L1")
    assert found.value is None
    assert [m.field for m in found.missing] == ["T1 input.current"]


def test_the_input_of_a_drive_is_estimated_from_its_power() -> None:
    """370 W by 3.1 VA for each W by 230 V is 4.987 A at most, by 1.44 it is 2.317 A at least. Calculated."""
    found = of_wire(NO_INPUT, "conductor current", "L1")
    assert found.value == pytest.approx(4.987, abs=0.001)
    assert found.missing == ()
    assert found.uncertain == ("T1 input current 2.32 to 4.99 A (estimated)",)


@pytest.mark.parametrize(("plug", "value", "asked"), [("13 A", 4.987, False), ("3 A", None, True), ("2 A", 2.317, False)])
def test_an_estimate_decides_only_where_its_whole_range_does(plug: str, value: float | None, asked: bool) -> None:
    (found,) = numbers(changed(NO_INPUT, ("curve: B},", f"curve: B}}, plug: {plug},")), "load of the plug")
    assert found.value == (value if value is None else pytest.approx(value, abs=0.001))
    assert bool(found.missing) == asked


def test_what_passes_a_plug_a_breaker_and_a_switch() -> None:
    """5 A at 24 V are 120 W; by 0.51 by 230 V that is 1.023 A; the pump's 90 W are 0.391 A. Calculated."""
    rated = changed(MILL, ("poles: [1-2, 3-4], place: panel}\n  F1", "poles: [1-2, 3-4], rating: 1 A, place: panel}\n  F1"))
    (switch,) = numbers(rated, "load of a supply device")
    assert switch.value == pytest.approx(1.414, abs=0.001)
    assert switch.too_high
    loads = {n.device: n.value for n in numbers(rated, "load of a fuse or breaker")}
    assert loads == pytest.approx({"G0": 1.414, "F1": 1.414, "F2": 5 / 24}, abs=0.001)


def test_how_a_cable_lies_is_asked_only_where_it_decides() -> None:
    """2.5 mm2 carries 17.4 A in trunking and 22 A in free air: 16 A is within both, 20 A only within one."""
    unknown = changed(
        DRILL, ("W0: {cores: 3, size: 2.5 mm2, length: 3 m, method: C}", "W0: {cores: 3, size: 2.5 mm2, length: 30 m}")
    )
    within = of_wire(unknown, "conductor protection", "L1")
    assert (within.value, within.missing) == (16, ())
    more = changed(unknown, ("{rating: 16 A, curve: B}", "{rating: 20 A, curve: B}"), ("rating: 10 A", "rating: 20 A"))
    decides = of_wire(more, "conductor protection", "L1")
    assert [m.field for m in decides.missing] == ["W0 method"]
    assert not decides.too_high


def test_a_return_is_protected_on_the_live_side_of_its_loads() -> None:
    """The neutral of the drive has no pole of F1, but all that goes through it goes through F1 too: 10 A."""
    found = of_wire(DRILL, "conductor protection", "N2")
    assert found.value == 10
    assert "F1" in found.devices


def test_a_tap_to_a_protective_device_may_be_thin_where_it_is_short() -> None:
    """20 A ahead of 1.5 mm2 taps of the transformer: their breaker of 2 A limits what flows in them."""
    tapped = changed(SANDER, ("rating: 16 A, curve: C", "rating: 20 A, curve: C"))
    assert not [n for n in numbers(tapped, "conductor protection") if n.too_high]
    thin = [n for n in numbers(tapped, "conductor protection") if "L21" in n.wires and "1.5" in n.device]
    assert [n.value for n in thin] == [2]


FAR = changed(
    DRILL, ("{rating: 16 A, curve: B}", "{rating: 32 A, curve: B}"), ("size: 2.5 mm2, length: 3 m", "size: 2.5 mm2, length: 8 m")
)


def test_a_device_at_the_far_end_of_a_long_cable_is_told_and_of_an_unknown_one_asked() -> None:
    """32 A ahead of 8 m of 2.5 mm2 (21 A) to a breaker of 10 A. IEC 60204-1, 7.2.8: up to 3 m. Value from memory."""
    (long,) = numbers(FAR, "conductor protection further on")
    assert (long.value, long.high) == (32, 21)
    assert not [n for n in numbers(FAR, "conductor protection") if n.too_high]
    (unknown,) = numbers(changed(FAR, (", length: 8 m", "")), "conductor protection further on")
    assert [m.field for m in unknown.missing] == ["W0 length"]
    assert not unknown.too_high


def test_the_side_that_is_not_earthed_needs_protection_of_its_own() -> None:
    """The earth moved to the side with the fuse: a fault of the other wire to earth passes no fuse at 24 V."""
    wrong = changed(SANDER, ("run: [X0:3, T2:4]", "run: [X0:3, T2:3]"))
    found = of_wire(wrong, "conductor protection", "0V")
    assert found.too_high
    floating = changed(SANDER, ("  - {number: PE, run: [X0:3, T2:4], size: 1.5 mm2, colour: GNYE}\n", ""))
    assert of_wire(floating, "conductor protection", "0V").value == 2


def test_a_transformer_passes_its_primary_protection_on() -> None:
    """2 A at 400 V are 33.3 A at 24 V. Calculated."""
    bare = changed(
        SANDER,
        ("run: [T2:3, F3:1], size: 1 mm2", "run: [T2:3, F4:95], size: 1 mm2"),
        ("  - {number: 2, run: [F3:2, F4:95], size: 1 mm2}\n", ""),
    )
    assert of_wire(bare, "conductor protection", "1").value == pytest.approx(33.33, abs=0.01)
    assert of_wire(SANDER, "conductor protection", "1").value == pytest.approx(2)


def test_many_loaded_cores_and_cables_side_by_side_carry_less() -> None:
    """1.5 mm2, method C, 15.2 A: two loaded cables in one route, times 0.85: 12.92 A. IEC 60204-1 table D.2."""
    side = changed(
        SANDER,
        (W1, "W1: {cores: 4, size: 1.5 mm2, length: 3 m, method: C, route: tray}"),
        (
            "W0: {cores: 4, size: 2.5 mm2, length: 10 m, method: C}",
            "W0: {cores: 4, size: 2.5 mm2, length: 10 m, method: C, route: tray}",
        ),
        ("star: 1.7 A}", "star: 8 A}"),
    )
    found = of_wire(side, "conductor current", "U")
    assert found.high == pytest.approx(15.2 * 0.85)
    assert "2 loaded cables" in found.working
    light = changed(side, ("star: 8 A}", "star: 1.7 A}"))
    assert of_wire(light, "conductor current", "U").high == pytest.approx(15.2)


def test_in_a_warm_box_wires_carry_less() -> None:
    """1.5 mm2 in trunking, 13.5 A, at 50 degrees times 0.82: 11.07 A. The cables outside keep theirs. IEC 60204-1 table D.1."""
    warm = changed(DRILL, ("panel: {ip: IP54}", "panel: {ip: IP54, ambient: 50 °C}"))
    found = of_wire(warm, "conductor current", "L3")
    assert found.high == pytest.approx(13.5 * 0.82)
    assert "0.82 for 50 °C" in found.working
    assert of_wire(warm, "conductor current", "U").high == pytest.approx(15.2)


def test_better_insulation_carries_more() -> None:
    """15.2 A times 1.25 for XLPE. Value from memory."""
    plan = changed(DRILL, ("length: 2 m, method: C}", "length: 2 m, method: C, insulation: XLPE}"))
    assert of_wire(plan, "conductor current", "U").high == pytest.approx(19)


def test_american_sizes_have_their_own_table() -> None:
    """14 AWG behind 20 A: its ampacity is 15 A. NFPA 79, value from memory."""
    american = changed(
        DRILL,
        ("machine: {name: Pillar drill}", "machine: {name: Pillar drill, region: NA}"),
        ("run: [F1:2, T1:L], size: 1.5 mm2", "run: [F1:2, T1:L], size: 14 AWG"),
        ("run: [Q1:4, T1:N], size: 1.5 mm2", "run: [Q1:4, T1:N], size: 14 AWG"),
        ("rating: 10 A, curve: C", "rating: 20 A, curve: C"),
    )
    found = of_wire(american, "conductor protection", "L3")
    assert (found.value, found.high) == (16, 15)
    assert "12 AWG" in found.advice
    assert "value from memory" in found.source


@pytest.mark.parametrize("plan", [DRILL, SANDER, MILL], ids=["drill", "sander", "mill"])
def test_a_good_plan_is_within_all_its_limits(plan: str) -> None:
    for name in ("conductor current", "conductor protection"):
        found = numbers(plan, name)
        assert found
        assert not [n for n in found if n.too_high or n.unknown]
    assert not numbers(plan, "conductor protection further on")
