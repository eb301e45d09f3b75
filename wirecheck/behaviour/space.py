"""Sets of states as Python integers: bit *k* of a set says whether the state with number *k* is in it.

A state number packs the code of every variable: the position of a device, a relay in or out, a bit of a drive's memory. One `&`,
`|` or shift then works on all states at once. Turning a variable bit over in every state of a set is a shift by a power of two.

A set of a large space is no integer but `Pieces` (pieces.py), which does all that is done with one: it is typed as one here and
everywhere. So no set is taken for an integer in any other way: `only`, `has`, `lowest`, `numbers` and `digest` are for that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Any, NamedTuple

from wirecheck.behaviour.pieces import COUNT_BITS, LEAF_BITS, Layout, Pieces, pattern

MOST_IN_ONE = 19
"""A set of a space of more variable bits than this is kept in pieces."""


@dataclass(frozen=True, slots=True)
class Variable:
    """A variable with named codes; code 0 is its value at rest. `low` is its lowest bit in a state number."""

    name: str
    codes: tuple[str, ...]
    low: int

    @property
    def width(self) -> int:
        """Bits that the codes need."""
        return max(1, (len(self.codes) - 1).bit_length())


class Move(NamedTuple):
    """In every state of `mask` the variable bits `bits` are turned over."""

    mask: int
    bits: tuple[int, ...]


Shift = tuple[int, int]
"""A mask, and by how much the number of each of its states grows: a move that turns some bits on and others off."""


class Space:
    """All states that the variables can form, and the operations on sets of them."""

    def __init__(self, codes: Mapping[str, Sequence[str]]) -> None:
        self.variables: dict[str, Variable] = {}
        low = 0
        for name, names in codes.items():
            variable = Variable(name, tuple(names), low)
            self.variables[name] = variable
            low += variable.width
        self.bits = low
        self._layout = Layout(low, LEAF_BITS, COUNT_BITS) if low > MOST_IN_ONE else None
        self.full: int = (1 << (1 << low)) - 1 if self._layout is None else self._layout.full
        self._ones: list[int] = [self._pattern(bit) for bit in range(low)]
        self._zeros = [self.full ^ ones for ones in self._ones]
        self._at: dict[tuple[str, str], int] = {}

    def _pattern(self, bit: int) -> Any:
        """The set of all states in which variable bit `bit` is 1."""
        return pattern(bit, 1 << self.bits) if self._layout is None else self._layout.ones(bit)

    def bit(self, name: str) -> int:
        """The set in which a two-valued variable has its second code."""
        return self._ones[self.variables[name].low]

    def at(self, name: str, code: str) -> int:
        """The set in which variable `name` has `code`; KeyError or ValueError for what does not exist."""
        known = self._at.get((name, code))
        if known is None:
            variable = self.variables[name]
            number = variable.codes.index(code)
            known = self.full
            for i in range(variable.width):
                known &= (self._ones if number >> i & 1 else self._zeros)[variable.low + i]
            self._at[name, code] = known
        return known

    def flip(self, states: int, bits: Iterable[int]) -> int:
        """The states with the variable bits `bits` turned over."""
        for bit in bits:
            zeros = self._zeros[bit]
            half = 1 << bit
            states = (states >> half) & zeros | (states & zeros) << half
        return states

    def shifts(self, move: Move) -> tuple[Shift, ...]:
        """A move as shifts: one for each way in which its bits stand before it."""
        parts = [(move.mask, 0)]
        for bit in move.bits:
            half, ones = 1 << bit, self._ones[bit]
            split = [(mask & ones, mask, by) for mask, by in parts]
            parts = [(m, b) for on, mask, by in split for m, b in ((on, by - half), (mask ^ on, by + half)) if m]
        return tuple(parts)

    def change(self, mask: int, targets: Mapping[int, int]) -> list[Move]:
        """Moves that, in every state of `mask`, give each variable bit the value that its set in `targets` says.

        A state in which nothing would change is in no move.
        """
        parts: list[tuple[int, tuple[int, ...]]] = [(mask, ())]
        for bit, value in targets.items():
            turn = self._ones[bit] ^ value
            split = [(part & turn, part, bits) for part, bits in parts]
            parts = [(m, b) for turned, part, bits in split for m, b in ((part ^ turned, bits), (turned, (*bits, bit))) if m]
        return [Move(m, b) for m, b in parts if b]

    def assign(self, mask: int, name: str, code: str) -> list[Move]:
        """Moves that put variable `name` to `code` in every state of `mask`."""
        variable = self.variables[name]
        number = variable.codes.index(code)
        return self.change(mask, self.targets(name, number, variable))

    def targets(self, name: str, number: int, variable: Variable | None = None) -> dict[int, int]:
        """The bits of variable `name` with the sets that give it code `number`, for `change`."""
        variable = variable or self.variables[name]
        return {variable.low + i: self.full if number >> i & 1 else 0 for i in range(variable.width)}

    def ones(self, bit: int) -> int:
        """The set in which variable bit `bit` is 1."""
        return self._ones[bit]

    def only(self, number: int) -> int:
        """The set of one state."""
        one: int = 1 << number if self._layout is None else self._layout.only(number)
        return one

    def decode(self, number: int) -> dict[str, str]:
        """The code of every variable in the state with this number."""
        return {v.name: v.codes[number >> v.low & (1 << v.width) - 1] for v in self.variables.values()}

    def encode(self, codes: Mapping[str, str]) -> int:
        """The number of the state with these codes; variables that are not named are at rest."""
        return sum(self.variables[name].codes.index(code) << self.variables[name].low for name, code in codes.items())


def minus(states: int, others: int) -> int:
    """The states that are not among the others. `states & ~others` says the same and takes twice as long for a large set."""
    return states ^ (states & others)


def sum_of(sets: Iterable[int]) -> int:
    """The union of sets."""
    found = 0
    for states in sets:
        found |= states
    return found


def has(states: int, number: int) -> bool:
    """Whether the state with this number is in a set."""
    pieces = _pieces(states)
    return bool(states >> number & 1) if pieces is None else pieces.has(number)


def lowest(states: int) -> int:
    """The number of the first state of a set that is not empty."""
    pieces = _pieces(states)
    return (states & -states).bit_length() - 1 if pieces is None else pieces.lowest()


def numbers(states: int) -> list[int]:
    """The state numbers in a set, ascending. For small sets: it walks them one by one."""
    pieces = _pieces(states)
    if pieces is not None:
        return [first + number for first, leaf in pieces.ascending() for number in numbers(leaf)]
    found = []
    text = states.to_bytes((states.bit_length() + 7) // 8, "little")
    for index, byte in enumerate(text):
        found += [index * 8 + bit for bit in range(8) if byte >> bit & 1]
    return found


def digest(states: int) -> bytes:
    """Sixteen bytes that are the same for equal sets of one space."""
    pieces = _pieces(states)
    if pieces is not None:
        return pieces.digest()
    return blake2b(states.to_bytes((states.bit_length() + 7) // 8, "little"), digest_size=16).digest()


def _pieces(states: Any) -> Pieces | None:
    return states if isinstance(states, Pieces) else None
