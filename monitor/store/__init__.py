"""Readings, rollups, the day-book, entities and migrations."""
