"""The tests, importable so that their helpers are found as `tests.support`."""
