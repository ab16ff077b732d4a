"""Pure formulas: no I/O, no clock, no logging."""
