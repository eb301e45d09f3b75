"""Bad plans with the exact line and column at which each is told, and a phrase of what is said."""

from __future__ import annotations

import pytest

from tests.plan.texts import HEAD, NAME, SAW, errors_of, marked, saw
from wirecheck.errors import PlanError, PlanErrors, nearest_word, visible
from wirecheck.plan import read_plan_text

S2 = "{kind: push-button, role: stop, contacts: {11-12: NC}}"
RELAY = "{kind: relay, coil: 24 V DC, contacts: {13-14: NO, 21-22: NC}}"
LAMP = "{kind: lamp, voltage: 24 V DC, colour: GN}"

# what stands in the sound plan, what stands there instead, what is said, the nearest word
CASES: dict[str, tuple[str, str, str, str]] = {
    # top level
    "unknown key": ("places:\n", "§placs:\n", "a plan has no key `placs`", "places"),
    "merge key": ("run_down_time: 2 s}", "§<<: {}}", "`<<` does not merge here", ""),
    "machine key": ("run_down_time", "§run_down_tim", "machine has no key `run_down_tim`", "run_down_time"),
    "machine without a name": ("{name: club bench saw, run", "§{run", "machine lacks `name`", ""),
    "region": ("run_down_time: 2 s", "region: §EU", "machine: region: `EU` is not known", ""),
    "wires as a mapping": ("wires:\n", "wires: §{a: b}\naccepted:\n", "wires: a mapping stands here", ""),
    "places as a list": ("places:\n  box: {ip: IP54, title: switch box}\n", "places: §[box]\n", "places: a list stands here", ""),
    "name of a place": ("  box: {ip", "  §'a box': {ip", "places: `a box` cannot be a name", ""),
    "a wire as a list": ("{number: 2, run: [S1:12, S2:11]}", "§[S1:12, S2:11]", "wire: a list stands here", ""),
    "a run as a word": ("[S1:12, S2:11]", "§S1:12", "wire 2: run: `S1:12` stands here", ""),
    # quantities
    "no unit": ("run_down_time: 2 s", "run_down_time: §2", "machine: run_down_time: `2` has no unit", ""),
    "unit that does not fit": ("voltage: 230 V,", "voltage: §230 A,", "has the unit A, which does not fit here", ""),
    "unknown unit": ("length: 3 m", "length: §3 metres", "has the unit `metres`, which is not known", ""),
    "glued DC": ("coil: 24 V DC", "coil: §24 VDC", "write a space before DC", ""),
    "decimal comma": ("size: 0.75 mm2, length", 'size: §"0,75 mm2", length', "has a comma: write a decimal point", ""),
    "AC where DC is meant": ("dc-supply, voltage: 24 V DC", "dc-supply, voltage: §24 V AC", "is AC, where only DC fits", ""),
    "nothing": ("length: 3 m", "length: §0 m", "must be more than nothing", ""),
    "negative": ("length: 3 m", "length: §-3 m", "is below nothing", ""),
    "range the wrong way": ("voltage: 230 V,", "voltage: §240-200 V,", "ends below its beginning", ""),
    "wire gauge outside NA": ("size: 0.75 mm2, length", "size: §18 AWG, length", "read only where machine.region is NA", ""),
    "AC after a length": ("length: 3 m", "length: §3 m AC", "only AC or DC can stand after V or A", ""),
    # words and types
    "role": ("role: stop", "role: §stp", "S2: role: `stp` is not known", "stop"),
    "boolean as a word": ("latching: true", "latching: §YES", "S1: latching: `YES` stands here", ""),
    "boolean in quotes": ("latching: true", "latching: §'true'", "`true` in quotes stands here", ""),
    "number out of bounds": ("phases: 1", "phases: §4", "G0: phases: `4` stands here", ""),
    "number with a leading zero": ("cores: 2", "cores: §02", "cable W1: cores: `02` stands here", ""),
    "colour": ("colour: GN", "colour: §GRN", "P1: colour: `GRN` is not a colour code", "GN"),
    "colour with two stripes": ("colour: GN", "colour: §GN/BU/RD", "is not a colour code", ""),
    "list for a word": ("role: stop", "role: §[stop]", "S2: role: a list stands here", ""),
    "word for a mapping": ("{ip: IP54, title: switch box}", "§IP54", "place box: `IP54` stands here", ""),
    "no value": ("role: stop", "role: §", "S2: role: nothing stands here", ""),
    "what is needed is unknown": ("phases: 1", "phases: §unknown", "G0: phases cannot be unknown", ""),
    "unknown inside a list": ("[1-2, 3-4]", "[1-2, §unknown]", "`unknown` stands in a list", ""),
    "no blank after a colon": ("role: stop", "§role:stop", "S2 has no key `role:stop`", ""),
    # devices
    "kind": ("kind: lamp", "kind: §lmap", "P1: there is no kind `lmap`", "lamp"),
    "no kind": ("P1: {kind: lamp, ", "§P1: {", "P1 lacks `kind`", ""),
    "a device that is none": (S2, "§button", "S2: `button` stands here", ""),
    "a name that is none": ("  P1: {", "  §P 1: {", "`P 1` cannot name a device", ""),
    "parameter": ("direct_opening", "§direct_openning", "S1 has no key `direct_openning`", "direct_opening"),
    "contacts of a lamp": (LAMP, "{kind: lamp, §contacts: {1-2: NO}}", "P1 has no key `contacts`", ""),
    "no poles": ("Q1: {kind: isolator, poles: [1-2, 3-4], ", "§Q1: {kind: isolator, ", "Q1 lacks `poles`", ""),
    "a pole that is none": ("[1-2, 3-4]", "[1-2, §34]", "Q1: poles: `34` stands here", ""),
    "place": ("place: box", "place: §bux", "Q1: there is no place bux", "box"),
    "link on a foreign mark": ("[V2, W2]", "[V2, §W3]", "M1: a link on `W3`, which is no terminal of it", "W1"),
    "link of one mark": ("[[U2, V2], [V2, W2]]", "[[U2, V2], §[V2]]", "M1: links: 1 item stands here", ""),
    "interlock with nobody": (RELAY, "{kind: relay, mechanical_interlock: §K9}", "K1: there is no device K9", ""),
    "interlock with a lamp": (RELAY, "{kind: relay, mechanical_interlock: §P1}", "interlock with P1 is not possible", ""),
    "interlock with itself": (RELAY, "{kind: relay, mechanical_interlock: §K1}", "interlock with K1 is not possible", ""),
    "poles of three": ("kind: motor,", "kind: motor, poles: §4/2/1,", "M1: poles: `4/2/1` stands here", ""),
    "a boolean as a word": ("role: stop", "role: §true", "S2: role: `true` is not known", ""),
    # contacts
    "form": ("{13-14: NO}}", "{13-14: §ON}}", "S3: contact 13-14: `ON` is no form of a push-button's contact", "NO"),
    "contacts as a list": ("{13-14: NO}}", "§[13-14]}", "S3: contacts: a list stands here", ""),
    "a contact as a list": ("{13-14: NO}}", "{13-14: §[NO]}}", "S3: contact 13-14: a list stands here", ""),
    "name of a contact": ("{13-14: NO}}", "{§13: NO}}", "S3: `13` cannot name a contact", ""),
    "contact from a mark to itself": ("{13-14: NO}}", "{§13-13: NO}}", "S3: `13-13` cannot name a contact", ""),
    "change-over with two marks": ("{13-14: NO}}", "{13-14: §CO}}", "2 marks stand here for the form CO", ""),
    "NO with three marks": ("{13-14: NO}}", "{11-12-14: §NO}}", "3 marks stand here for the form NO", ""),
    "a contact used twice": (
        "{13-14: NO}}",
        "{13-14: NO, §14-15: NC}}",
        "the mark 14 is used twice, in the contacts 13-14 and 14-15",
        "",
    ),
    "a contact on the coil": ("21-22: NC", "§A1-22: NC", "the mark A1 is used twice, in the contact A1-22 and on the coil", ""),
    "a pole used twice": ("[1-2, 3-4]", "[1-2, §2-3]", "Q1: the mark 2 is used twice", ""),
    "neither form nor positions": ("{13-14: NO}}", "{13-14: §{}}}", "S3: contact 13-14: nothing says when it conducts", ""),
    "form and positions": ("{13-14: NO}}", "{13-14: §{form: NO, closed_in: [pressed]}}}", "both say when it conducts", ""),
    "unknown position": ("{13-14: NO}}", "{13-14: {closed_in: [§presed]}}}", "S3 has no position `presed`", "pressed"),
    "key of a contact": ("{13-14: NO}}", "{13-14: {form: NO, §early_brake: true}}}", "has no key `early_brake`", "early_break"),
    "delay without a unit": ("{13-14: NO}}", "{13-14: {form: NO, on_delay: §2}}}", "on_delay: `2` has no unit", ""),
    # wires
    "wire key": ("{number: 2, run: [S1", "{§nr: x, number: 2, run: [S1", "wire 2 has no key `nr`", "number"),
    "no number": ("{number: 2, run", "§{run", "wire lacks `number`", ""),
    "number with a blank": ("number: 2,", "number: §2 a,", "`2 a` cannot be a wire number", ""),
    "no run": ("{number: 5, run: [K1:22, P1:X1]}", "§{number: 5}", "wire 5 lacks `run`", ""),
    "one end": ("[S1:12, S2:11]", "§[S1:12]", "wire 2 has 1 end", ""),
    "no end": ("[S1:12, S2:11]", "§[]", "wire 2 has no ends", ""),
    "the same terminal twice in a row": ("[S1:12, S2:11]", "[S1:12, §S1:12, S2:11]", "the run passes S1:12 twice in a row", ""),
    "unknown device": ("[S1:12, S2:11]", "[S1:12, §S9:11]", "wire 2: there is no device S9", "S1"),
    "unknown terminal": ("[S1:12, S2:11]", "[S1:§12, S2:11]", "", ""),
    "a terminal that is none": ("[S1:12, S2:11]", "[S1:12, §S2]", "wire 2: `S2` is not a terminal", ""),
    "unknown cable": ("K1:A1], cable: W1", "K1:A1], cable: §W11", "wire 4: there is no cable W11", "W1"),
    "core without a cable": ("[S1:12, S2:11]}", "[S1:12, S2:11], core: §1}", "wire 2 names a core but no cable", ""),
    "more conductors than cores": ("[S1:12, S2:11]}", "[S1:12, S2:11], cable: W1}", "W1 has 2 cores", ""),
    "one number on two potentials": ("{number: 5, run", "§{number: 4, run", "wire number 4 stands on two potentials", ""),
    "size of a wire": ("size: 0.75 mm2, colour", "size: §0.75 mm, colour", "has the unit mm, which does not fit here", ""),
}
# the last conductor of a cable is told where it stands, not where the one stands that was added
ELSEWHERE = {
    "unknown terminal": saw("[S1:12, S2:11]", "[S1:12, §S2:12x]"),
    "more conductors than cores": saw("[S1:12, S2:11]}", "[S1:12, S2:11], cable: W1}").replace(
        "K1:A1], cable: W1", "K1:A1], cable: §W1"
    ),
}
PHRASES = {"unknown terminal": ("wire 2: S2 (push-button) has no terminal 12x", "12")}


