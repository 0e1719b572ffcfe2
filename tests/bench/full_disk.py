"""A disk that fills up under a real server, on either database: told, nothing lost, and mended by space.

`python -m tests.bench.full_disk`: the data stands on a small disk of its own (Linux, as root), which writes
fill. Pages must still be read, what was refused must not stand, what was acknowledged must; once there is
room again the same forms are sent again and each stands once; a minute or two.
"""

import os
import random
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import httpx

from server.db import make_engine
from server.migrate import upgrade
from server.settings import settings_for
from tests.kept_writes import Write, prepare, send, standing, writes
from tests.processes import App, Cluster

SEED = 20261126
WRITES = 140
LEFT = 250_000
"""Room on the disk as the first write comes [bytes]: some dozens of them."""
SIZES = {"SQLite": "6m", "PostgreSQL": "160m"}


@contextmanager
def small_disk(folder: Path, size: str) -> Iterator[Path]:
    """A disk of its own, in memory."""
    folder.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size},mode=755", "none", folder], check=True)
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", folder], check=True)


def fill(disk: Path) -> Path:
    """Take all but a little of the room; the file that has it."""
    state = os.statvfs(disk)
    filler = disk / "filler"
    with filler.open("wb") as file:
        file.write(bytes(max(state.f_bavail * state.f_frsize - LEFT, 0)))
    return filler


def play(folder: Path, name: str) -> list[str]:
    """One engine; what is wrong."""
    now, cluster, environment = datetime.now(UTC), None, {}
    with small_disk(folder / "disk", SIZES[name]) as disk:
        if name == "PostgreSQL":
            cluster = Cluster(disk / "cluster", folder / "postgres.log")
            cluster.start()
            cluster.create("witness")
            environment = {"DATABASE_URL": cluster.address("witness")}
        settings = settings_for(data=disk / "data", environment=environment)
        upgrade(settings)
        engine = make_engine(settings.database_url)
        app = App(settings, folder / "server.log")
        try:
            every = writes(WRITES, random.Random(SEED))
            prepare(engine, WRITES, now)
            app.start()
            filler = fill(disk)
            answers, wrong = sent(app, every)
            acknowledged = {mark for mark, status in answers.items() if status == 303}
            found = standing(engine, settings.photos)
            wrong += [f"lost: {mark}" for mark in acknowledged if found.whole[mark] != 1]
            wrong += [f"stands though it was refused: {mark}" for mark in found.whole.keys() - acknowledged]
            filler.unlink()
            again, more = sent(app, every)
            found = standing(engine, settings.photos)
            wrong += [f"not once: {one.mark}" for one in every if found.whole[one.mark] != 1]
            wrong += [*found.halves, *more]
        finally:
            engine.dispose()
            app.kill()
            if cluster is not None:
                cluster.kill()
    told = (Counter(some.values()) for some in (answers, again))
    print(f"{name}: answers while the disk was full {dict(next(told))}, with room again {dict(next(told))}")
    print(
        "  "
        + ("\n  ".join(wrong[:20]) if wrong else "nothing lost, nothing half, all of it once with room again")
    )
    return wrong


def sent(app: App, every: Sequence[Write]) -> tuple[dict[str, int], list[str]]:
    """Send each once; the status of each by its mark, and what is wrong with an answer."""
    answers, wrong = {}, []
    with httpx.Client(timeout=60, trust_env=False) as client:
        for write in every:
            status = answers[write.mark] = send(client, app.origin, write)
            if status not in {303, 507}:
                wrong.append(f"{write.mark} is answered {status}")
            if status != 303 and client.get(f"{app.origin}/builds/1/log").status_code != 200:
                wrong.append(f"the log can't be read after {write.mark}")
    return answers, wrong


def main() -> int:
    """Both engines; 1 where anything was lost or half, or told as something else."""
    if os.getuid() != 0:
        print("Only root can make a small disk: left out")
        return 0
    wrong = []
    for name in SIZES:
        if name == "PostgreSQL" and Cluster.programs() is None:
            print("PostgreSQL is not installed here: left out")
            continue
        with tempfile.TemporaryDirectory() as folder:
            Path(folder).chmod(0o755)
            wrong += play(Path(folder), name)
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
