"""Static files as they are sent: without what only readers of the source need, and otherwise as they are."""

import re

from server.web.assets import STATIC, TOGETHER, assets

PARTS = {part for parts in TOGETHER.values() for part in parts}
OWN = {path.name for path in STATIC.iterdir() if path.suffix in {".js", ".css"}} - PARTS | TOGETHER.keys()
TEXT = re.compile(r"""\"[^"\n]*\"|`[^`\n]*`""")


def test_our_scripts_and_styles_are_sent_without_comments_and_indentation() -> None:
    for name in OWN:
        lines = assets()[name].plain.decode().splitlines()
        assert lines, name
        assert not [line for line in lines if line != line.strip() or not line], name
        assert not [line for line in lines if line.startswith("//") or "/*" in line], name


def test_every_text_in_them_is_sent_as_it_stands() -> None:
    for name in OWN:
        written = "\n".join((STATIC / part).read_text() for part in TOGETHER.get(name, (name,)))
        source = re.sub(r"(?m)^\s*//.*$|\s// .*$|(?s:/\*.*?\*/)", "", written)
        sent = assets()[name].plain.decode()
        assert TEXT.findall(source) or name.endswith(".css"), name
        assert TEXT.findall(sent) == TEXT.findall(source), name


def test_vendored_files_are_sent_as_they_came() -> None:
    for path in (STATIC / "vendor").iterdir():
        assert assets()[f"vendor/{path.name}"].plain == path.read_bytes()
