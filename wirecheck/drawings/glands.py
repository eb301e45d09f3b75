"""Where the bundles pass the sides of the frames, and how their wires reach them inside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from wirecheck.drawings.bundles import Bundle, Frame, Gland, Sides
from wirecheck.drawings.grid import PITCH, up_to
from wirecheck.drawings.nets import EndKey
from wirecheck.drawings.tracks import Stretch, lanes

APART = 25.0
"""Between two glands: room for the jackets and for what is written above and below them."""
ABOVE, BELOW = 20.0, 12.0
MARGIN_EDGE = 6.0


def glands(bundles: Sequence[Bundle], ways: Sequence[Sides], frames: Sequence[Frame]) -> list[tuple[Gland, Gland]]:
    """For each bundle its two glands, near the middle of what they lead to and never on each other."""
    settling = _Settling(frames)
    out: list[tuple[Gland, Gland]] = []
    for number, (bundle, way) in enumerate(zip(bundles, ways, strict=True)):
        order = _core_order(bundle, way, frames)
        starts = tuple(bundle.starts[n] for n in order)
        finishes = tuple(bundle.finishes[n] for n in order)
        if way.first_side == way.second_side:
            finishes = finishes[::-1]
        first = settling.settled(Gland(number, bundle.first, way.first_side, way.first_gutter, 0.0, starts))
        same = way.first_gutter == way.second_gutter and way.first_side != way.second_side
        second = Gland(number, bundle.second, way.second_side, way.second_gutter, 0.0, finishes)
        out.append((first, settling.settled(second, first if same else None)))
    return settling.uncrowded(out)


def _core_order(bundle: Bundle, way: Sides, frames: Sequence[Frame]) -> list[int]:
    """The cores in the order that makes them cross least on the way to their terminals at both ends."""
    turned = -1.0 if way.first_side == way.second_side else 1.0
    heights = [
        frames[bundle.first].top + frames[bundle.first].layout.exits[start][1]
        + turned * (frames[bundle.second].top + frames[bundle.second].layout.exits[finish][1])
        for start, finish in zip(bundle.starts, bundle.finishes, strict=True)
    ]  # fmt: skip
    return sorted(range(len(heights)), key=lambda n: (heights[n], bundle.starts[n]))


class _Settling:
    """Finds the glands their places one after the other."""

    def __init__(self, frames: Sequence[Frame]) -> None:
        self.frames = frames
        self.taken: dict[int, list[Gland]] = {}
        self.crowded: set[tuple[int, str]] = set()
        self.left_of: dict[int, set[int]] = {}

    def settled(self, gland: Gland, partner: Gland | None = None) -> Gland:
        """The gland opposite its other half where that can be, else where most cores go straight, else near them."""
        tracks = self.tracks(gland)
        spots = self.taken.setdefault(gland.gutter, [])
        own = [other for other in spots if (other.frame, other.side) == (gland.frame, gland.side)]
        if partner is not None:
            straight = replace(gland, middle=partner.middle)
            others = [other for other in spots if other is not partner]
            if self._inside(straight) and _clear(straight, tracks) and all(_apart(straight, other) for other in others):
                spots.append(straight)
                return straight
        aligned = {tracks[k] - gland.y_of(k) for k in gland.order}
        wish = sum(tracks[k] for k in gland.order) / len(gland.order)
        tries = [replace(gland, middle=m) for m in aligned]
        tries.sort(key=lambda g: (-_straight_cores(g, tracks), abs(g.middle - wish), g.middle))
        tries = [g for g in tries if _clear(g, tracks)] + list(_between(gland, wish))
        inside = [g for g in tries if self._inside(g)]
        # Best free of all that passes the gutter; else of what passes this side, if the bundles can then still be put in order.
        best = next((g for g in inside if all(_apart(g, other) for other in spots)), None)
        beside = [] if best else [g for g in inside if all(_apart(g, other) for other in own)]
        best = best or next((g for g in beside if not self._circular(g)), None) or next(iter(beside), None)
        if best is None:
            self.crowded.add((gland.frame, gland.side))
            best = tries[-1]
        for left, right in self._orders(best):
            self.left_of.setdefault(left, set()).add(right)
        spots.append(best)
        return best

    def _orders(self, gland: Gland) -> list[tuple[int, int]]:
        """Pairs of bundles of which the first must run left of the second, since they leave the gutter opposite each other."""
        out: list[tuple[int, int]] = []
        for other in self.taken[gland.gutter]:
            near = abs(gland.middle - other.middle) < gland.half + other.half + PITCH
            if near and other.side != gland.side and other.bundle != gland.bundle:
                pair = (gland.bundle, other.bundle)
                out.append(pair if gland.side == "right" else pair[::-1])
        return out

    def _circular(self, gland: Gland) -> bool:
        """Whether bundles would have to run left of each other in a circle."""
        new = self._orders(gland)
        ways = {left: set(rights) for left, rights in self.left_of.items()}
        for left, right in new:
            ways.setdefault(left, set()).add(right)
        seen: set[int] = set()
        waiting = [right for _, right in new]
        while waiting:
            bundle = waiting.pop()
            if bundle not in seen:
                seen.add(bundle)
                waiting += ways.get(bundle, ())
        return any(left in seen for left, _ in new)

    def tracks(self, gland: Gland) -> dict[EndKey, float]:
        """The heights at which wires come to this side of the frame."""
        frame = self.frames[gland.frame]
        return {key: frame.top + y for key, (side, y) in frame.layout.exits.items() if side == gland.side}

    def _inside(self, gland: Gland) -> bool:
        frame = self.frames[gland.frame]
        return frame.top + ABOVE + gland.half <= gland.middle <= frame.bottom - BELOW - gland.half

    def uncrowded(self, pairs: Sequence[tuple[Gland, Gland]]) -> list[tuple[Gland, Gland]]:
        """Where the glands of one side found no room one by one, all of that side are set one below the other."""
        out = [list(pair) for pair in pairs]
        for frame, side in sorted(self.crowded):
            own = [(n, k) for n, pair in enumerate(out) for k, g in enumerate(pair) if (g.frame, g.side) == (frame, side)]
            tracks = {n: self.tracks(out[n][k]) for n, k in own}
            own.sort(
                key=lambda spot: (
                    sum(tracks[spot[0]][key] for key in out[spot[0]][spot[1]].order) / len(out[spot[0]][0].order),
                    spot,
                )
            )
            edge = self.frames[frame].top + ABOVE
            for n, k in own:
                gland = out[n][k]
                out[n][k] = replace(gland, middle=_up_to_between(edge) + gland.half)
                edge = out[n][k].middle + gland.half + APART
        return [(first, second) for first, second in out]


def _between(gland: Gland, wish: float) -> list[Gland]:
    """Places ever farther from the wished one whose cores pass between the lanes of the channels, never at the height of one."""
    start = _up_to_between(wish - gland.half - PITCH / 2) + gland.half
    return [replace(gland, middle=start + sign * n * PITCH) for n in range(400) for sign in ((1, -1) if n else (1,))]


def _up_to_between(y: float) -> float:
    """The next height that lies in the middle between two lanes."""
    return up_to(y - PITCH / 2, PITCH) + PITCH / 2


def _apart(one: Gland, other: Gland) -> bool:
    return abs(one.middle - other.middle) >= one.half + other.half + APART


def _clear(gland: Gland, tracks: Mapping[EndKey, float]) -> bool:
    """No other wire's lane at the height of one of the cores."""
    own = {key: gland.y_of(key) for key in gland.order}
    return all(other == key or abs(y - at) > 2 for key, y in own.items() for other, at in tracks.items())


def _straight_cores(gland: Gland, tracks: Mapping[EndKey, float]) -> int:
    return sum(gland.y_of(key) == tracks[key] for key in gland.order)


def margin_paths(frame: Frame, own: Sequence[Gland], side: str) -> tuple[float, dict[EndKey, tuple[float, float, float]]]:
    """The wires between a frame's channels and its glands on one side: the margin's width, and for each wire the y it comes at,
    how far from the frame's content its lane is, and the y it leaves at.
    """
    keys = [(key, gland) for gland in own if gland.side == side for key in gland.order]
    legs = [(key, frame.top + frame.layout.exits[key][1], gland.y_of(key)) for key, gland in keys]
    bent = [leg for leg in legs if leg[1] != leg[2]]
    found = lanes([Stretch(((y, -1), (gland_y, 1))) for _, y, gland_y in bent])
    lane = {key: n for (key, _, _), n in zip(bent, found, strict=True)}
    width = PITCH * (max(found, default=-1) + 1) + MARGIN_EDGE * 2 if legs else 0.0
    return width, {key: (y, MARGIN_EDGE + PITCH * lane.get(key, 0), gland_y) for key, y, gland_y in legs}
