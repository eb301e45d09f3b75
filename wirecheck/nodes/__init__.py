"""Strict YAML 1.2 as nodes that know their line and column: every plain word stays the word that was written.

PyYAML's own loaders follow YAML 1.1 (`NO` is false, `1:30` is 90), keep the last of a repeated key and expand aliases without
end. Here only its parser is used, the C one where it is installed. Nodes are put together without recursion: no text is too deep.
"""

from wirecheck.nodes.builder import compose
from wirecheck.nodes.node import Node, plain_data

__all__ = ["Node", "compose", "plain_data"]
