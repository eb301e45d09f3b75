"""The tables of conductors against copies of the standards, as text that quotes them gives them."""

from __future__ import annotations

import pytest

from wirecheck.electrics.capacity import gauge_mm2
from wirecheck.electrics.tables import table

CAPACITY = {
    "B1": (8.6, 10.3, 13.5, 18.3, 24, 31, 44, 59, 77),
    "B2": (8.5, 10.1, 13.1, 17.4, 23, 30, 40, 54, 70),
    "C": (9.8, 11.7, 15.2, 21, 28, 36, 50, 66, 84),
    "E": (10.4, 12.4, 16.1, 22, 30, 37, 52, 70, 88),
}
"""IEC 60204-1:2016, table 6, from 0.75 to 25 mm2."""

AT_30_DEGREES = {"B1": (15.5, 21, 28, 36, 50, 68, 89), "C": (17.5, 24, 32, 41, 57, 76, 96)}
"""IEC 60364-5-52, PVC, three loaded, 30 °C, from 1.5 to 25 mm2. Value from memory."""


@pytest.mark.parametrize("method", sorted(CAPACITY))
def test_capacity_of_conductors(method: str) -> None:
    """Source: IEC 60204-1:2016, table 6."""
    rows = table("conductor-capacity").rows
    assert [row["size_mm2"] for row in rows] == [0.75, 1.0, 1.5, 2.5, 4, 6, 10, 16, 25]
    assert tuple(row[method] for row in rows) == CAPACITY[method]


@pytest.mark.parametrize("method", sorted(AT_30_DEGREES))
def test_capacity_at_40_degrees_is_87_percent_of_that_at_30(method: str) -> None:
    """Source: IEC 60364-5-52 (value from memory) times its factor 0.87 for 40 °C: within what rounding does."""
    ours = [float(row[method]) for row in table("conductor-capacity").rows[2:]]
    assert ours == pytest.approx([amps * 0.87 for amps in AT_30_DEGREES[method]], rel=0.015)


def test_resistance_of_conductors() -> None:
    """Source: IEC 60228:2004, classes 1 and 2, 5 and 6, ohm per km at 20 °C."""
    rows = table("conductor-resistance").rows
    assert [row["size_mm2"] for row in rows] == [0.5, 0.75, 1.0, 1.5, 2.5, 4, 6, 10, 16]
    assert [row["solid_or_stranded"] for row in rows] == [36.0, 24.5, 18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15]
    assert [row["flexible"] for row in rows] == [39.0, 26.0, 19.5, 13.3, 7.98, 4.95, 3.30, 1.91, 1.21]


def test_factors_for_warm_air() -> None:
    """Source: IEC 60204-1, table D.1."""
    rows = {row["degrees_c"]: row["factor"] for row in table("ambient-factor").rows}
    assert rows == {40: 1.0, 45: 0.91, 50: 0.82, 55: 0.71, 60: 0.58}


def test_factors_for_grouping() -> None:
    """Source: IEC 60204-1, table D.2."""
    rows = {row["cables"]: row for row in table("grouping-factor").rows}
    for method, factors in (("B1", (0.80, 0.65, 0.57, 0.50)), ("C", (0.85, 0.75, 0.72, 0.70)), ("E", (0.88, 0.77, 0.73, 0.72))):
        assert tuple(rows[n][method] for n in (2, 4, 6, 9)) == factors
        assert rows[2]["B1"] == rows[2]["B2"]


def test_tables_from_memory_rise() -> None:
    """Value from memory: at least the order must be right."""
    for name, key, column, rising in (
        ("conductor-capacity-na", "ampacity", "awg", True),
        ("loaded-cores-factor", "cores", "factor", False),
        ("loaded-cores-factor-na", "cores", "factor", False),
    ):
        rows = table(name).rows
        assert [row[key] for row in rows] == sorted(row[key] for row in rows), name
        values = [row[column] for row in rows]
        assert values == sorted(values, reverse=not rising or column == "awg"), name


@pytest.mark.parametrize(("gauge", "area"), [(24, 0.205), (18, 0.823), (14, 2.08), (12, 3.31), (10, 5.26), (4, 21.15)])
def test_area_of_a_wire_gauge(gauge: float, area: float) -> None:
    """Source: ASTM B258, the usual table of areas in mm2. Value from memory."""
    assert gauge_mm2(gauge) == pytest.approx(area, rel=0.003)


def test_smallest_sections() -> None:
    """Source: IEC 60204-1, table 5 (value from memory)."""
    rows = {(row["where"], row["use"], row["cores"]): row["least_mm2"] for row in table("smallest-section").rows}
    assert rows == {
        ("inside", "power", 1): 0.75,
        ("inside", "control", 1): 0.2,
        ("outside", "power", 1): 1.0,
        ("outside", "power", 2): 0.75,
        ("outside", "control", 1): 1.0,
        ("outside", "control", 2): 0.5,
        ("outside", "control", 3): 0.2,
    }
    assert table("smallest-section").memory


@pytest.mark.parametrize(("line", "protective"), [(1.5, 1.5), (16, 16), (25, 16), (35, 16), (50, 25), (95, 47.5)])
def test_protective_conductor_by_the_line(line: float, protective: float) -> None:
    """Source: IEC 60204-1, table 1."""
    row = next(row for row in table("protective-conductor-size").rows if line <= float(row["line_mm2"]))
    assert max(line * float(row["share"]), float(row["least_mm2"])) == protective


def test_leakage_that_one_conductor_may_carry() -> None:
    """Source: IEC 60204-1:2016, 8.2.6 (10 mA); IEC 61800-5-1, 4.3.5.5 (3.5 mA)."""
    rows = {row["of"]: row["most_a"] for row in table("protective-conductor-current").rows}
    assert rows["a machine"] == 0.010
    assert rows["a drive"] == 0.0035
    assert {row["thick_mm2"] for row in table("protective-conductor-current").rows} == {10}


def test_instantaneous_tripping() -> None:
    """Source: IEC 60898-1, table 7 for B, C, D (value from memory)."""
    rows = {row["curve"]: row["times"] for row in table("tripping-current").rows}
    assert (rows["B"], rows["C"], rows["D"]) == (5, 10, 20)
