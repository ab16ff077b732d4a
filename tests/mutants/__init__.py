"""Deliberate one-line faults, each of which the tests must catch."""
