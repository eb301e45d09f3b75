"""Webs of relays as plan texts, one for each seed: many want to move at once, some hinder each other, some do not matter at all.

Each relay of two or three groups is behind one or two branches of contacts, mostly break contacts of its own group, and each
group behind a button. In some webs two relays, of one group or of two, make a short when both are in, and a fuse clears it.
"""

from __future__ import annotations

from random import Random

CONTACTS = 8


class Web:
    """A web being drawn: its wires, and how many contacts of each relay are used."""

    def __init__(self, seed: int) -> None:
        self.dice = Random(seed)
        self.forms: dict[str, list[str]] = {}
        self.buttons: list[str] = []
        self.wires: list[str] = []

    def contact(self, relay: str, form: str) -> tuple[str, str]:
        """A new contact of a relay: its two terminals."""
        forms = self.forms[relay]
        forms.append(form)
        return f"{relay}:{len(forms)}3", f"{relay}:{len(forms)}4"

    def wire(self, *terminals: str) -> None:
        self.wires.append(f"  - {{number: {len(self.wires) + 1}, run: [{', '.join(terminals)}]}}")

    def branch(self, start: str, relay: str, others: list[str]) -> None:
        """From a terminal through one or two contacts to a relay's coil."""
        here = start
        for _ in range(self.dice.choice([1, 1, 2])):
            free = [name for name in others if len(self.forms[name]) < CONTACTS]
            if free:
                a, b = self.contact(self.dice.choice(free), self.dice.choice(["NC", "NC", "NO"]))
                self.wire(here, a)
                here = b
        self.wire(here, f"{relay}:A1")


def relay_web(seed: int) -> str:
    """The text of a web."""
    web = Web(seed)
    dice = web.dice
    groups = [[f"K{g}{i}" for i in range(1, dice.choice([2, 3, 4]))] for g in range(1, dice.choice([3, 4]))]
    every = [name for group in groups for name in group]
    web.forms = {name: [] for name in every}
    for g, group in enumerate(groups, start=1):
        web.wire("F1:2", f"S{g}:11")
        for relay in group:
            others = [n for n in (group if dice.random() < 0.85 else every) if n != relay] or [relay]
            for _ in range(dice.choice([1, 1, 2])):
                web.branch(f"S{g}:12", relay, others)
            web.wire(f"{relay}:A2", "G0:N")
    if dice.random() < 0.6:
        (a, b), (c, d) = (web.contact(name, dice.choice(["NO", "NO", "NC"])) for name in dice.sample(every, 2))
        web.wire("F1:2", a)
        web.wire(b, c)
        web.wire(d, "G0:N")
    web.wire("G0:L", "F1:1")
    relays = [
        f"  {name}: {{kind: relay, coil: 230 V AC, contacts: {{{', '.join(f'{n}3-{n}4: {f}' for n, f in enumerate(forms, 1))}}}}}"
        for name, forms in web.forms.items()
    ]
    buttons = [f"  S{g}: {{kind: push-button, contacts: {{11-12: NC}}}}" for g in range(1, len(groups) + 1)]
    supply = ["  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}", "  F1: {kind: fuse, rating: 1 A}"]
    return "\n".join(
        ["wirecheck: 1", f"machine: {{name: web {seed}}}", "devices:", *supply, *buttons, *relays, "wires:", *web.wires, ""]
    )
