"""The claim kinds, one module each: the vocabulary in which rules are written. `wirecheck.rules` tells what a module holds."""
