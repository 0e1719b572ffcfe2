"""Databases of the tests' own on a PostgreSQL server."""

from os import getpid

from sqlalchemy import create_engine, make_url, text


class Postgres:
    """A server, as a user who may create databases; what was created is dropped at the end."""

    def __init__(self, address: str) -> None:
        self.address = make_url(address)
        self.engine = create_engine(self.address, isolation_level="AUTOCOMMIT")
        self.made: list[str] = []

    def empty_database(self) -> str:
        """The address of a database that holds nothing yet."""
        # Its own for each process: several workers share one server.
        name = f"witness_mark_test_{getpid()}_{len(self.made)}"
        with self.engine.connect() as connection:
            connection.execute(text(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)'))
            connection.execute(text(f"CREATE DATABASE \"{name}\" ENCODING 'UTF8' TEMPLATE template0"))
        self.made.append(name)
        return self.address.set(database=name).render_as_string(hide_password=False)

    def close(self) -> None:
        with self.engine.connect() as connection:
            for name in self.made:
                connection.execute(text(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)'))
        self.engine.dispose()
