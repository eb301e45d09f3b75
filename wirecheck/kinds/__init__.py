"""The device kinds: data, one YAML file a kind, and the records made of them."""

from wirecheck.kinds.kind import COMMON, POLES, Kind, Poles, Variant
from wirecheck.kinds.loader import Kinds, kind_names, load_kind, load_kinds
from wirecheck.kinds.parameter import COLOURS, TYPES, Parameter

__all__ = [
    "COLOURS",
    "COMMON",
    "POLES",
    "TYPES",
    "Kind",
    "Kinds",
    "Parameter",
    "Poles",
    "Variant",
    "kind_names",
    "load_kind",
    "load_kinds",
]
