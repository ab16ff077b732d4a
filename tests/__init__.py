"""The tests, importable so that what they share is found as `tests.support`."""
