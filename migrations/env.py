"""What Alembic runs: on a connection handed over by the program, or on the database of the environment."""

from alembic import context
from sqlalchemy.engine import Connection

from server.db import make_engine, writing
from server.migrate import make_data_folder, tables
from server.settings import settings_for


def run(connection: Connection) -> None:
    """Run every step in one transaction, on SQLite too, so that a failure leaves the old tables whole."""
    sqlite = connection.dialect.name == "sqlite"
    if sqlite:
        _enforce_foreign_keys(
            connection, False
        )  # a table is rebuilt by copying it; its rows stay what they are
    context.configure(
        connection=connection,
        target_metadata=tables(),
        render_as_batch=True,
        compare_type=True,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()
        if sqlite:
            broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
            if broken:
                raise RuntimeError(
                    f"The new tables would lose {len(broken)} links between rows: {broken[:3]}"
                )
    if sqlite:
        _enforce_foreign_keys(connection, True)


def _enforce_foreign_keys(connection: Connection, on: bool) -> None:
    """SQLite heeds this outside a transaction only, so it goes past the one that SQLAlchemy would begin."""
    raw = connection.connection.dbapi_connection
    assert raw is not None
    raw.execute(f"PRAGMA foreign_keys = {'ON' if on else 'OFF'}")


def from_command_line() -> None:
    """`alembic revision --autogenerate` and its kin: the database that the environment names."""
    settings = settings_for()
    make_data_folder(settings)
    engine = make_engine(settings.database_url)
    with writing(engine).connect() as connection:
        run(connection)
    engine.dispose()


handed_over = context.config.attributes.get("connection")
if handed_over is None:
    from_command_line()
else:
    run(handed_over)
