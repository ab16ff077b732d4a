"""Pure decisions: inputs fold into day-book events, estimates and signals. No clock, no I/O."""
