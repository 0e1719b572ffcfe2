"""Databases of the tests' own on a PostgreSQL server."""

from os import getpid

from sqlalchemy import create_engine, make_url, text

from server.db import make_engine
from server.migrate import upgrade_engine


class Postgres:
    """A server, as a user who may create databases; what was created is dropped at the end."""

    def __init__(self, address: str) -> None:
        self.address = make_url(address)
        self.engine = create_engine(self.address, isolation_level="AUTOCOMMIT")
        self.made: list[str] = []
        self.migrated = ""
        """The name of a migrated, empty database; none until one is asked for."""

    def empty_database(self) -> str:
        """The address of a database that holds nothing yet."""
        return self._address_of(self._new("template0"))

    def migrated_database(self) -> str:
        """The address of a database with every table and no row: a copy of one that is migrated once."""
        if not self.migrated:
            self.migrated = self._new("template0")
            upgrade_engine(make_engine(self._address_of(self.migrated)))
        return self._address_of(self._new(self.migrated))

    def _new(self, template: str) -> str:
        # Its own for each process: several workers share one server.
        name = f"witness_mark_test_{getpid()}_{len(self.made)}"
        with self.engine.connect() as connection:
            connection.execute(text(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)'))
            connection.execute(text(f'CREATE DATABASE "{name}" ENCODING \'UTF8\' TEMPLATE "{template}"'))
        self.made.append(name)
        return name

    def _address_of(self, name: str) -> str:
        return self.address.set(database=name).render_as_string(hide_password=False)

    def close(self) -> None:
        with self.engine.connect() as connection:
            for name in self.made:
                connection.execute(text(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)'))
        self.engine.dispose()
