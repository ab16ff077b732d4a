"""A migrated, empty data directory for each test."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.support.stores import migrated_folder

__all__ = ["data", "migrated_folder"]


@pytest.fixture
def data(migrated_folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(migrated_folder, tmp_path / "data"))
