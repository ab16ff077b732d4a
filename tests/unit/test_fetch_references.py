"""What others measured and made is taken only as it was when its digest was written down."""

from __future__ import annotations

import hashlib
import io
import json
import subprocess
import sys
import tarfile
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

SCRIPT = Path(__file__).parents[2] / "deploy/fetch_references.py"

# In a child process: pip's own modules are not made for a process in which warnings are errors.
TRIED = """
import json, sys
from pathlib import Path
sys.path.insert(0, {folder!r})
import fetch_references as fetch
where, table, into = json.loads(sys.stdin.read())
def fetched(archive):
    file = Path(where) / archive.project
    if not file.exists():
        raise fetch.Unusable("could not be fetched")
    return file.read_bytes()
fetch._fetched = fetched
fetch.ARCHIVES = [
    fetch.Archive(name, "1.0", digest, tuple(fetch.Member(*member) for member in members))
    for name, digest, members in table
]
sys.exit(fetch.main(Path(into)))
"""

AIR, TABLE = b"origin,temp\nEWR,39.02\n", b"0 1 2\n"
FILES = {"air": {"data/air.csv": AIR}, "wires": {"a/k.tab": TABLE, "a/t.tab": TABLE + b"3\n"}}


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


@dataclass
class Scene:
    """Two archives of the same shape as the real ones, one of each kind, and their digests."""

    at: Path

    def __post_init__(self) -> None:
        with tarfile.open(self.at / "air", "w:gz") as packed:
            member = tarfile.TarInfo("air-1.0/data/air.csv")
            member.size = len(AIR)
            packed.addfile(member, io.BytesIO(AIR))
        with zipfile.ZipFile(self.at / "wires", "w") as zipped:
            for path, content in FILES["wires"].items():
                zipped.writestr(f"wires-1.0/{path}", content)
        self.archives = {name: sha256((self.at / name).read_bytes()) for name in FILES}
        self.members = {
            name: [[path, Path(path).name, sha256(content)] for path, content in files.items()]
            for name, files in FILES.items()
        }

    def fetch(self) -> tuple[int, str, dict[str, bytes]]:
        """Give exit code, what was said, and what lies there then."""
        into = self.at / "data"
        table: list[Any] = [[name, digest, self.members[name]] for name, digest in self.archives.items()]
        done = subprocess.run(
            [sys.executable, "-B", "-c", TRIED.format(folder=str(SCRIPT.parent))],
            input=json.dumps([str(self.at), table, str(into)]),
            capture_output=True,
            text=True,
            check=False,
        )
        there = {file.name: file.read_bytes() for file in into.iterdir()} if into.exists() else {}
        return done.returncode, done.stderr, there


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path)


WIRES = {"k.tab": TABLE, "t.tab": TABLE + b"3\n"}
ALL = {"air.csv": AIR, **WIRES}


def test_files_are_read_out_of_archives_of_both_kinds(scene: Scene) -> None:
    assert scene.fetch() == (0, "", ALL)


def test_what_is_there_is_not_fetched_again(scene: Scene) -> None:
    scene.fetch()
    (scene.at / "air").unlink()
    assert scene.fetch() == (0, "", ALL)


def test_another_archive_is_refused_and_the_others_are_taken(scene: Scene) -> None:
    scene.archives["air"] = "0" * 64
    code, said, there = scene.fetch()
    assert (code, there) == (1, WIRES)
    assert said.startswith("air 1.0: the archive: SHA-256 ")
    assert "It was changed; do not use it." in said


def test_another_file_is_refused_and_not_kept(scene: Scene) -> None:
    scene.members["wires"][1][2] = "0" * 64
    code, said, there = scene.fetch()
    assert (code, there) == (1, {"air.csv": AIR, "k.tab": TABLE})
    assert said.startswith("wires 1.0: a/t.tab: SHA-256 ")


@pytest.mark.parametrize(("name", "kept"), [("air", WIRES), ("wires", {"air.csv": AIR})])
def test_a_file_that_is_not_in_it_is_named(scene: Scene, name: str, kept: dict[str, bytes]) -> None:
    scene.members[name][0][0] = "b/other"
    code, said, there = scene.fetch()
    assert (code, there) == (1, kept)
    assert said.startswith(f"{name} 1.0: {name}-1.0/b/other is not in it")


def test_one_that_cannot_be_fetched_does_not_stop_the_others(scene: Scene) -> None:
    (scene.at / "air").unlink()
    assert scene.fetch() == (1, "air 1.0: could not be fetched\n", WIRES)


def test_a_damaged_file_is_fetched_anew(scene: Scene) -> None:
    scene.fetch()
    (scene.at / "data/air.csv").write_bytes(AIR[:-1])
    assert scene.fetch() == (0, "", ALL)