@pytest.mark.parametrize("name", CASES)
def test_a_bad_plan_is_told_at_its_place(name: str) -> None:
    old, new, phrase, nearest = CASES[name]
    phrase, nearest = PHRASES.get(name, (phrase, nearest))
    text, line, column = marked(ELSEWHERE.get(name) or saw(old, new))
    found = [e for e in errors_of(text) if (e.line, e.column) == (line, column)]
    assert found, f"nothing at {line}:{column}: {[str(e) for e in errors_of(text)]}"
    assert phrase in found[0].message
    assert found[0].nearest == nearest
    assert found[0].file == NAME
    assert found[0].text == text.splitlines()[line - 1]


KINDS = {
    "selector with NO": ("{kind: selector, positions: [a, b], contacts: {1-2: §NO}}", "say in which positions it conducts"),
    "selector without positions": ("§{kind: selector}", "D1 lacks `positions`"),
    "selector with one position": ("{kind: selector, positions: §[a]}", "positions: 1 item stands here"),
    "position twice": ("{kind: selector, positions: §[a, b, a]}", "a position stands twice"),
    "devices with a bad terminal name": ("{kind: drive, control: {inputs: {§'DI 1': jog}}}", "`DI 1` cannot name a terminal"),
    "run position": ("{kind: selector, positions: [off, run], run_positions: [§rum]}", "D1 has no position `rum`"),
    "guard with NC": ("{kind: guard-switch, contacts: {1-2: §NC}}", "say guard-closed or guard-open"),
    "safety relay without channels": ("§{kind: safety-relay}", "D1 lacks `channels`"),
    "channel of three": ("{kind: safety-relay, channels: [§[a, b, c]]}", "channels: 3 items stand here"),
    "plate without connection": ("{kind: motor, plate: §400 V}", "plate: `400 V` stands here"),
    "odd poles": ("{kind: motor, poles: §3}", "poles: `3` stands here"),
    "connection": ("{kind: motor, plate: {§dleta: 230 V}}", "plate has no key `dleta`"),
    "two-speed power": ("{kind: motor, power: {low: 1 kW, §hi: 2 kW}}", "power has no key `hi`"),
    "power factor": ("{kind: motor, power_factor: §1.2}", "power_factor: `1.2` stands here"),
    "drive input": ("{kind: drive, control: {inputs: {DI1: §run-foward}}}", "inputs: DI1: `run-foward` is not known"),
    "what an input does": ("{kind: drive, control: {inputs: {DI1: §{acts_when: open}}}}", "inputs: DI1 lacks `does`"),
    "relay of a drive": (
        "{kind: drive, control: {relays: {§RA: {form: NO, acts_on: healthy}}}}",
        "`RA` cannot name a relay contact",
    ),
    "relay of a drive without a form": ("{kind: drive, control: {relays: {RA-RC: §{acts_on: healthy}}}}", "RA-RC lacks `form`"),
    "empty mapping of a drive": ("{kind: drive, control: §}", "control: nothing stands here"),
    "custom elements as a word": ("{kind: custom, elements: §contact}", "elements: `contact` stands here"),
    "change-over of a drive": ("{kind: drive, control: {relays: {§RA-RC: {form: CO, acts_on: fault}}}}", "of the form CO"),
    "setting": ("{kind: drive, settings: {stop: {mode: §brake}}}", "settings: stop: mode: `brake` is not known"),
    "setting that is none": ("{kind: drive, settings: {§motor_curent: 3 A}}", "settings has no key `motor_curent`"),
    "custom element that is two": (
        "{kind: custom, elements: [§{coil: A1-A2, load: 1-2}]}",
        "an element is coil and load at once",
    ),
    "custom element that is nothing": ("{kind: custom, elements: [§{voltage: 24 V}]}", "an element is nothing at once"),
    "custom resistor with a voltage": (
        "{kind: custom, elements: [{resistor: 1-2, §voltage: 24 V}]}",
        "a resistor has no `voltage`",
    ),
    "custom contact in no position": ("{kind: custom, elements: [§{contact: 1-2}]}", "does not say when it conducts"),
    "custom position": ("{kind: custom, positions: [a, b], elements: [§{contact: 1-2, closed_in: [c]}]}", "closed in `c`"),
    "custom with two coils": ("{kind: custom, elements: [{coil: A1-A2}, §{coil: B1-B2}]}", "a second coil stands here"),
    "custom with coil and positions": (
        "{kind: custom, positions: [a, b], elements: [§{coil: A1-A2}]}",
        "has positions and a coil",
    ),
}


