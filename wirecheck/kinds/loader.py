"""Finds the device kinds: one YAML file a kind, each read when a plan first uses it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache

from wirecheck.kinds.kind import Kind, kind_of
from wirecheck.nodes import compose, plain_data
from wirecheck.resources import package_folder, read_text


@cache
def kind_names() -> tuple[str, ...]:
    """The names of all packaged kinds, in alphabetical order."""
    return tuple(sorted(path.stem for path in package_folder("kinds", "data").glob("*.yaml")))


@cache
def load_kind(name: str) -> Kind:
    """The packaged kind of this name; KeyError where there is none."""
    if name not in kind_names():
        raise KeyError(name)
    path = package_folder("kinds", "data") / f"{name}.yaml"
    return kind_of(plain_data(compose(read_text(path), path.name)))


def load_kinds() -> tuple[Kind, ...]:
    """All packaged kinds, in alphabetical order."""
    return tuple(load_kind(name) for name in kind_names())


class Kinds:
    """The kinds that a plan may use: the packaged ones, and the house's own beside them."""

    def __init__(self, own: Iterable[Kind] = ()) -> None:
        self._own: Mapping[str, Kind] = {kind.called: kind for kind in own}
        self.names = tuple(sorted({*kind_names(), *self._own}))

    def get(self, name: str) -> Kind:
        """The kind that a plan calls by this name; KeyError where there is none."""
        return self._own[name] if name in self._own else load_kind(name)
