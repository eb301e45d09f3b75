"""The drawing's inner parts: letters, lanes, order of devices, colours, measures."""

from __future__ import annotations

import pytest

from wirecheck.drawings.colours import CASING, CORE_COLOURS, conductor
from wirecheck.drawings.lettering import clean, shorten, width, wrap
from wirecheck.drawings.measuring import crossings, length
from wirecheck.drawings.placing import Link, anneal, arrange, split
from wirecheck.drawings.shapes import parallel, tidy
from wirecheck.drawings.sheet import choose_sheet
from wirecheck.drawings.tracks import Stretch, lanes, overlap


def test_a_text_is_as_wide_as_its_letters() -> None:
    # Helvetica's metrics (Adobe font metrics, value from memory): i 222, M 833, digits 556 thousandths.
    assert width("iM1", 10) == pytest.approx(16.11)
    assert width("M", 10, bold=True) == pytest.approx(8.33)
    assert width("\u6f22", 10) == 10


def test_words_are_wrapped_and_long_ones_cut() -> None:
    assert wrap("one two three", 10, width("one two", 10)) == ["one two", "three"]
    lines = wrap("x" * 40, 10, 52)
    assert "".join(lines) == "x" * 40
    assert all(width(line, 10) <= 52 for line in lines)


def test_what_exceeds_the_lines_ends_in_an_ellipsis() -> None:
    lines = wrap("one two three four five six", 10, 40, lines=2)
    assert len(lines) == 2
    assert lines[-1].endswith("\u2026")
    assert all(width(line, 10) <= 40 for line in lines)


def test_a_text_that_fits_is_not_shortened() -> None:
    assert shorten("L01", 7, 100) == "L01"


def test_clean_text_is_one_line_without_control_characters() -> None:
    assert clean("a\n b\x00\u200f") == "a b\ufffd\ufffd"


def test_stretches_that_overlap_get_lanes_of_their_own() -> None:
    stretches = [Stretch(((n * 7.0, -1), (n * 7.0 + 30.0, 1))) for n in range(20)]
    found = lanes(stretches)
    for i in range(20):
        for j in range(i):
            assert not overlap(stretches[i], stretches[j]) or found[i] != found[j]
    assert max(found) < 20


def test_stretches_far_apart_share_a_lane() -> None:
    assert lanes([Stretch(((0.0, 1), (10.0, 1))), Stretch(((50.0, 1), (60.0, 1)))]) == [0, 0]


def test_nested_stretches_do_not_cross() -> None:
    """Both leave towards higher lanes: the outer one runs farther from there, or its ends would be crossed."""
    inner, outer = Stretch(((10.0, 1), (20.0, 1))), Stretch(((0.0, 1), (30.0, 1)))
    assert lanes([inner, outer]) == [1, 0]


def test_a_stretch_never_comes_to_lie_on_one_that_leaves_at_the_same_spot() -> None:
    """One leaves downwards and one upwards at 10: the one that goes up must have the lower lane."""
    down, up = Stretch(((10.0, 1), (40.0, 1))), Stretch(((10.0, -1), (30.0, -1)))
    assert lanes([down, up]) == [1, 0]


def test_a_row_is_no_wider_than_it_must_be() -> None:
    widths = dict.fromkeys("abcdef", 100.0)
    assert split(list("abcdef"), widths, 2) == [["a", "b", "c"], ["d", "e", "f"]]
    assert split(list("ab"), widths, 5) == [["a"], ["b"]]


LINKS = [Link(a, 50, True, b, 50, False) for a, b in ("ad", "be", "cf")]


def test_devices_that_are_wired_together_come_under_each_other() -> None:
    widths = dict.fromkeys("abcdef", 100.0)
    upper, lower = arrange([["a", "b", "c"], ["f", "e", "d"]], widths, LINKS, {})
    assert ["abc".index(n) for n in upper] == ["def".index(n) for n in lower]


def test_a_search_with_the_same_seed_finds_the_same_and_loses_no_device() -> None:
    widths = dict.fromkeys("abcdef", 100.0)
    start = [["f", "b", "c"], ["a", "e", "d"]]
    first = anneal(start, widths, LINKS, {}, 7, 400)
    assert first == anneal(start, widths, LINKS, {}, 7, 400)
    assert sorted(n for row in first for n in row) == list("abcdef")
    assert all(first)


def test_crossings_and_length_are_counted() -> None:
    level, upright = ((0.0, 5.0), (10.0, 5.0)), ((5.0, 0.0), (5.0, 10.0))
    assert crossings([level, upright]) == 1
    assert crossings([level, ((20.0, 0.0), (20.0, 10.0))]) == 0
    assert length([level, upright]) == 20


def test_cores_beside_each_other_never_cross() -> None:
    middle = [(0.0, 0.0), (50.0, 0.0), (50.0, 80.0), (20.0, 80.0)]
    cores = [tuple(parallel(middle, offset)) for offset in (-6.0, 0.0, 6.0)]
    assert crossings(cores) == 0
    assert cores[2][0] == (0.0, 6.0)
    assert cores[2][1] == (44.0, 6.0)


def test_points_on_the_way_are_left_out() -> None:
    assert tidy([(0.0, 0.0), (0.0, 0.0), (5.0, 0.0), (9.0, 0.0), (9.0, 4.0)]) == ((0.0, 0.0), (9.0, 0.0), (9.0, 4.0))


def test_a_light_conductor_has_a_dark_casing_and_a_dark_one_has_none() -> None:
    points = ((0.0, 0.0), (9.0, 0.0))
    white, black, striped = (conductor(points, code) for code in ("WH", "BK", "WH/BU"))
    assert white[0].pen == CASING
    assert len(black) == 1
    assert [line.pen.colour for line in striped if line.pen][1:] == [CORE_COLOURS["WH"], CORE_COLOURS["BU"]]


def test_a_protective_conductor_is_green_with_yellow_dashes() -> None:
    _, green, yellow = conductor(((0.0, 0.0), (9.0, 0.0)), "GNYE")
    assert green.pen
    assert yellow.pen
    assert (green.pen.colour, green.pen.dash) == (CORE_COLOURS["GNYE"], ())
    assert yellow.pen.colour == CORE_COLOURS["YE"]
    assert yellow.pen.dash


def test_a_wire_of_unknown_colour_is_drawn_all_the_same() -> None:
    assert len(conductor(((0.0, 0.0), (9.0, 0.0)), "")) == 1


@pytest.mark.parametrize(
    ("size", "name"),
    [((700.0, 500.0), "A3"), ((1500.0, 900.0), "A2"), ((2200.0, 1500.0), "A1"), ((9000.0, 4000.0), "larger than A0")],
)
def test_the_smallest_sheet_that_can_be_read_is_taken(size: tuple[float, float], name: str) -> None:
    found, width_mm, height_mm, scale = choose_sheet(size, 74.0)
    assert found == name
    assert scale >= 0.9
    assert size[0] * scale / 72 * 25.4 < width_mm
    assert (size[1] + 74.0) * scale / 72 * 25.4 < height_mm