@pytest.mark.parametrize("name", KINDS)
def test_a_bad_device_is_told_at_its_place(name: str) -> None:
    described, phrase = KINDS[name]
    text, line, column = marked(f"{HEAD}devices:\n  D1: {described}\nwires: []\n")
    found = errors_of(text)
    assert [(e.line, e.column) for e in found] == [(line, column)], [str(e) for e in found]
    assert phrase in found[0].message


FUNCTIONS = {
    "no such device": ("{when: §S9=pressed, must: M1 stopped}", "function f: there is no device S9"),
    "no such position": ("{when: §S1=pushed, must: M1 stopped}", "S1 (emergency-stop) has no position `pushed`"),
    "no event": ("{when: §S1, must: M1 stopped}", "`S1` is not an event"),
    "one of several": ("{when: [S1=pressed, §S2=opened], must: M1 stopped}", "has no position `opened`"),
    "no demand": ("{when: S1=pressed, must: §M1}", "`M1` does not say what must be"),
    "misspelt demand": ("{when: S1=pressed, must: §M1 stoped}", "`M1 stoped` does not say what must be"),
    "a lamp stopped": ("{when: S1=pressed, must: §P1 stopped}", "P1 (lamp) cannot be stopped"),
    "a button off": ("{when: S1=pressed, must: §S2 off}", "S2 (push-button) cannot be off"),
    "a motor off": ("{when: S1=pressed, must: §M1 off}", "M1 (motor) cannot be off"),
    "category": ("{when: S1=pressed, must: M1 stopped, required: {category: §5}}", "category: `5` is not known"),
    "level": ("{when: S1=pressed, must: M1 stopped, required: {level: §f}}", "level: `f` is not known"),
    "risk": ("{when: S1=pressed, must: M1 stopped, risk: {S: §3, F: 1, P: 1}}", "risk: S: `3` stands here"),
    "half a risk": ("{when: S1=pressed, must: M1 stopped, risk: §{S: 2, F: 1}}", "risk lacks `P`"),
    "no cause": ("§{must: M1 stopped}", "function f lacks `when`"),
    "key": ("{when: S1=pressed, must: M1 stopped, §require: {level: c}}", "function f has no key `require`"),
}


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_bad_function_is_told_at_its_place(name: str) -> None:
    described, phrase = FUNCTIONS[name]
    text, line, column = marked(f"{SAW}functions:\n  f: {described}\n")
    found = errors_of(text)
    assert [(e.line, e.column) for e in found] == [(line, column)], [str(e) for e in found]
    assert phrase in found[0].message


