"""Stores of both kinds for the contract tests."""

from tests.support.postgres import postgres_server
from tests.support.stores import begun, migrated_folder, new_place, open_place, place, postgres_places, writing

__all__ = [
    "begun",
    "migrated_folder",
    "new_place",
    "open_place",
    "place",
    "postgres_places",
    "postgres_server",
    "writing",
]
