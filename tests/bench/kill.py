"""Kill -9 in the midst of writes, on SQLite and on PostgreSQL: what was acknowledged stands, once, and whole.

`python -m tests.bench.kill [writes]`: so many writes (300) over HTTP to a real server, four at a time; it is
killed at drawn moments, looked over as it lies, started again, and sent again what it had not answered. On
PostgreSQL the database is killed in turn, alone and together with the server. At the end every write is sent
once more, and a copy of the data, put back elsewhere, is compared byte for byte in exported form; minutes.
"""

import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from threading import Lock, Thread

import httpx
from sqlmodel import Session

from server import keeping
from server.db import make_engine
from server.features.archive.service import export_build
from server.migrate import upgrade
from server.settings import Settings, settings_for
from tests.kept_writes import Standing, Write, left_over, prepare, send, standing, writes
from tests.processes import App, Cluster

WRITES = 300
HANDS = 4
"""So many forms are on their way at once."""
AT_ONCE = 30
"""New writes between two kills."""
SEED = 20261126
VICTIMS = ("server", "database", "both")


@dataclass(slots=True)
class Run:
    """A server under attack, and what came of it so far."""

    app: App
    cluster: Cluster | None
    dice: random.Random
    acknowledged: set[str] = field(default_factory=set)
    answers: Counter[int] = field(default_factory=Counter)
    kills: Counter[str] = field(default_factory=Counter)
    kept_unanswered: int = 0
    faults: list[str] = field(default_factory=list)
    lock: Lock = field(default_factory=Lock)

    def start(self) -> None:
        if self.cluster is not None and self.cluster.process is None:
            self.cluster.start()
        if self.app.process is None:
            self.app.start()

    def kill(self) -> None:
        victim = VICTIMS[self.kills.total() % 3] if self.cluster is not None else "server"
        self.kills[victim] += 1
        if self.cluster is not None and victim != "server":
            self.cluster.kill()
        if victim != "database":
            self.app.kill()

    def send_all(self, pending: Sequence[Write]) -> None:
        """Four hands send them in order, each once."""
        waiting = list(reversed(pending))

        def hand() -> None:
            with httpx.Client(timeout=60, trust_env=False) as client:
                while True:
                    with self.lock:
                        if not waiting:
                            return
                        write = waiting.pop()
                    status = send(client, self.app.origin, write)
                    with self.lock:
                        self.answers[status] += 1
                        if status == 303:
                            self.acknowledged.add(write.mark)

        hands = [Thread(target=hand) for _ in range(HANDS)]
        for one in hands:
            one.start()
        for one in hands:
            one.join()

    @contextmanager
    def killed_at_a_drawn_moment(self, pending: Sequence[Write]) -> Iterator[None]:
        """Kills once a drawn share of what is pending is answered and a drawn moment has passed."""
        enough = len(self.acknowledged) + self.dice.randint(1, len(pending) - 1)
        pause = self.dice.uniform(0.0, 0.08)

        def strike() -> None:
            end = time.monotonic() + 60
            while len(self.acknowledged) < enough and time.monotonic() < end:
                time.sleep(0.002)
            time.sleep(pause)
            self.kill()

        killer = Thread(target=strike)
        killer.start()
        yield
        killer.join()

    def look_over(self) -> Standing:
        """Whatever is wrong with what lies there."""
        if self.cluster is not None and self.cluster.process is None:
            self.cluster.start()
        engine = make_engine(self.app.settings.database_url)
        found = standing(engine, self.app.settings.photos)
        if self.cluster is None:
            with engine.connect() as connection:
                told = connection.exec_driver_sql("PRAGMA integrity_check").scalar()
                self.faults += [f"integrity: {told}"] if told != "ok" else []
        engine.dispose()
        self.faults += [f"lost: {mark}" for mark in self.acknowledged if not found.whole[mark]]
        self.faults += [f"{count} times: {mark}" for mark, count in found.whole.items() if count > 1]
        self.faults += found.halves
        return found


