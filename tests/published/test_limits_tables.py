"""Tables of limits against figures outside the project. All are values from memory unless a line says otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from wirecheck.electrics.capacity import gauge_mm2
from wirecheck.electrics.tables import table, table_names


def column(name: str, key: str, value: str) -> dict[float | str, float | str]:
    return {row[key]: row[value] for row in table(name).rows}


@pytest.mark.parametrize("name", table_names())
def test_every_table_is_held_against_something_outside(name: str) -> None:
    tests = [path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py")]
    assert any(f'"{name}"' in text for text in tests)


def test_capacity_of_thin_pairs() -> None:
    """Source: IEC 60204-1:2016, table 6, electronic circuits in pairs (value from memory)."""
    assert [(row["size_mm2"], row["B1"], row["E"]) for row in table("conductor-capacity-electronics").rows] == [
        (0.2, 4.3, 4.4),
        (0.5, 7.5, 7.8),
    ]


def test_single_limits_of_conductors() -> None:
    """Source: IEC 60204-1, 12.5 (5 %) and 4.3 (0.9 of rated, read quoted), 7.2.8 (3 m, value from memory)."""
    limits = column("conductor-limits", "limit", "value")
    assert limits["voltage drop to a load"] == 5
    assert limits["lowest supply"] == 90
    assert limits["length of a tap that is thinner than its protection"] == 3
    # IEC 60364-5-52, 523.5: a core with at most 30 % of its capacity is no loaded one. IEC 60364-6: 0.95 of the voltage.
    assert limits["load of a core that does not count as loaded"] == 30
    assert limits["supply during a fault"] == 95


def test_current_that_blows_a_fuse_is_not_below_what_loop_impedances_allow() -> None:
    """Source: largest loop impedances for gG fuses and 0.4 s at 0.95 of 230 V, BS 7671 table 41.2 (value from memory)."""
    loop_ohm = {6: 7.80, 10: 4.65, 16: 2.43, 20: 1.68, 25: 1.29, 32: 0.99}
    blows = column("fuse-current", "rating_a", "amps")
    for rating, ohm in loop_ohm.items():
        assert 0.95 * 230 / ohm <= float(blows[rating]) <= 2 * 0.95 * 230 / ohm
    figures = [float(amps) for amps in blows.values()]
    assert figures == sorted(figures)


def test_fuses_in_a_row() -> None:
    """Source: IEC 60269-1, 5.6.3: selective from a ratio of 1.6 (value from memory); 10 A and 16 A are such a pair."""
    ratio = column("fuse-ratio", "class", "ratio")["gG"]
    assert ratio == 1.6
    assert 16 / 10 >= float(ratio) > 10 / 8


def test_better_insulation_never_promises_too_much() -> None:
    """Source: IEC 60364-5-52, B1, three loaded at 30 °C: PVC 15.5, 21, 28 A, XLPE 20, 28, 37 A; at 40 °C times 0.87 and 0.91
    (values from memory)."""
    least = min(warm * 0.91 / (cool * 0.87) for cool, warm in zip((15.5, 21, 28), (20, 28, 37), strict=True))
    for factor in column("insulation-factor", "insulation", "factor").values():
        assert 1 < float(factor) <= least


def test_equipment_grounding_conductors() -> None:
    """Source: the table of equipment grounding conductors in the American code, 15 A to 100 A (value from memory)."""
    assert column("protective-conductor-size-na", "rating_a", "awg") == {15: 14, 20: 12, 60: 10, 100: 8}


def test_usual_ratings_of_protective_devices() -> None:
    """Source: preferred rated currents of IEC 60898-1 (value from memory)."""
    ratings = [row["rating_a"] for row in table("protective-device-ratings").rows]
    assert ratings == sorted(ratings, key=float)
    assert {6, 10, 13, 16, 20, 25, 32, 40, 50, 63} <= set(ratings)


def test_small_fuses_blow_by_ten_times_their_rating() -> None:
    """Source: IEC 60127-2: quick and slow fuses all within 0.3 s at ten times the rated current (value from memory)."""
    assert column("small-fuse-current", "class", "times") == {"FF": 10, "F": 10, "M": 10, "T": 10}


def test_smallest_gauges_are_no_thinner_than_the_smallest_sections() -> None:
    """Source: NFPA 79, 12.6 (value from memory), held against IEC 60204-1, table 5: the two agree within a gauge."""
    gauges = {(row["where"], row["use"], row["cores"]): int(float(row["least_awg"])) for row in table("smallest-section-na").rows}
    assert gauges["outside", "power", 1] == 14
    assert gauges["inside", "control", 1] == 24
    assert gauge_mm2(gauges["outside", "control", 1]) == pytest.approx(0.823, abs=0.001)  # ASTM B258
    assert gauge_mm2(gauges["inside", "control", 1]) >= 0.2
    assert gauge_mm2(gauges["outside", "power", 1]) >= 1.0


def test_protection_of_a_control_transformer() -> None:
    """Source: NFPA 79 and the American code: 167 % of the rated current of the secondary below 9 A (value from memory)."""
    assert column("transformer-protection", "side", "most_percent") == {"secondary": 167}


@pytest.mark.parametrize(("motor_w", "amps"), [(400, 5.4), (750, 9.7), (1500, 16.4), (2200, 22.0)])
def test_input_of_a_drive_lies_in_the_range_of_manuals(motor_w: float, amps: float) -> None:
    """Source: rated input currents at 230 V in one manual, without a choke; common practice."""
    row = table("drive-input").row(phases=1)
    assert row is not None
    assert float(row["least"]) <= 230 * amps / motor_w <= float(row["most"]) * 1.01