@pytest.mark.parametrize(
    ("item", "phrase"),
    [
        ("{rule: x, devices: [§S9]}", "accepted: there is no device S9"),
        ("§{devices: [S1]}", "accepted lacks `rule`"),
        ("{rule: x, §device: [S1]}", "accepted has no key `device`"),
    ],
)
def test_a_bad_acceptance_is_told_at_its_place(item: str, phrase: str) -> None:
    text, line, column = marked(f"{SAW}accepted:\n  - {item}\n")
    found = errors_of(text)
    assert [(e.line, e.column) for e in found] == [(line, column)]
    assert phrase in found[0].message


def test_the_sound_plan_has_no_error() -> None:
    assert errors_of(SAW) == ()


def test_devices_that_are_no_mapping_are_told() -> None:
    (error,) = errors_of("wirecheck: 1\nmachine: {name: x}\ndevices: [S1]\nwires: []\n")
    assert (error.line, error.column, error.message) == (3, 10, "devices: a list stands here")


def test_accepted_that_is_no_list_is_told() -> None:
    (error,) = errors_of(f"{SAW}accepted: {{rule: x}}\n")
    assert error.message == "accepted: a mapping stands here"


def test_a_demand_on_a_device_that_is_not_there_is_told() -> None:
    (error,) = errors_of(f"{SAW}functions:\n  f: {{when: S1=pressed, must: [M1 stopped, M7 stopped]}}\n")
    assert (error.message, error.nearest) == ("function f: there is no device M7", "M1")