def attack(run: Run, every: Sequence[Write], at_once: int = AT_ONCE) -> None:
    """Send them all, kill after kill, until each is answered; then each once more."""
    for first in range(0, len(every), at_once):
        missing = [one for one in every[:first] if one.mark not in run.acknowledged]
        pending = [*missing, *every[first : first + at_once]]
        run.start()
        with run.killed_at_a_drawn_moment(pending):
            run.send_all(pending)
        found = run.look_over()
        run.kept_unanswered += sum(
            one.mark in found.whole and one.mark not in run.acknowledged for one in pending
        )
    run.start()
    run.send_all([one for one in every if one.mark not in run.acknowledged])
    run.send_all(every)
    found = run.look_over()
    run.faults += [f"never came: {one.mark}" for one in every if found.whole[one.mark] != 1]


def exported(settings: Settings, now: datetime) -> bytes:
    engine = make_engine(settings.database_url)
    to = BytesIO()
    with Session(engine) as session:
        export_build(session, settings.photos, 1, to, now)
    engine.dispose()
    return to.getvalue()


def copied(run: Run, now: datetime) -> Settings:
    """A copy of everything, put back elsewhere: by our own commands, or by PostgreSQL's."""
    here = run.app.settings
    there = here.data.parent / "elsewhere"
    if run.cluster is None:
        settings = settings_for(data=there, environment={})
        keeping.restore(settings, keeping.backup(here, here.data.parent / "copies", now), now)
        return settings
    dump = str(run.cluster.folder / "dump")
    run.cluster.run("pg_dump", "-Fc", "-f", dump, run.cluster.address("witness", ""))
    run.cluster.create("again")
    run.cluster.run("pg_restore", "-d", run.cluster.address("again", ""), dump)
    shutil.copytree(here.photos, there / "photos")
    return settings_for(data=there, environment={"DATABASE_URL": run.cluster.address("again")})


def play(folder: Path, count: int, of_postgres: bool) -> list[str]:
    """One engine; what is wrong."""
    now, began = datetime.now(UTC), time.monotonic()
    cluster, environment = None, {}
    if of_postgres:
        cluster = Cluster(folder / "cluster", folder / "postgres.log")
        cluster.start()
        cluster.create("witness")
        environment = {"DATABASE_URL": cluster.address("witness")}
    settings = settings_for(data=folder / "data", environment=environment)
    upgrade(settings)
    engine = make_engine(settings.database_url)
    prepare(engine, count, now)
    run = Run(App(settings, folder / "server.log"), cluster, random.Random(SEED))
    try:
        attack(run, writes(count, run.dice))
        same = exported(settings, now) == exported(copied(run, now), now)
        run.faults += [] if same else ["a copy put back is not what it was a copy of"]
        orphans = left_over(engine, settings.photos)
    finally:
        engine.dispose()
        run.app.kill()
        if cluster is not None:
            cluster.kill()
    name = "PostgreSQL" if of_postgres else "SQLite"
    print(f"{name}: {count} writes, killed {dict(run.kills)}, answers {dict(sorted(run.answers.items()))}")
    print(
        f"  {run.kept_unanswered} stood though nobody had been answered, and were not doubled; "
        f"{orphans} files without a row, to be swept away; {time.monotonic() - began:.0f} s"
    )
    print(
        "  "
        + ("\n  ".join(run.faults[:20]) if run.faults else "nothing lost, doubled or half; the copy is equal")
    )
    return run.faults


def main(count: int = WRITES) -> int:
    """Both engines; 1 where anything was lost, doubled or half."""
    wrong = []
    for of_postgres in (False, True):
        if of_postgres and Cluster.programs() is None:
            print("PostgreSQL is not installed here: left out")
            continue
        with tempfile.TemporaryDirectory() as folder:
            Path(folder).chmod(0o755)
            wrong += play(Path(folder), count, of_postgres)
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main(*(int(one) for one in sys.argv[1:2])))
