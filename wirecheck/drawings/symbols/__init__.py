"""Graphical symbols, after IEC 60617 or plain. Each is a function from positions on the sheet to shapes."""
