"""`python -m server`: serve, and everything that keeps the data well."""

import argparse
import getpass
import socket
import sys
from collections.abc import Sequence
from pathlib import Path

from sqlmodel import Session

import seed_demo
from server import doctor, keeping
from server.app import local_time
from server.certificate import make_authority
from server.db import make_engine, write_session
from server.errors import BadInput, NotAllowed, NotFound
from server.features.archive.service import export_build, import_build
from server.features.builders.service import passphrase_set, set_passphrase_of, whose_name
from server.features.builds.service import builds_page
from server.features.sharing.service import end_all
from server.migrate import upgrade
from server.serving import CannotServe, serve
from server.settings import Settings, settings_for


def parser() -> argparse.ArgumentParser:
    """The commands and what each one takes."""
    root = argparse.ArgumentParser(prog="python -m server", description="Witness Mark")
    commands = root.add_subparsers(dest="command", required=True, metavar="COMMAND")

    def command(name: str, text: str) -> argparse.ArgumentParser:
        one = commands.add_parser(name, help=text, description=text)
        one.add_argument("--data", type=Path, help="the data folder (else WITNESS_MARK_DATA, else ./data)")
        return one

    serving = command("serve", "make the data folder where it is missing, and answer browsers")
    serving.add_argument("--host", default="127.0.0.1", help="0.0.0.0 lets phones in; it needs a passphrase")
    serving.add_argument("--port", type=int, default=8000)
    copies = (
        "the folder of nightly copies (else WITNESS_MARK_COPIES, else copies in the data folder); off: none"
    )
    serving.add_argument("--copies", default="", help=copies)
    command("demo", "load the demo, where there is no build yet")
    home = command("certificate", "make an authority of this home's own, so that phones can be served HTTPS")
    home.add_argument("--name", action="append", default=[], help="a further host name of this machine")
    secret = command("passphrase", "set the passphrase that other machines are asked for")
    secret.add_argument("--for", dest="name", default="", help="a further builder (else who owns the server)")
    copying = command("backup", "copy database and photos, checked, while the server runs")
    copying.add_argument(
        "--to", type=Path, required=True, help="a folder; the copy gets a dated folder in it"
    )
    copying.add_argument("--one-file", action="store_true", help="as one zip in it instead")
    back = command("restore", "put a copy back as the data folder")
    back.add_argument(
        "--from", dest="copy", type=Path, required=True, help="a copy: its folder, or its one file"
    )
    back.add_argument("--aside", action="store_true", help="rename the data folder that stands there first")
    out = command("export", "write one build as an open archive, to bring in elsewhere")
    out.add_argument("build", type=int, help="its number, as in the addresses of its pages")
    out.add_argument("file", type=Path, help="the zip to write; it must not be there yet")
    bring = command("import", "bring in the build of an archive, beside those that are there")
    bring.add_argument("file", type=Path, help="the zip that `export` made")
    looking = command("doctor", "look over the data folder; ends with 1 where something must be mended")
    looking.add_argument("--copies", default="", help=copies)
    return root


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit status."""
    asked = parser().parse_args(arguments)
    settings = settings_for(
        asked.data,
        getattr(asked, "host", "127.0.0.1"),
        getattr(asked, "port", 8000),
        copies=getattr(asked, "copies", ""),
    )
    try:
        return _run(asked, settings)
    except BadInput as refused:
        for error in refused.errors:
            print(f"{error.message} Accepted: {error.accepts}", file=sys.stderr)
    except (NotAllowed, NotFound) as refused:
        print(str(refused), file=sys.stderr)
    except KeyboardInterrupt:
        return 130
    return 2


def _run(asked: argparse.Namespace, settings: Settings) -> int:
    match asked.command:
        case "serve":
            _serve(settings)
        case "demo":
            upgrade(settings)
            print(
                "The demo is loaded." if _load_demo(settings) else "There is a build already; left as it is."
            )
        case "certificate":
            own = socket.gethostname()
            names = (own, f"{own.split('.')[0]}.local", "localhost", *asked.name)
            print(f"Made: {make_authority(settings, names, local_time())}")
            print(
                "From now on `serve --host 0.0.0.0` speaks HTTPS. Each phone has to trust it once:\n"
                "the page “This phone” says how."
            )
        case "passphrase":
            upgrade(settings)
            _set_passphrase(settings, asked.name)
            print("The passphrase is set; every browser has to give it anew.")
        case "backup":
            print(f"Copied and checked: {keeping.backup(settings, asked.to, local_time(), asked.one_file)}")
        case "restore":
            moved = keeping.restore(settings, asked.copy, local_time(), asked.aside)
            upgrade(settings)
            print(f"Restored to {settings.data}." + (f" What stood there is in {moved}." if moved else ""))
            print(
                "The passphrase is not part of a copy: set it again with `passphrase` before serving others."
            )
        case "export":
            _export(settings, asked.build, asked.file)
            print(f"Written to {asked.file}.")
        case "import":
            print(f"Brought in as build {_import(settings, asked.file)}.")
        case "doctor":
            return _doctor(settings)
    return 0


def _export(settings: Settings, build: int, file: Path) -> None:
    if file.exists():
        raise NotAllowed(f"{file} is there already, and is left as it is. Name another file.")
    engine = make_engine(settings.database_url)
    partial = file.with_name(file.name + ".partial")
    try:
        with Session(engine) as session, partial.open("wb") as to:
            export_build(session, settings.photos, build, to, local_time())
        partial.rename(file)
    except OSError as error:
        raise NotAllowed(f"{file} can't be written: {error.strerror}.") from error
    finally:
        partial.unlink(missing_ok=True)
        engine.dispose()


def _import(settings: Settings, file: Path) -> int:
    if not file.is_file():
        raise NotAllowed(f"There is no file {file}.")
    upgrade(settings)
    engine = make_engine(settings.database_url)
    try:
        with write_session(engine) as session, file.open("rb") as sent:
            return import_build(session, settings.photos, sent)
    finally:
        engine.dispose()


def _set_passphrase(settings: Settings, name: str) -> None:
    engine = make_engine(settings.database_url)
    try:
        with write_session(engine) as session:
            whose = whose_name(session, name)
            if whose is None:
                raise NotFound(f"There is no builder called {name!r} on this server.")
            set_passphrase_of(session, settings.data, whose, _ask_passphrase())
            end_all(session, whose, local_time())
    finally:
        engine.dispose()


def _serve(settings: Settings) -> None:
    if not settings.loopback and not passphrase_set(settings.data):
        raise CannotServe(
            f"At {settings.host} other machines reach the server, and no passphrase is set. Set one first:\n"
            f"  python -m server passphrase --data {settings.data}\n"
            "or serve this machine alone: leave --host out."
        )
    upgrade(settings)
    _load_demo(settings)
    serve(settings, local_time)


def _load_demo(settings: Settings) -> bool:
    """Load the demo where there is no build; whether it was loaded."""
    engine = make_engine(settings.database_url)
    try:
        with Session(engine) as session:
            if builds_page(session, local_time()).builds:
                return False
        seed_demo.load(engine, settings, local_time)
        return True
    finally:
        engine.dispose()


def _ask_passphrase() -> str:
    """Asked twice at a terminal; from a script, the first line of the input."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\n")
    first = getpass.getpass("Passphrase, 12 characters or more: ")
    if getpass.getpass("Once more: ") != first:
        raise CannotServe("The two differ; nothing was set.")
    return first


def _doctor(settings: Settings) -> int:
    findings = doctor.look_over(settings, local_time())
    for finding in findings:
        print(f"{'good' if finding.good else 'MEND'}  {finding.text}")
    return 0 if all(finding.good for finding in findings) else 1


if __name__ == "__main__":
    sys.exit(main())
