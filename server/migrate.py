"""Brings a database to the tables that this version of the program knows."""

import importlib
import pkgutil
from functools import cache

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, MetaData
from sqlmodel import SQLModel

from server.db import make_engine, writing
from server.settings import PROJECT, Settings


@cache
def tables() -> MetaData:
    """Every table of the project: each feature's `tables.py`, and the operation keys.

    Found by looking, so that nothing here rests on a feature, and a feature may bring a database up to date.
    """
    importlib.import_module("server.once")
    features = importlib.import_module("server.features")
    for feature in pkgutil.iter_modules(features.__path__, "server.features."):
        package = importlib.import_module(feature.name)
        if "tables" in {module.name for module in pkgutil.iter_modules(package.__path__)}:
            importlib.import_module(f"{feature.name}.tables")
    return SQLModel.metadata


def configuration() -> Config:
    """Alembic's settings, as pyproject.toml states them."""
    return Config(toml_file=PROJECT / "pyproject.toml")


def head() -> str:
    """The newest version that this program knows."""
    newest = ScriptDirectory.from_config(configuration()).get_current_head()
    assert newest is not None, "migrations/versions is empty"
    return newest


def versions() -> tuple[str, ...]:
    """Every version, oldest first."""
    scripts = ScriptDirectory.from_config(configuration()).walk_revisions()
    return tuple(reversed([script.revision for script in scripts]))


def current(engine: Engine) -> str | None:
    """The version that a database stands at; none where nothing was ever set up in it."""
    with engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def upgrade_engine(engine: Engine, version: str = "head") -> None:
    """Bring the database behind an engine to a version, all of it or nothing."""
    config = configuration()
    with writing(engine).connect() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, version)
    engine.dispose()  # no pooled connection may keep what the migration switched off


def upgrade(settings: Settings, version: str = "head") -> None:
    """Make the data folder where it is missing, and bring the database of these settings to a version."""
    make_data_folder(settings)
    engine = make_engine(settings.database_url)
    try:
        upgrade_engine(engine, version)
    finally:
        engine.dispose()


def make_data_folder(settings: Settings) -> None:
    """The data folder and the photos folder in it, readable by this user alone."""
    settings.data.mkdir(mode=0o700, parents=True, exist_ok=True)
    settings.photos.mkdir(mode=0o700, exist_ok=True)
