"""The calculations, one module each. `wirecheck.electrics` tells what a module holds."""