def test_a_custom_load_can_be_off_and_a_custom_contact_cannot() -> None:
    text = saw("  M1:", "  A1: {kind: custom, elements: [%s]}\n  M1:") + "functions:\n  f: {when: S1=pressed, must: A1 off}\n"
    assert errors_of(text % "{load: 1-2}") == ()
    assert [e.message for e in errors_of(text % "{link: [1, 2]}")] == ["function f: A1 (custom) cannot be off"]


def test_a_core_carries_one_wire() -> None:
    text = saw("colour: BU, cable: W1", "cable: W1, core: 1").replace("K1:A1], cable: W1", "K1:A1], cable: W1, core: §1")
    text, line, column = marked(text)
    assert [(e.line, e.column) for e in errors_of(text)] == [(line, column)]
    assert "core 1 of W1 already carries the wire in line" in errors_of(text)[0].message


def test_all_errors_of_a_file_are_told_in_its_order() -> None:
    text = saw("role: stop", "role: stp").replace("kind: lamp", "kind: lmap").replace("[S1:12, S2:11]", "[S1:12, S9:1]")
    found = errors_of(text)
    assert [e.nearest for e in found] == ["stop", "lamp", "S1"]
    assert [e.line for e in found] == sorted(e.line for e in found)


def test_one_mistake_is_told_once() -> None:
    """Wires to a device that could not be read, or that was read in part, say nothing more."""
    assert len(errors_of(saw("kind: lamp", "kind: lmap"))) == 1
    assert len(errors_of(saw("{13-14: NO}}", "{13-14: ON}}"))) == 1


