"""What is said of a store that cannot be opened."""

from __future__ import annotations

from pathlib import Path

import pytest

from monitor.errors import StoreError
from monitor.store.store import Store


def test_a_damaged_file_is_called_damaged(tmp_path: Path) -> None:
    (tmp_path / "benchblotter.db").write_bytes(b"no database at all" * 500)
    with pytest.raises(StoreError, match="damaged"):
        Store.open(tmp_path, read_only=True)
