"""Migrations of the store. A migration, once released, is never changed."""