def test_an_error_is_clear_text() -> None:
    with pytest.raises(PlanErrors) as caught:
        read_plan_text(saw("role: stop", "role: stp"), NAME)
    assert str(caught.value).splitlines() == [
        "bench-saw.yaml:11:33: S2: role: `stp` is not known",
        "   11 |   S2: {kind: push-button, role: stp, contacts: {11-12: NC}}",
        "      |                                 ^",
        "    did you mean `stop`?",
        "    expected: one of start, stop, control-on, reset, forward, reverse, jog, other",
    ]


def test_a_drive_input_called_stop_is_told_as_run_permit_with_the_level_at_which_it_stops() -> None:
    drive = (
        "  T1: {kind: drive, input: {terminals: [L, N], phases: 1, voltage: 200-240 V}, output: {terminals: [U, V, W]},\n"
        "    control: {mode: three-wire, inputs: {DI1: Start, DI2: stop, DI3: {does: stop, acts_when: open}}}}\n"
    )
    found = errors_of(saw("  M1:", drive + "  M1:"))
    assert [e.nearest for e in found] == ["run-forward", "{does: run-permit, acts_when: open}", "run-permit"]


def test_several_errors_end_with_their_count() -> None:
    with pytest.raises(PlanErrors) as caught:
        read_plan_text(saw("role: stop", "role: stp").replace("kind: lamp", "kind: lmap"), NAME)
    assert str(caught.value).endswith("\n2 errors")


def test_a_long_list_of_known_words_is_told_only_where_none_is_near() -> None:
    assert errors_of(saw("kind: lamp", "kind: lmap"))[0].expected == ""
    assert "braking-resistor, buzzer" in errors_of(saw("kind: lamp", "kind: qqq"))[0].expected


def test_what_would_fit_is_shown_where_a_beginner_writes_too_little() -> None:
    assert "closed_in" in errors_of(saw("{13-14: NO}}", "{13-14: [NO]}}"))[0].expected
    [error] = errors_of(saw("kind: motor,", "kind: motor, current: 4.6 A,"))
    assert error.expected.endswith("such as {delta: ...}")


@pytest.mark.parametrize(
    ("word", "known", "nearest"),
    [
        ("Push_Button", ["push-button", "lamp"], "push-button"),
        ("START", ["start", "stop"], "start"),
        ("color", ["colour", "coil"], "colour"),
        ("S9", ["K1", "S1", "S2"], "S1"),
        ("U", ["U1", "V1", "U2"], "U1"),
        ("zzz", ["start", "stop"], ""),
        ("Pushbuton", ["push-button", "lamp"], "push-button"),
        ("x", [], ""),
    ],
)
def test_the_nearest_known_word(word: str, known: list[str], nearest: str) -> None:
    assert nearest_word(word, known) == nearest


def test_what_could_drive_a_terminal_is_shown_as_an_escape() -> None:
    assert visible("a\x1b[31m\u202eb\tc") == "a\\x1b[31m\\u202eb    c"
    assert "\x1b" not in str(PlanError("\x1b.yaml", 1, 1, "bad", text="\x1b"))
