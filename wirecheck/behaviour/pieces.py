"""Sets of states of a large space, in pieces: those that hold nothing are left out, and equal ones are worked out once.

Of the states of a large space few are ever reached, and what is joined where depends on few of its variables. So a set is kept
as the integers of its pieces, each of 2**16 states, by their number; many pieces are kept in pieces in their turn. It does all
that is done with a set that is one integer, in the same words; so whoever works with sets need not know which of the two it has.
"""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import blake2b
from typing import Any

LEAF_BITS = 16
"""The smallest pieces tell of 2**16 states: 8 kB."""

COUNT_BITS = 6
"""A set has up to 2**6 pieces."""

Piece = Any
"""An integer, or `Pieces` of a smaller layout."""

Of = Mapping[int, Piece]
"""The pieces that hold something, by their number."""


class Pieces:
    """A set of states; `layout` says what is the same for all sets of the space.

    Pieces are told apart by identity where that saves work: each is held by one of the sets that are worked on meanwhile.
    """

    __slots__ = ("_hash", "layout", "of")

    def __init__(self, layout: Layout, of: Of) -> None:
        self.layout, self.of = layout, of
        self._hash: int | None = None

    def _pieces(self, other: Pieces | int) -> Of:
        return other.of if isinstance(other, Pieces) else self.layout.split(other).of

    # as with integers

    def __bool__(self) -> bool:
        return bool(self.of)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Pieces | int) and self.of == self._pieces(other)

    def __hash__(self) -> int:
        if self._hash is None:
            self._hash = hash(frozenset(self.of.items()))
        return self._hash

    def __and__(self, other: Pieces | int) -> Pieces:
        few, many = self.of, self._pieces(other)
        if len(many) < len(few):
            few, many = many, few
        whole, known, found = self.layout.whole, dict[tuple[int, int], Piece](), dict[int, Piece]()
        for number, a in few.items():
            b = many.get(number)
            if b is None:
                continue
            if a is b or b is whole:
                found[number] = a
            elif a is whole:
                found[number] = b
            else:
                both = known.get(key := (id(a), id(b)))
                if both is None:
                    both = known[key] = a & b
                if both:
                    found[number] = both
        return Pieces(self.layout, found)

    def __or__(self, other: Pieces | int) -> Pieces:
        """A piece to which nothing comes stays the same object: sets that have not grown are soon seen to be equal."""
        many: Of = self.of
        few = self._pieces(other)
        if len(many) < len(few):
            many, few = few, many
        layout, known, found = self.layout, dict[tuple[int, int], Piece](), dict(many)
        for number, b in few.items():
            a = many.get(number)
            if a is None or b is layout.whole:
                found[number] = b
            elif a is not b and a is not layout.whole:
                new = known.get(key := (id(a), id(b)))
                if new is None:
                    new = a | b
                    new = known[key] = a if new == a else layout.kept(new)
                found[number] = new
        return Pieces(layout, found)

    def __xor__(self, other: Pieces | int) -> Pieces:
        many: Of = self.of
        few = self._pieces(other)
        if len(many) < len(few):
            many, few = few, many
        known, found = dict[tuple[int, int], Piece](), dict(many)
        for number, b in few.items():
            a = many.get(number)
            if a is None:
                found[number] = b
            elif a is b:
                del found[number]
            else:
                new = known.get(key := (id(a), id(b)))
                if new is None:
                    new = known[key] = self.layout.kept(a ^ b)
                if new:
                    found[number] = new
                else:
                    del found[number]
        return Pieces(self.layout, found)

    __rand__, __ror__, __rxor__ = __and__, __or__, __xor__

    def __invert__(self) -> Pieces:
        inverse: Pieces = self.layout.full ^ self
        return inverse

    def __lshift__(self, by: int) -> Pieces:
        """Every state's number grows by so much; what would leave the space is gone."""
        layout = self.layout
        jump, rest = divmod(by + layout.half, layout.size)
        rest -= layout.half  # at most half a piece up or down, so that few states go over into the piece beside
        if not rest:
            return Pieces(layout, {n + jump: a for n, a in self.of.items() if 0 <= n + jump < layout.count})
        beside, over = (1, rest - layout.size) if rest > 0 else (-1, rest + layout.size)
        found: dict[int, Piece] = {}
        known: dict[int, tuple[Piece, Piece]] = {}
        for number, a in self.of.items():
            parts = known.get(id(a))
            if parts is None:
                parts = known[id(a)] = (layout.moved(a, rest), layout.moved(a, over) if layout.leaves(a, rest) else 0)
            for place, part in ((number + jump, parts[0]), (number + jump + beside, parts[1])):
                if part and 0 <= place < layout.count:
                    found[place] = found[place] | part if place in found else part
        return Pieces(layout, found)

    def __rshift__(self, by: int) -> Pieces:
        return self << -by

    def is_full(self) -> bool:
        """Whether it has all states; a full piece is kept as the layout's own."""
        whole = self.layout.whole
        return len(self.of) == self.layout.count and all(piece is whole for piece in self.of.values())

    def highest(self) -> int:
        """The number of the last state."""
        last = max(self.of)
        piece: Piece = self.of[last]
        return last * self.layout.size + (piece.highest() if isinstance(piece, Pieces) else piece.bit_length() - 1)

    def bit_count(self) -> int:
        """How many states there are."""
        counts = {id(a): a.bit_count() for a in self.of.values()}
        return sum(counts[id(a)] for a in self.of.values())

    # what an integer does in another way

    def has(self, number: int) -> bool:
        """Whether the state with this number is in it."""
        place, rest = divmod(number, self.layout.size)
        piece: Piece = self.of.get(place, 0)
        return piece.has(rest) if isinstance(piece, Pieces) else bool(piece >> rest & 1)

    def ascending(self, first: int = 0) -> list[tuple[int, int]]:
        """The smallest pieces, each after the number of its first state, ascending; the set's own first state is `first`."""
        found: list[tuple[int, int]] = []
        for number in sorted(self.of):
            piece: Piece = self.of[number]
            at = first + number * self.layout.size
            found += piece.ascending(at) if isinstance(piece, Pieces) else [(at, piece)]
        return found

    def lowest(self) -> int:
        """The number of the first state."""
        first = min(self.of)
        piece: Piece = self.of[first]
        if isinstance(piece, Pieces):
            return first * self.layout.size + piece.lowest()
        within: int = (piece & -piece).bit_length() - 1
        return first * self.layout.size + within

    def digest(self) -> bytes:
        """Sixteen bytes that are the same for equal sets."""
        found, known = blake2b(digest_size=16), dict[int, bytes]()
        for number in sorted(self.of):
            piece: Piece = self.of[number]
            said = known.get(id(piece))
            if said is None:
                said = piece.digest() if isinstance(piece, Pieces) else _bytes(piece)
                known[id(piece)] = said = blake2b(said, digest_size=16).digest()
            found.update(number.to_bytes(2, "little") + said)
        return found.digest()


