"""Small random circuits as plan texts, one for each seed: mostly alive, sometimes racing, swinging or shorting.

A circuit is drawn as a person would draw one by mistake: a control supply, some hand-operated devices, some coils each behind a
random network of contacts with a bias towards start, stop and holding contact, then lamps, motors and perhaps a drive. Every use
of a contact gets a contact of its own on the device.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

Net = list[str]
"""Terminals on one potential."""


@dataclass
class Part:
    """A device on its way into the text."""

    kind: str
    words: list[str] = field(default_factory=list)
    contacts: list[str] = field(default_factory=list)
    positions: tuple[str, ...] = ()
    poles: list[str] = field(default_factory=list)


class Circuit:
    """A circuit being drawn: devices and nets."""

    def __init__(self, seed: int) -> None:
        self.dice = Random(seed)
        self.parts: dict[str, Part] = {}
        self.nets: list[Net] = []

    def add(self, name: str, kind: str, *words: str, positions: tuple[str, ...] = ()) -> str:
        self.parts[name] = Part(kind, list(words), positions=positions)
        return name

    def net(self, *terminals: str) -> Net:
        self.nets.append(list(terminals))
        return self.nets[-1]

    def chance(self, probability: float) -> bool:
        return self.dice.random() < probability

    # Contacts

    def contact(self, name: str, form: str | None = None) -> tuple[str, str]:
        """A new contact of a device: its two terminals."""
        part = self.parts[name]
        number = len(part.contacts) + (3 if part.kind == "contactor" else 1)  # below that are the marks of poles
        if part.kind in ("selector", "key-switch"):
            chosen = self.dice.sample(part.positions, self.dice.randint(1, len(part.positions) - 1))
            part.contacts.append(f"{number}3-{number}4: {{closed_in: [{', '.join(chosen)}]}}")
            return f"{name}:{number}3", f"{name}:{number}4"
        if part.kind == "plug-connector":
            mark = 2 * len(part.poles) + 1
            part.poles.append(f"{mark}-{mark + 1}")
            return f"{name}:{mark}", f"{name}:{mark + 1}"
        form = form or self.dice.choice(["NO", "NC"])
        if part.kind == "guard-switch":
            a, b, said = f"{number}1", f"{number}2", "guard-closed" if form == "NC" else "guard-open"
            part.contacts.append(f"{a}-{b}: {said}")
            return f"{name}:{a}", f"{name}:{b}"
        return self._plain_contact(name, part, number, form)

    def _plain_contact(self, name: str, part: Part, number: int, form: str) -> tuple[str, str]:
        late = part.kind == "timer-relay" and self.chance(0.7)
        units = {"NC": "56" if late else "12", "NO": "78" if late else "34"}[form]
        if self.chance(0.12):
            common, nc, no = (f"{number}{u}" for u in ("568" if late else "124"))
            part.contacts.append(f"{common}-{nc}-{no}: CO")
            return f"{name}:{common}", f"{name}:{nc if form == 'NC' else no}"
        a, b = f"{number}{units[0]}", f"{number}{units[1]}"
        delayed = part.kind in ("relay", "safety-relay") and self.chance(0.06)
        extra = self.dice.choice(["on_delay: 1 s", "off_delay: 2 s"])
        part.contacts.append(f"{a}-{b}: {{form: {form}, {extra}}}" if delayed else f"{a}-{b}: {form}")
        return f"{name}:{a}", f"{name}:{b}"

    def series(self, start: Net, end: Net, contacts: list[tuple[str, str]]) -> None:
        """Contacts one after the other between two nets."""
        here = start
        for index, (a, b) in enumerate(contacts):
            here.append(a)
            here = end if index == len(contacts) - 1 else self.net()
            here.append(b)

    def weight(self) -> int:
        """About how many variables of two values the circuit's states need."""
        return sum(self._weight(part) for part in self.parts.values())

    @staticmethod
    def _weight(part: Part) -> int:
        text = " ".join([*part.words, *part.contacts])
        own = {
            "drive": 3 + text.count("DI") + text.count("STO1"),
            "safety-relay": 3,
            "thermistor-relay": 2,
            "no-volt-release": 3,
            "timer-relay": 2,
        }
        still = ("dc-supply", "transformer", "terminal-block", "diode", "lamp", "solenoid", "buzzer")
        bits = own.get(part.kind, 0 if part.kind in still or (part.kind == "motor" and "sensor" not in text) else 1)
        passing = part.kind in ("selector", "key-switch") or "CO" in text
        return bits + (1 if passing else 0) + text.count("_delay:")

    # Text

    def text(self) -> str:
        """The circuit as a plan."""
        lines = ["wirecheck: 1", "machine: {name: a random circuit}", "devices:"]
        for name, part in self.parts.items():
            words = [f"kind: {part.kind}", *part.words]
            if part.positions:
                words.append(f"positions: [{', '.join(part.positions)}]")
            if part.poles:
                words.append(f"poles: [{', '.join(part.poles)}]")
            if part.contacts:
                words.append("contacts: {" + ", ".join(part.contacts) + "}")
            lines.append(f"  {name}: {{{', '.join(words)}}}")
        lines.append("wires:")
        for number, net in enumerate(self.nets, 1):
            if len(net) > 1:
                run = ", ".join(f'"{t}"' for t in net)
                lines.append(f"  - {{number: {number}, run: [{run}]}}")
        return "\n".join(lines) + "\n"


