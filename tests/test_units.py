"""Quantities: what is read, what it comes to in base units, and what is refused."""

from __future__ import annotations

import re

import pytest

from wirecheck.units import UNITS, UnitError, fitting, quantity_pattern, read_quantity

READ = [
    # text, unit, value, upper end, AC or DC
    ("1.1 kW", "W", 1100.0, None, None),
    ("230 V", "V", 230.0, None, None),
    ("24 V DC", "V", 24.0, None, "DC"),
    ("230 V AC", "V", 230.0, None, "AC"),
    ("0.75 mm2", "mm2", 0.75, None, None),
    ("2.5 mm²", "mm2", 2.5, None, None),
    ("100 mA", "A", 0.1, None, None),
    ("16 A", "A", 16.0, None, None),
    ("3 m", "m", 3.0, None, None),
    ("250 mm", "m", 0.25, None, None),
    ("120 ohm", "ohm", 120.0, None, None),
    ("4.7 kΩ", "ohm", 4700.0, None, None),
    ("1 M\u2126", "ohm", 1e6, None, None),
    ("50 Hz", "Hz", 50.0, None, None),
    ("4 kHz", "Hz", 4000.0, None, None),
    ("1400 rpm", "rpm", 1400.0, None, None),
    ("2 s", "s", 2.0, None, None),
    ("500 ms", "s", 0.5, None, None),
    ("100 VA", "VA", 100.0, None, None),
    ("45 °C", "degC", 45.0, None, None),
    ("10 uF", "F", 1e-5, None, None),
    ("10 µF", "F", 1e-5, None, None),
    ("200-240 V", "V", 200.0, 240.0, None),
    ("200 – 240 V AC", "V", 200.0, 240.0, "AC"),
    ("16A", "A", 16.0, None, None),
]


@pytest.mark.parametrize(("text", "unit", "value", "high", "current"), READ)
def test_a_quantity_is_read_in_its_base_unit(text: str, unit: str, value: float, high: float | None, current: str | None) -> None:
    read = read_quantity(text, [unit])
    assert (read.value, read.high, read.unit, read.current) == (value, high, unit, current)


@pytest.mark.parametrize(("text", "unit", "value", "high", "current"), READ)
def test_the_pattern_for_editors_fits_what_is_read(
    text: str, unit: str, value: float, high: float | None, current: str | None
) -> None:
    assert re.fullmatch(quantity_pattern([unit]), text)


REFUSED = [
    ("5", "A", "has no unit"),
    ("5-6", "A", "has no unit"),
    ("5 V", "A", "which does not fit here"),
    ("5 amp", "A", "which is not known"),
    ("5 KW", "W", "which is not known"),
    ("5 krpm", "rpm", "which is not known"),
    ("24 VDC", "V", "write a space before DC"),
    ("24 V dc", "V", "only AC or DC can stand after V or A"),
    ("3 m AC", "m", "only AC or DC can stand after V or A"),
    ("0,5 A", "A", "write a decimal point"),
    ("-5 A", "A", "is below nothing"),
    ("five amps", "A", "is not a quantity"),
    ("1e3 A", "A", "which is not known"),
    (".5 A", "A", "is not a quantity"),
    ("240-200 V", "V", "ends below its beginning"),
    ("9999999999999 A", "A", "is not a quantity"),
    ("", "A", "is not a quantity"),
    ("5 A 5", "A", "only AC or DC"),
]


@pytest.mark.parametrize(("text", "unit", "phrase"), REFUSED)
def test_what_is_no_quantity_is_refused_in_plain_words(text: str, unit: str, phrase: str) -> None:
    with pytest.raises(UnitError, match=re.escape(phrase)) as caught:
        read_quantity(text, [unit])
    assert caught.value.expected == fitting([unit])
    assert not re.fullmatch(quantity_pattern([unit]), text) or phrase == "ends below its beginning"


def test_only_the_current_that_fits_is_taken() -> None:
    with pytest.raises(UnitError, match="where only DC fits"):
        read_quantity("24 V AC", ["V"], "DC")
    assert read_quantity("24 V", ["V"], "DC").current is None


@pytest.mark.parametrize(("gauge", "area_mm2"), [("14 AWG", 2.08), ("12 AWG", 3.31), ("18 AWG", 0.823), ("1/0 AWG", 53.5)])
def test_a_wire_gauge_is_an_area(gauge: str, area_mm2: float) -> None:
    # ASTM B258 gauge areas, value from memory
    assert read_quantity(gauge, ["mm2"], awg=True).value == pytest.approx(area_mm2, rel=2e-3)


def test_a_wire_gauge_is_read_only_where_it_may_be() -> None:
    with pytest.raises(UnitError, match=r"only where machine\.region is NA"):
        read_quantity("14 AWG", ["mm2"])
    with pytest.raises(UnitError, match="is not a wire gauge"):
        read_quantity("x AWG", ["mm2"], awg=True)


def test_prefixes_leave_no_dust_of_binary_fractions() -> None:
    assert read_quantity("0.1 mA", ["A"]).value == 0.0001
    assert read_quantity("4.35 kV", ["V"]).value == 4350.0


def test_every_unit_says_what_would_fit() -> None:
    for unit in UNITS:
        example = fitting([unit]).rsplit("such as ", 1)[1]
        assert read_quantity(example, [unit]).unit == unit
