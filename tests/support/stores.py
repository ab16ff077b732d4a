"""Empty and begun stores of both kinds for tests; both are made once by migration and then copied."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

from monitor.clock import Segment
from monitor.config import ProbeConfig, Studio
from monitor.store.columns import METADATA
from monitor.store.migrating import migrate
from monitor.store.store import Store
from monitor.store.tables import SCHEMA
from monitor.store.where import connect_engine, resolve
from tests.support.postgres import TEMPLATE, PostgresServer, postgres_server

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

BOARD = "hub"
NOON = 1_777_896_000_000  # 2026-05-04T12:00:00Z
STUDIO = Studio(
    "Invented studio",
    BOARD,
    ("long table", "easel"),
    (
        ProbeConfig("air", "long table", "sht45", "i2c-1", 1000, 0x44),
        ProbeConfig("spatula", "long table", "max31856", "spi-0.0", 200, 0, "K"),
    ),
)
RH, TEMPERATURE, TOOL = "air.relative_humidity", "air.air_temperature", "spatula.tool_temperature"


def segment(
    number: int = 1, boot: int = 1, from_mono_ms: int = 0, at_ms: int = NOON, *, known: bool = True
) -> Segment:
    """Give a segment that begins at an instant."""
    return Segment(number, boot, from_mono_ms, at_ms - from_mono_ms if known else 0, known)


def begin(store: Store, studio: Studio = STUDIO) -> Store:
    """Begin a boot and declare a studio."""
    store.begin_boot(studio.board, "boot-of-a-test", NOON, 1, "0.1.0")
    store.declare(studio, {"air": "0x1234"}, {probe.name: f"simulated {probe.part}" for probe in studio.probes})
    return store


@pytest.fixture(scope="session")
def migrated_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with an empty, migrated SQLite store, to be copied and never opened."""
    folder = tmp_path_factory.mktemp("template")
    migrate(folder)
    return folder


class PostgresPlaces:
    """Migrated databases of one server, emptied and used again: making one costs half a second."""

    def __init__(self, server: PostgresServer) -> None:
        self._server = server
        self._free: list[str] = []
        migrate(server.create(name=TEMPLATE))

    def take(self) -> str:
        """Give an empty database."""
        return self._free.pop() if self._free else self._server.create(TEMPLATE)

    def give_back(self, url: str) -> None:
        """Empty a database as only the server's owner can: with every trigger put aside."""
        engine = connect_engine(resolve(url), "write")
        with engine.begin() as connection:
            connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
            for table in reversed(METADATA.sorted_tables):
                connection.execute(table.delete())
            connection.exec_driver_sql("ALTER SEQUENCE channels_channel_id_seq RESTART")
            connection.exec_driver_sql("ALTER TABLE daybook ENABLE TRIGGER USER")
            connection.exec_driver_sql(f"UPDATE alembic_version SET version_num = '{SCHEMA}'")
        engine.dispose()
        self._free.append(url)


@pytest.fixture(scope="session")
def postgres_places(postgres_server: PostgresServer) -> PostgresPlaces:
    """Give the run's databases."""
    return PostgresPlaces(postgres_server)


@pytest.fixture(params=["sqlite", "postgresql"])
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[[], str]]:
    """Give a function that makes an empty, migrated place of one kind; what it gave before must be closed."""
    if request.param == "sqlite":
        template: Path = request.getfixturevalue("migrated_folder")
        made: list[str] = []

        def copy() -> str:
            made.append(str(shutil.copytree(template, tmp_path / f"store{len(made)}")))
            return made[-1]

        yield copy
        return
    places: PostgresPlaces = request.getfixturevalue("postgres_places")
    taken: list[str] = []

    def take() -> str:
        if taken:
            places.give_back(taken.pop())
        taken.append(places.take())
        return taken[-1]

    yield take
    for url in taken:
        places.give_back(url)


@pytest.fixture
def place(new_place: Callable[[], str]) -> str:
    """Give an empty, migrated place of each kind."""
    return new_place()


@pytest.fixture
def open_place(place: str) -> Iterator[Callable[..., Store]]:
    """Give a function that opens the place; whatever it opened is closed at the end."""
    opened: list[Store] = []

    def open_it(*, read_only: bool = False) -> Store:
        opened.append(Store.open(place, read_only=read_only))
        return opened[-1]

    yield open_it
    for store in opened:
        store.close()


@pytest.fixture
def begun(open_place: Callable[..., Store]) -> Store:
    """Give a store of each kind with one boot begun and the sample studio declared."""
    return begin(open_place())


@pytest.fixture
def writing(place: str) -> Iterator[sa.Engine]:
    """Give connections that may write raw statements, past the store."""
    engine = connect_engine(resolve(place), "write")
    yield engine
    engine.dispose()
