"""Static files as they are sent: without what only readers of the source need, and otherwise as they are."""

import re

from server.web.assets import STATIC, assets

OWN = [path.name for path in STATIC.iterdir() if path.suffix in {".js", ".css"}]


def test_our_scripts_and_styles_are_sent_without_comments_and_indentation() -> None:
    for name in OWN:
        lines = assets()[name].plain.decode().splitlines()
        assert lines, name
        assert not [line for line in lines if line != line.strip() or not line], name
        assert not [line for line in lines if line.startswith(("//", "/*"))], name


def test_nothing_else_of_them_is_left_out() -> None:
    for name in OWN:
        source = (STATIC / name).read_text()
        code = re.sub(r"/\*.*?\*/", "", source, flags=re.DOTALL) if name.endswith(".css") else source
        told = [line.strip() for line in code.splitlines()]
        kept = [line for line in told if line and not (name.endswith(".js") and line.startswith("//"))]
        for sent, line in zip(assets()[name].plain.decode().splitlines(), kept, strict=True):
            left_out = line.removeprefix(sent)
            assert line == sent or left_out.lstrip().startswith("// "), f"{name}: {line}"


def test_no_text_in_a_script_goes_over_lines_so_none_loses_its_indentation() -> None:
    for name in OWN:
        if name.endswith(".js"):
            for line in assets()[name].plain.decode().splitlines():
                assert line.count("`") % 2 == 0, f"{name}: {line}"


def test_vendored_files_are_sent_as_they_came() -> None:
    for path in (STATIC / "vendor").iterdir():
        assert assets()[f"vendor/{path.name}"].plain == path.read_bytes()
