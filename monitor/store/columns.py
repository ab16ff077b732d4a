"""Column types that are strict on SQLite and the same width on PostgreSQL."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

INT = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
REAL: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
TEXT = sa.Text()

METADATA = sa.MetaData()
STRICT: dict[str, Any] = {"sqlite_strict": True}
KEYED: dict[str, Any] = {"sqlite_strict": True, "sqlite_with_rowid": False}
