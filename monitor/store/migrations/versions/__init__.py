"""One module a version, in order."""
