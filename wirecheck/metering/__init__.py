"""What a meter reads between two terminals of a machine that is switched off, as it should be and with a wiring error in it.

Positions of the devices and errors in, readings out. All errors are looked at together: a set of errors is an integer, bit *k*
for error number *k*, so that one search through the circuit tells what the meter reads with each of them.
"""
