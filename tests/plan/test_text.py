"""The text of a plan: strict YAML 1.2, bounds on what it may expand to, and files that are no plans. With both parsers."""

from __future__ import annotations

from pathlib import Path
from time import perf_counter

import pytest
import yaml

import wirecheck.nodes.builder
from tests.plan.texts import HEAD, SAW, errors_of, marked, read
from wirecheck.errors import PlanErrors
from wirecheck.nodes import compose, plain_data
from wirecheck.plan import decode_plan, read_plan, read_plan_text

PARSERS = {"pure": yaml.SafeLoader} | ({"C": yaml.CSafeLoader} if hasattr(yaml, "CSafeLoader") else {})


@pytest.fixture(params=sorted(PARSERS), autouse=True)
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every test runs with the C parser, where there is one, and with the pure one."""
    monkeypatch.setattr(wirecheck.nodes.builder, "_LOADER", PARSERS[request.param])


@pytest.mark.parametrize(
    "word",
    [
        "NO",
        "no",
        "ON",
        "OFF",
        "off",
        "Y",
        "N",
        "yes",
        "True",
        "11-12",
        "1:30",
        "12:30:45",
        "1.10",
        "010",
        "0x1F",
        "1e3",
        "1_000",
        "2024-05-01",
        "=",
        ".inf",
        "+1",
    ],
)
def test_a_plain_word_stays_the_word_that_was_written(word: str) -> None:
    node = compose(f"a: {word}", "t")
    value = node.pairs[0][1]
    assert value.text == word
    assert not value.is_boolean
    assert plain_data(node) == {"a": word}


def test_only_two_words_are_booleans() -> None:
    assert plain_data(compose("[true, false, 'true', 12, 0, 012, ~, null]", "t")) == [
        True,
        False,
        "true",
        12,
        0,
        "012",
        None,
        None,
    ]


def test_nodes_know_where_they_begin() -> None:
    node = compose("a: 1\nb:\n  - x\n  - {k: 'v'}\n", "t")
    item = node.pairs[1][1].items[1]
    assert (item.line, item.column) == (4, 5)
    assert [(n.line, n.column) for n in item.pairs[0]] == [(4, 6), (4, 9)]


def test_columns_count_characters() -> None:
    assert compose("{ü: 'é😀', b: 1}", "t").pairs[1][0].column == 11


SYNTAX = {
    "wirecheck: 1\ndevices:\n  S1: {kind: lamp\n  S2§: {kind: lamp}\n": "a comma or the closing } is missing",
    "wires:\n  - {number: 1, run: [a:1, b:2§}\n": "a comma or the closing ] is missing",
    "devices:\n§\tS1: x\n": "a tab stands here: indent with spaces",
    "devices:\n  S1: {a: 1}\n§\tS2: x\n": "a tab stands here: indent with spaces",
    "machine: name§: x\n": "a colon makes a second key on this line",
    "machine: §@x\n": "this character cannot begin a word",
    'machine: {name: §"abc}\nwires: []\n': "this quote is never closed",
}


@pytest.mark.parametrize("text", SYNTAX)
def test_what_is_no_yaml_is_told_in_plain_words(text: str) -> None:
    phrase = SYNTAX[text]
    text, line, column = marked(text)
    (error,) = errors_of(text)
    assert phrase in error.message
    assert (error.line, error.column) == (line, column)


def test_a_backslash_in_double_quotes_is_told() -> None:
    (error,) = errors_of('machine: {name: "a\\q"}\n')
    assert "a backslash in double quotes: use single quotes" in error.message


def test_every_repeated_key_is_an_error() -> None:
    found = errors_of(
        "wirecheck: 1\nmachine: {name: a, name: b}\ndevices:\n  S1: {kind: lamp}\n  S1: {kind: lamp}\nwirecheck: 1\n"
    )
    assert [(e.line, e.column) for e in found] == [(2, 20), (5, 3), (6, 1)]
    assert "the key `S1` stands twice in one mapping, first in line 4" in found[1].message


def test_a_repeated_key_is_found_in_a_large_mapping() -> None:
    text = "".join(f"k{n}: 1\n" for n in range(3000)) + "k17: 2\n"
    (error,) = errors_of(text)
    assert (error.line, error.message) == (3001, "the key `k17` stands twice in one mapping, first in line 18")


def test_an_alias_stands_for_what_it_names() -> None:
    plan = read(
        f"{HEAD}devices:\n  P1: &lamp {{kind: lamp, voltage: &v 24 V DC}}\n  P2: *lamp\n"
        "  K1: {kind: relay, coil: *v}\nwires: []\n"
    )
    assert plan.devices["P1"].values == plan.devices["P2"].values
    assert plan.devices["K1"].values["coil"] == plan.devices["P1"].values["voltage"]


NINE = "[" + ",".join(["*{0}"] * 9) + "]"
HOSTILE = {
    "alias bomb": "a: &a [x,x,x,x,x,x,x,x,x]\n"
    + "".join(f"{b}: &{b} {NINE.format(a)}\n" for a, b in zip("abcdefghi", "bcdefghij", strict=True)),
    "alias of itself": "wirecheck: 1\nmachine: &a {name: *a}\n",
    "alias of nothing": "wirecheck: 1\nmachine: *a\n",
    "deep brackets": "wirecheck: " + "[" * 100_000,
    "deep braces": "{a: " * 50_000,
    "deep dashes": "- " * 50_000,
    "deep keys": "? " * 20_000,
    "deep lines": "".join(" " * n + "a:\n" for n in range(300)),
    "Python tag": "wirecheck: 1\nmachine: !!python/object/apply:os.getcwd []\n",
    "tag": "wirecheck: 1\nmachine: {name: !x y}\n",
    "list as a key": "wirecheck: 1\n? [a, b]\n: c\n",
    "two documents": "wirecheck: 1\n---\nwirecheck: 1\n",
    "control character": 'wirecheck: 1\nmachine: {name: "\x1b[31mred"}\n',
    "null character": "wirecheck: 1\0",
    "lone surrogate": "wirecheck: 1\nmachine: {name: \ud800}\n",
    "other version of YAML": "%YAML 3.0\n---\nwirecheck: 1\n",
    "key without end": "x" * 5000 + ": 1\n",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_text_gives_one_clear_error_at_once(name: str) -> None:
    began = perf_counter()
    (error,) = errors_of(HOSTILE[name])
    assert perf_counter() - began < 2
    assert error.line >= 1
    assert len(error.message) < 200
    assert str(error).isprintable() or "\n" in str(error)
    assert "\x1b" not in str(error)


def test_a_bomb_does_not_go_off() -> None:
    (error,) = errors_of(HOSTILE["alias bomb"])
    assert "has more than 500000 values" in error.message
    (error,) = errors_of(HOSTILE["alias of itself"])
    assert "*a stands inside what it refers to" in error.message


@pytest.mark.parametrize(
    ("text", "phrase"),
    [
        ("", "the text is empty"),
        ("# only a comment\n", "the text is empty"),
        ("hello", "`hello` stands here instead of a plan"),
        ("- a\n", "a list stands here instead of a plan"),
        ("machine: {name: x}\n", "the key `wirecheck` is missing"),
        ("wirecheck: 2\nrubbish: 1\n", "`2` is no version of the plan format that is known"),
        ("wirecheck: [1]\n", "a list is no version of the plan format that is known"),
    ],
)
def test_a_text_that_is_no_plan_of_this_version_gets_one_message(text: str, phrase: str) -> None:
    (error,) = errors_of(text)
    assert phrase in error.message


def test_what_a_plan_lacks_is_told() -> None:
    assert [e.message for e in errors_of("wirecheck: 1\n")] == [f"the plan lacks `{k}`" for k in ("machine", "devices", "wires")]


def test_windows_line_ends_and_a_byte_order_mark_are_read() -> None:
    plan = read_plan_text("\ufeff" + SAW.replace("\n", "\r\n"), "saw.yaml")
    assert len(plan.wires) == len(read(SAW).wires)
    assert plan.devices["S1"].spot.line == read(SAW).devices["S1"].spot.line


def error_of(path: Path) -> str:
    """The one error of a file."""
    with pytest.raises(PlanErrors) as caught:
        read_plan(path)
    (error,) = caught.value.errors
    assert error.file == str(path)
    return error.message


def test_a_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "saw.yaml"
    path.write_bytes(SAW.encode())
    plan = read_plan(path)
    assert plan.file == str(path)
    assert plan.lines == tuple(SAW.splitlines())
    assert read_plan("standard input", SAW).file == "standard input"


def test_what_is_no_text_file_gets_one_message(tmp_path: Path) -> None:
    assert error_of(tmp_path) == "this is a folder"
    assert error_of(tmp_path / "none.yaml") == "there is no such file"
    assert error_of(tmp_path / "a\0b") == "the file cannot be read: embedded null byte"
    path = tmp_path / "plan.yaml"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\xff")
    assert error_of(path) == "this is not a text file"
    path.write_bytes(SAW.encode("utf-16"))
    assert error_of(path) == "this is not a text file"
    path.write_bytes(b"")
    assert error_of(path) == "the text is empty"
    path.write_bytes(b"#" * 4_000_001)
    assert error_of(path) == "the file has 4.0 MB"


def test_what_is_not_utf8_is_told_at_its_place() -> None:
    with pytest.raises(PlanErrors) as caught:
        decode_plan("wirecheck: 1\nmachine: {name: Säge}\n".encode("latin-1"), "saw.yaml")
    (error,) = caught.value.errors
    assert (error.line, error.column) == (2, 18)
    assert error.message == "the text is not UTF-8 (byte 0xe4)"


def test_a_text_that_is_too_long_is_not_read() -> None:
    with pytest.raises(PlanErrors, match=r"the file has 5\.0 MB"):
        read_plan_text("#" * 5_000_000, "x.yaml")
    with pytest.raises(PlanErrors, match=r"the file has 5\.0 MB"):
        decode_plan(b"#" * 5_000_000, "x.yaml")


def test_a_long_line_is_shown_around_the_place() -> None:
    text = f"{HEAD}devices:\n  P1: {{kind: lamp, title: {'y' * 300}, voltag: 24 V}}\nwires: []\n"
    (error,) = errors_of(text)
    shown = str(error).splitlines()
    assert shown[1].startswith("    4 | ... ")
    assert shown[1][shown[2].index("^") :].startswith("voltag")
    assert len(shown[1]) < 140
