"""A real PostgreSQL for the tests, started once a run in a folder of its own."""

from __future__ import annotations

import glob
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

TEMPLATE = "blotter_template"


class PostgresServer:
    """A running server that listens on a local socket only.

    Run as root it belongs to the user `postgres`, because the server refuses root.
    """

    def __init__(self, programs: Path) -> None:
        self._programs = programs
        self._user = "postgres" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
        self.folder = Path(tempfile.mkdtemp(prefix="blotter-pg-", dir="/tmp"))
        self._made = 0
        if os.geteuid() == 0:
            account = pwd.getpwnam("postgres")
            os.chown(self.folder, account.pw_uid, account.pw_gid)
        try:
            self._run("initdb", "-D", str(self.data), "-U", self._user, "-A", "trust", "-E", "UTF8", "--locale=C")
            options = f"-k {self.folder} -c listen_addresses='' -c fsync=off -c max_connections=50"
            self._run("pg_ctl", "-D", str(self.data), "-l", str(self.folder / "log"), "-w", "-o", options, "start")
        except BaseException:
            shutil.rmtree(self.folder, ignore_errors=True)
            raise

    @property
    def data(self) -> Path:
        """Give the server's data folder."""
        return self.folder / "data"

    def url(self, database: str) -> str:
        """Give the address of a database."""
        return f"postgresql://{self._user}@/{database}?host={self.folder}"

    def create(self, template: str = "template1", name: str | None = None) -> str:
        """Make a database as a copy of another; give its address."""
        self._made += 1
        name = name or f"blotter_{self._made}"
        self.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
        return self.url(name)

    def execute(self, statement: str) -> None:
        """Run a statement outside a transaction."""
        engine = sa.create_engine(
            sa.make_url(self.url("postgres")).set(drivername="postgresql+psycopg"),
            isolation_level="AUTOCOMMIT", poolclass=sa.NullPool,
        )  # fmt: skip
        with engine.connect() as connection:
            connection.exec_driver_sql(statement)
        engine.dispose()

    def stop(self) -> None:
        """Stop the server and remove its folder."""
        try:
            self._run("pg_ctl", "-D", str(self.data), "-m", "immediate", "-w", "stop")
        finally:
            shutil.rmtree(self.folder, ignore_errors=True)

    def _run(self, program: str, *arguments: str) -> None:
        command = [str(self._programs / program), *arguments]
        if os.geteuid() == 0:
            command = ["runuser", "-u", "postgres", "--", *command]
        done = subprocess.run(command, cwd="/", stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
        if done.returncode:
            raise RuntimeError(f"{program} ended with {done.returncode}: {done.stdout.decode(errors='replace')}")


def find_programs() -> Path | None:
    """Give the folder of the newest installed server's programs, or None."""
    found = glob.glob("/usr/lib/postgresql/*/bin/initdb")
    newest = max(found, key=lambda path: float(path.split("/")[4]), default=None)
    if newest is None:
        newest = shutil.which("initdb")
    return None if newest is None else Path(newest).parent


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[PostgresServer]:
    """Start PostgreSQL once a run; skip where it is not installed, fail where CI=true."""
    programs = find_programs()
    if programs is None:
        reason = "PostgreSQL is not installed (no /usr/lib/postgresql/*/bin/initdb); install the package postgresql"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    server = PostgresServer(programs)
    try:
        yield server
    finally:
        server.stop()
