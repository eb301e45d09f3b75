"""Checks the control-wiring plan of a machine before anybody picks up a screwdriver."""

__version__ = "0.1.0"
