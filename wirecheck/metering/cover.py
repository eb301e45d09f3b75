"""Set cover: few columns that together hold every row that any column holds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def cover(columns: Sequence[int]) -> list[int]:
    """Places of a small choice of columns, each a set of rows as an integer, that holds every row; earlier ones are preferred.

    Notes
    -----
    Rows that a harder row brings along, and columns within a larger column, are left out; a column that alone holds a row is
    taken; all of that again and again. Only where nothing more follows a choice is made: the column with the greatest
    weight, a row weighing the more the fewer columns hold it. At the end what has become needless is dropped.

    References
    ----------
    R. S. Garfinkel, G. L. Nemhauser, Integer Programming (1972), chapter 8: reductions of the set-covering problem.
    V. Chvatal, A greedy heuristic for the set-covering problem, Mathematics of Operations Research 4 (1979).

    Examples
    --------
    >>> cover([0b0011, 0b0110, 0b1100, 0b1000])
    [0, 2]
    """
    everything = 0
    for column in columns:
        everything |= column
    live = dict(enumerate(columns))
    chosen: list[int] = []
    while live:
        keep = sum(1 << row for row in _hardest(_transposed(live)))
        live = _widest({place: column & keep for place, column in live.items()})
        rows = _transposed(live)
        if not rows:
            break
        alone = sorted({_places(held)[0] for held in rows.values() if held.bit_count() == 1})
        taken = alone or [_heaviest(live, rows)]
        chosen += taken
        done = 0
        for place in taken:
            done |= live.pop(place)
        live = {place: column & ~done for place, column in live.items() if column & ~done}
    return _without_needless(columns, sorted(chosen), everything)


def _places(mask: int) -> list[int]:
    """The places of the bits of an integer, lowest first."""
    found = []
    while mask:
        low = mask & -mask
        found.append(low.bit_length() - 1)
        mask ^= low
    return found


def _transposed(columns: dict[int, int]) -> dict[int, int]:
    """For every row the columns that hold it, as an integer."""
    rows: dict[int, int] = {}
    for place, column in columns.items():
        bit = 1 << place
        for row in _places(column):
            rows[row] = rows.get(row, 0) | bit
    return rows


def _hardest(rows: dict[int, int]) -> list[int]:
    """The rows that no other row makes needless: whatever holds a harder one holds these too."""
    distinct: dict[int, int] = {}
    for row, held in rows.items():
        distinct.setdefault(held, row)
    kept: list[int] = []
    for held in sorted(distinct, key=int.bit_count):
        if not any(other & held == other for other in kept):
            kept.append(held)
    return [distinct[held] for held in kept]


def _widest(columns: dict[int, int]) -> dict[int, int]:
    """The columns that lie in no other; of equal ones the first."""
    distinct: dict[int, int] = {}
    for place, column in columns.items():
        if column:
            distinct.setdefault(column, place)
    kept: list[int] = []
    for column in sorted(distinct, key=lambda c: -c.bit_count()):
        if not any(column & other == column for other in kept):
            kept.append(column)
    return {distinct[column]: column for column in sorted(kept, key=distinct.__getitem__)}


def _heaviest(columns: dict[int, int], rows: dict[int, int]) -> int:
    weight = {row: 1 / held.bit_count() for row, held in rows.items()}
    return max(columns, key=lambda place: (round(sum(weight[row] for row in _places(columns[place])), 9), -place))


def _without_needless(columns: Sequence[int], chosen: Iterable[int], everything: int) -> list[int]:
    kept = list(chosen)
    for place in sorted(kept, key=lambda p: (columns[p].bit_count(), -p)):
        others = 0
        for other in kept:
            others |= columns[other] if other != place else 0
        if others & everything == everything:
            kept.remove(place)
    return kept
