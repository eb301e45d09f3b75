"""Numbers: where they stand to their limits, and how they are worded."""

from __future__ import annotations

import pytest

from wirecheck.electrics import CALCULATIONS, known_names
from wirecheck.electrics.number import Input, Missing, Number, in_words
from wirecheck.electrics.tables import table, table_names
from wirecheck.findings import Spot
from wirecheck.rules.loader import load_rules
from wirecheck.rules.numbering import verdict

AT = Spot("plan.yaml", 3, 1)


def number(value: float | None, low: float | None = None, high: float | None = None) -> Number:
    return Number("winding voltage", "M1", AT, value, "V", low, high)


@pytest.mark.parametrize(
    ("value", "low", "high", "stands", "limit"),
    [
        (230.0, 207.0, 253.0, "within", "207-253 V"),
        (253.0 * (1 + 1e-12), 207.0, 253.0, "within", "207-253 V"),
        (254.0, 207.0, 253.0, "above", "207-253 V"),
        (133.0, 207.0, None, "below", "at least 207 V"),
        (133.0, None, 12.0, "above", "at most 12 V"),
        (133.0, None, None, "no limit", ""),
    ],
)
def test_a_number_stands_within_above_or_below(
    value: float, low: float | None, high: float | None, stands: str, limit: str
) -> None:
    assert verdict(number(value, low, high)) == stands
    assert number(value, low, high).limit_text() == limit


def test_an_unknown_number_is_never_within() -> None:
    unknown = number(None, 207.0, 253.0)._replace(missing=(Missing("M1 plate.delta", AT, "whether it fits"),))
    assert verdict(unknown) == "unknown"
    assert unknown.value_text() == "not known"


def test_assumed_and_estimated_inputs_are_told() -> None:
    inputs = (Input("T1 input current", "9.7 A", AT, "estimated"), Input("F1 rating", "16 A", AT))
    assert number(1.0)._replace(inputs=inputs).uncertain == ("T1 input current 9.7 A (estimated)",)


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (0.0035, "A", "3.5 mA"),
        (1100, "W", "1.1 kW"),
        (0.75, "mm2", "0.75 mm2"),
        (0.9999, "A", "1 A"),
        (86.6, "Hz", "86.6 Hz"),
        (2840, "rpm", "2840 rpm"),
        (4.7e-5, "F", "47 uF"),
    ],
)
def test_quantities_are_worded_with_a_prefix_that_fits(value: float, unit: str, words: str) -> None:
    assert in_words(value, unit) == words


def test_rules_ask_only_for_numbers_that_are_worked_out() -> None:
    for rule in load_rules():
        if rule.kind == "within":
            names = rule.claim["number"]
            assert frozenset(names if isinstance(names, list) else [names]) <= known_names(), rule.name
    assert len(set(CALCULATIONS)) == len(CALCULATIONS)


@pytest.mark.parametrize("name", table_names())
def test_every_table_has_a_title_a_region_a_source_and_rows_alike(name: str) -> None:
    found = table(name)
    assert found.title
    assert found.source
    assert found.region in ("IEC", "NA", "any")
    assert found.rows
    assert all(row.keys() <= found.rows[0].keys() | set().union(*found.rows) for row in found.rows)
    assert ("value from memory" in found.cite()) == found.memory


def test_a_row_of_a_table_is_found_by_its_columns() -> None:
    row = table("conductor-resistance").row(size_mm2=1.5)
    assert row is not None
    assert row["flexible"] == 13.3
    assert table("conductor-resistance").row(size_mm2=1.6) is None