def _bytes(piece: int) -> bytes:
    return piece.to_bytes((piece.bit_length() + 7) // 8, "little")


class Layout:
    """How a space of so many variable bits is cut: `count` pieces of `size` states each, a full one being `whole`."""

    def __init__(self, bits: int, leaf_bits: int, count_bits: int) -> None:
        leaf_bits = min(leaf_bits, bits)
        self.bits = max(leaf_bits, bits - count_bits)
        self.size, self.half, self.count = 1 << self.bits, 1 << self.bits - 1, 1 << bits - self.bits
        self._inner = Layout(self.bits, leaf_bits, count_bits) if self.bits > leaf_bits else None
        self.whole = (1 << self.size) - 1 if self._inner is None else self._inner.full
        self.full: Piece = Pieces(self, dict.fromkeys(range(self.count), self.whole))

    def kept(self, piece: Piece) -> Piece:
        """A piece as it is kept: a full one is the same for all."""
        full = piece == self.whole if self._inner is None else piece.is_full()
        return self.whole if full else piece

    def moved(self, piece: Piece, by: int) -> Piece:
        """What stays in a piece if its states' numbers grow by so much."""
        if self._inner is not None:
            return piece << by
        return piece << by & self.whole if by > 0 else piece >> -by

    def leaves(self, piece: Piece, by: int) -> bool:
        """Whether any state of a piece leaves it if the numbers grow by so much."""
        if self._inner is None:
            return bool(piece >> self.size - by if by > 0 else piece & (1 << -by) - 1)
        return bool(piece.highest() + by >= self.size if by > 0 else piece.lowest() + by < 0)

    def split(self, number: int) -> Piece:
        """The set that one integer says; a negative one says all that is not in the set that its `~` says."""
        if number < 0:
            return self.full ^ ~number
        found, place = {}, 0
        while number:
            place += (empty := (number & -number).bit_length() - 1 >> self.bits)
            number >>= empty << self.bits
            piece = number & (1 << self.size) - 1
            found[place] = self.kept(piece if self._inner is None else self._inner.split(piece))
            number >>= self.size
            place += 1
        return Pieces(self, found)

    def ones(self, bit: int) -> Piece:
        """All states in which a variable bit is 1."""
        if bit >= self.bits:
            return Pieces(self, {n: self.whole for n in range(self.count) if n >> bit - self.bits & 1})
        piece = pattern(bit, self.size) if self._inner is None else self._inner.ones(bit)
        return Pieces(self, dict.fromkeys(range(self.count), piece))

    def only(self, number: int) -> Piece:
        """The set of one state."""
        place, rest = divmod(number, self.size)
        return Pieces(self, {place: 1 << rest if self._inner is None else self._inner.only(rest)})


def pattern(bit: int, size: int) -> int:
    """The set of all states in which a variable bit is 1, as an integer, in a space of so many states."""
    half = 1 << bit
    found, width = ((1 << half) - 1) << half, 2 * half
    while width < size:
        found |= found << width
        width *= 2
    return found