class _Drawing(Circuit):
    """The choices of one seed."""

    def draw(self) -> str:
        self.coil_rating = "24 V DC"
        self.has_drive = self.chance(0.55)
        self._supply()
        self._control_supply()
        self._operators()
        self._coils()
        self._lamps()
        if self.has_drive:
            self._drive()
        self._contactor_motors()
        self._mistakes()
        self._plugs()
        return self.text()

    def _supply(self) -> None:
        self.three_phase = self.chance(0.45)
        phases, volts = ("3", "400 V") if self.three_phase else ("1", "230 V")
        self.add(
            "G0", "mains", f"phases: {phases}", f"voltage: {volts}", f"earthing: {self.dice.choice(['TN', 'TN', 'TT', 'IT'])}"
        )
        marks = ["L1", "L2", "L3"] if self.three_phase else ["L"]
        self.lines = [self.net(f"G0:{m}") for m in marks]
        self.neutral, self.earth = self.net("G0:N"), self.net("G0:PE")
        if self.chance(0.2):
            kind = self.dice.choice(["isolator", "circuit-breaker"])
            self.add("Q1", kind)
            self.lines = [self._pole("Q1", line) for line in self.lines]
            if kind == "isolator" and self.chance(0.4):
                self.parts["Q1"].contacts.append("13-14: {form: NO, early_break: true}")

    def _pole(self, name: str, line: Net) -> Net:
        part = self.parts[name]
        a = 2 * len(part.poles) + 1
        part.poles.append(f"{a}-{a + 1}")
        line.append(f"{name}:{a}")
        return self.net(f"{name}:{a + 1}")

    def _control_supply(self) -> None:
        how = self.dice.choice(["dc", "dc", "transformer", "mains"])
        line = self.lines[0]
        if how == "dc":
            self.add("G1", "dc-supply", "voltage: 24 V DC")
            line.append("G1:L")
            self.neutral.append("G1:N")
            self.plus, self.minus = self.net("G1:+"), self.net("G1:-")
        elif how == "transformer":
            primary = "400 V" if self.three_phase else "230 V"
            self.add(
                "T9",
                "transformer",
                "primary: [1, 2]",
                "secondary: [3, 4]",
                f"primary_voltage: {primary}",
                "secondary_voltage: 24 V",
            )
            line.append("T9:1")
            (self.lines[1] if self.three_phase else self.neutral).append("T9:2")
            self.plus, self.minus = self.net("T9:3"), self.net("T9:4")
            self.coil_rating = "24 V AC"
        else:
            self.plus, self.minus = line, self.neutral
            self.coil_rating = "230 V AC"
        self.direct = self.coil_rating == "24 V DC"
        if how != "mains" and self.chance(0.6):
            self.earth.append(self.minus[0])
            self.minus.append(self.earth[0])
            self.earth.pop()
        if self.chance(0.35):
            a, b = self.net(), self.plus
            self.add("F2", "fuse")
            b.append("F2:1")
            a.append("F2:2")
            self.plus = a

    def _operators(self) -> None:
        kinds = ["push-button"] * 5 + [
            "selector",
            "selector",
            "guard-switch",
            "emergency-stop",
            "limit-switch",
            "foot-switch",
            "key-switch",
            "thermal-switch",
            "overload-relay",
            "plug-connector",
        ]
        self.hands = []
        for number in range(self.dice.choice([2, 2, 3] if self.has_drive else [2, 3, 3, 4])):
            kind = self.dice.choice(kinds)
            name = f"S{number + 1}"
            if kind in ("selector", "key-switch"):
                count = self.dice.choice([2, 3])
                words = ["make_before_break: true"] if self.chance(0.3) else []
                self.add(name, kind, *words, positions=("off", "one", "two")[:count])
            else:
                self.add(name, kind)
                self.parts[name].poles += ["1-2"] if kind in ("overload-relay", "plug-connector") else []
            self.hands.append(name)

    def _coils(self) -> None:
        kinds = ["relay"] * 4 + ["contactor"] * 3 + ["timer-relay"] * 2
        self.coils = []
        for number in range(self.dice.choice([1, 1, 2] if self.has_drive else [1, 2, 2, 3])):
            kind = self.dice.choice(kinds)
            words = [f"coil: {self.coil_rating}"]
            if kind == "timer-relay":
                words += [f"mode: {self.dice.choice(['on-delay', 'off-delay'])}", "delay: 2 s"]
            self.coils.append(self.add(f"K{number + 1}", kind, *words))
        if len(self.coils) > 1 and self.chance(0.15):
            self.parts["K1"].words.append("mechanical_interlock: K2")
        self._odd_coil()
        for name in self.coils:
            self._coil_circuit(name)

    def _odd_coil(self) -> None:
        """Now and then one of the devices with a memory of its own."""
        self.safety = self.chance(0.12)
        if self.safety:
            reset = self.dice.choice(["automatic", "manual", "monitored"])
            loop = ", reset_loop: [S33, S34]" if self.chance(0.8) else ""
            self.add("K8", "safety-relay", "supply: [A1, A2]", "channels: [[S11, S12], [S21, S22]]" + loop, f"reset: {reset}")
            self.coils.append("K8")
            for a, b in [("S11", "S12"), ("S21", "S22")] + ([("S33", "S34")] if loop else []):
                self.series(
                    self.net(f"K8:{a}"),
                    self.net(f"K8:{b}"),
                    [self.contact(self.dice.choice(self.hands)) for _ in range(self.dice.choice([1, 1, 2]))],
                )
        elif self.chance(0.1):
            self.add("K7", "thermistor-relay", "sensor: [T1, T2]", f"reset: {self.dice.choice(['manual', 'automatic'])}")
            self.add("B7", "thermistor")
            self.coils.append("K7")
            self.net("K7:T1", "B7:1")
            self.net("K7:T2", "B7:2")
        elif self.chance(0.1):
            self.add("Q7", "no-volt-release")
            behind = self._pole("Q7", self.plus)
            self.minus.append("Q7:A2")
            behind.append("Q7:A1")
            self.plus = behind if self.chance(0.8) else self.plus

    def _any_contact(self, form: str | None = None) -> tuple[str, str]:
        return self.contact(self.dice.choice(self.hands * 2 + self.coils), form)

    def _coil_circuit(self, name: str) -> None:
        """Plus, a network of contacts, the coil, minus."""
        top, coil = self.net(), self.net(f"{name}:A1")
        self.minus.append(f"{name}:A2")
        others = [c for c in self.coils if c != name]
        stops = [self.contact(self.dice.choice(self.hands), "NC") for _ in range(self.dice.choice([0, 1, 1, 2]))]
        if others and self.chance(0.4):
            stops.append(self.contact(self.dice.choice(others), "NC"))
        if self.chance(0.1):
            stops.append(self.contact(name, "NC"))
        self.series(self.plus, top, stops) if stops else self._join(self.plus, top)
        for _ in range(self.dice.choice([1, 1, 2])):
            self.series(
                top,
                coil,
                [
                    self._any_contact("NO") if self.chance(0.7) else self._any_contact()
                    for _ in range(self.dice.choice([1, 1, 2]))
                ],
            )
        if self.chance(0.7):
            holding = [self.contact(name, "NO")] + ([self._any_contact()] if self.chance(0.2) else [])
            self.series(top, coil, holding)
        if self.chance(0.1):
            self.add(f"R{name}", "diode")
            minus_end = f"{name}:A2"
            coil.append(f"R{name}:K")
            self.net(f"R{name}:A", minus_end)

    def _join(self, a: Net, b: Net) -> None:
        """Two nets become one potential."""
        name = f"X{len(self.parts)}"
        self.add(name, "terminal-block")
        a.append(f"{name}:1")
        b.append(f"{name}:1")

    def _lamps(self) -> None:
        for number in range(self.dice.choice([0, 1, 1, 2])):
            name = self.add(f"P{number + 1}", self.dice.choice(["lamp", "solenoid", "buzzer"]), f"voltage: {self.coil_rating}")
            self.series(self.plus, self.net(f"{name}:X1"), [self._any_contact() for _ in range(self.dice.choice([1, 2]))])
            self.minus.append(f"{name}:X2")
        if self.chance(0.12):
            output, form = self.dice.choice(["PNP", "NPN"]), self.dice.choice(["NO", "NC"])
            self.add("B1", "sensor", f"output: {output}", f"form: {form}")
            self.plus.append("B1:+")
            self.minus.append("B1:-")
            self.add("P9", "lamp", "voltage: " + self.coil_rating)
            self.net("B1:OUT", "P9:X1" if output == "PNP" else "P9:X2")
            (self.minus if output == "PNP" else self.plus).append("P9:X2" if output == "PNP" else "P9:X1")

    def _motor(self, name: str, ends: list[Net]) -> None:
        links = self.dice.choice(["links: [[U2, V2], [V2, W2]]", "links: [[U1, W2], [V1, U2], [W1, V2]]"])
        words = ["poles: 4", links]
        if self.chance(0.1):
            words.append("sensor: opens-when-hot")
        self.add(name, "motor", *words)
        for end, net in zip("UVW", ends, strict=False):
            net.append(f"{name}:{end}1")

    def _contactor_motors(self) -> None:
        """A motor on the poles of one contactor, or of two with two lines crossed."""
        contactors = [c for c in self.coils if self.parts[c].kind == "contactor"]
        if not contactors or not self.chance(0.8):
            return
        if self.chance(0.3):
            self.add("F1", "circuit-breaker")
            feeds = [self._pole("F1", line) for line in self.lines]
        else:
            feeds = self.lines
        if not self.three_phase:
            feeds = [*feeds, self.neutral]
        ends = [self.net() for _ in feeds]
        for name, crossed in zip(contactors, (False, True), strict=False):
            outs = ends[::-1] if crossed else ends
            for feed, out in zip(feeds, outs, strict=True):
                out.append(self._pole(name, feed)[0])
                self.nets.pop()
        self._motor("M1", ends)

    def _drive(self) -> None:
        """A drive with its inputs behind contacts."""
        self.parts["T1"] = Part("drive")
        inputs, wires = self._drive_inputs()
        mode = "three-wire" if self.three_wire else "two-wire"
        settings = self._drive_settings()
        supply = "supply: {plus: P24, common: COM, voltage: 24 V DC}"
        control = [
            f"mode: {mode}",
            f"logic: {'sinking' if self.sinking else 'sourcing'}",
            supply,
            f"inputs: {{{', '.join(inputs)}}}",
        ]
        if self.three_wire:
            control.append(f"start_on: {self.dice.choice(['edge', 'level'])}")
        common = "plus" if self.sinking else "minus"
        rail = self.net("T1:COM" if self.sinking else "T1:P24")
        if self.chance(0.15) and self.direct and not self.sinking:
            self.plus.append(rail.pop())
            rail, common = self.plus, "external"
            self.minus.append("T1:COM")
            self.parts["T1"].words.clear()
            rail[:] = [t for t in rail if t != "T1:P24"]
        for mark, contacts in wires.items():
            self.series(rail, self.net(f"T1:{mark}"), contacts)
        if self.torque:
            control.append("safe_torque_off: {channels: [STO1, STO2], common: STOC}")
            self._torque_off("own" if common != "external" and not self.sinking else "external")
        if self.chance(0.4):
            acts_on = self.dice.choice(["healthy", "fault", "running"])
            control.append(f"relays: {{RA-RC: {{form: {self.dice.choice(['NO', 'NC'])}, acts_on: {acts_on}}}}}")
            self.add("P8", "lamp", f"voltage: {self.coil_rating}")
            self.series(self.plus, self.net("P8:X1"), [("T1:RA", "T1:RC")])
            self.minus.append("P8:X2")
        self._drive_power(control, settings)

    def _drive_power(self, control: list[str], settings: str) -> None:
        volts = "380-480 V" if self.three_phase else "200-240 V"
        marks = ["R", "S", "T"] if self.three_phase else ["L", "N"]
        feeds = self.lines if self.three_phase else [self.lines[0], self.neutral]
        gate = self.dice.choice(self.coils) if self.chance(0.25) else None
        for mark, feed in zip(marks, feeds, strict=True):
            if gate and self.parts[gate].kind == "contactor" and feed is not self.neutral:
                self._pole(gate, feed).append(f"T1:{mark}")
            else:
                feed.append(f"T1:{mark}")
        self.parts["T1"].words = [
            f"input: {{terminals: [{', '.join(marks)}], phases: {len(marks) if self.three_phase else 1}, voltage: {volts}}}",
            "output: {terminals: [U, V, W], voltage: 230 V}",
            f"control: {{{', '.join(control)}}}",
            f"settings: {{{settings}}}",
        ]
        self._motor("M2", [self.net(f"T1:{m}") for m in self.dice.choice(["UVW", "UVW", "VUW"])])

    def _drive_inputs(self) -> tuple[list[str], dict[str, list[tuple[str, str]]]]:
        self.three_wire = self.chance(0.4)
        self.sinking = self.chance(0.2)
        self.torque = self.chance(0.3)
        wanted = ["run-forward"]
        wanted += ["run-reverse"] if self.chance(0.5) else []
        wanted += [w for w in ("direction", "jog", "fault-reset") if self.chance(0.12)]
        inputs, wires = [], {}
        for number, does in enumerate(wanted, 1):
            inputs.append(f"DI{number}: {does}")
            wires[f"DI{number}"] = [self._any_contact("NO") for _ in range(self.dice.choice([1, 1, 2]))]
        stopping = [
            w
            for w in ("run-permit", "external-trip", "enable")
            if self.chance(0.5 if w == "run-permit" and self.three_wire else 0.12)
        ]
        for number, does in enumerate(stopping, len(wanted) + 1):
            level = "open" if self.chance(0.85) else "closed"
            inputs.append(f"DI{number}: {{does: {does}, acts_when: {level}}}")
            wires[f"DI{number}"] = [self._any_contact("NC" if level == "open" else "NO")]
        return inputs, wires

    def _drive_settings(self) -> str:
        def pick(*choices: str) -> str:
            return self.dice.choice(choices)

        waits = [
            f"{key}: {pick('waits', 'waits', 'starts')}"
            for key in (
                "on_power_up_with_run",
                "after_trip_reset_with_run",
                "after_safe_torque_off_with_run",
                "after_permit_with_run",
            )
        ]
        source = "terminals" if self.chance(0.85) else pick("keypad", "both")
        itself = "true" if self.chance(0.15) else "false"
        both = f"both_directions: {pick('stop', 'first-wins', 'unknown')}"
        return ", ".join(
            [f"command_source: {source}", both, f"restarts_itself_after_fault: {itself}", *(w for w in waits if self.chance(0.9))]
        )

    def _torque_off(self, supply: str) -> None:
        if supply == "own" or not self.direct:
            plus, minus = self.net("T1:P24"), self.net("T1:COM")
        else:
            plus, minus = self.plus, self.minus
        minus.append("T1:STOC")
        contact = self._any_contact("NC")
        one, two = self.net("T1:STO1"), self.net("T1:STO2")
        self.series(plus, one, [contact])
        if self.chance(0.5):
            self._join(one, two)
        else:
            self.series(plus, two, [self._any_contact("NC")])

    def _plugs(self) -> None:
        """What a plug makes first, and what a dummy plug joins in its place."""
        for part in self.parts.values():
            if part.kind == "plug-connector" and part.poles:
                if self.chance(0.5):
                    part.words.append(f"first_make: [{self.dice.choice(part.poles)}]")
                if len(part.poles) > 1 and self.chance(0.5):
                    part.words.append("dummy: {links: [[1, 3]]}")

    def _mistakes(self) -> None:
        """Now and then a contact where none should be."""
        if self.chance(0.1):
            self.series(self.plus, self.minus, [self._any_contact("NO"), self._any_contact("NO")])
        if self.chance(0.12):
            spots = [n for n in self.nets if n and not n[0].startswith(("G0", "T1"))]
            a, b = self.dice.sample(spots, 2)
            self.series(a, b, [self._any_contact()])


MOST_WEIGHT = 16


def random_circuit(seed: int, most_weight: int = MOST_WEIGHT, with_drive: bool = False) -> str:
    """The text of a plan; the same for the same seed. Drawings that would be too large, or lack the drive, are drawn again."""
    for again in range(1000):
        drawing = _Drawing(1000 * seed + again)
        text = drawing.draw()
        if drawing.weight() <= most_weight and (drawing.has_drive or not with_drive):
            return text
    raise ValueError(f"no small circuit for seed {seed}")
