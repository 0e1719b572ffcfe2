"""What a hostile or broken client sends: texts, and ways to spoil a form that was right."""

import json
import random
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, urlencode

import httpx

from server.web.look import COOKIE
from tests.asking import ORIGIN, Browser
from tests.page_forms import PageForm

LOOK = f"{COOKIE}="
"""How the only cookie begins that may be set without signing in: a phone's light and gloves."""

FORM = "application/x-www-form-urlencoded"
MARK = "wm7q"
RAW = (f"<script>alert('{MARK}')", f"<img src={MARK}", f'"{MARK}=', f"<svg {MARK}", f"<!--{MARK}")
"""None of these may stand in a page as it was typed."""
REFUSED_MEDIA = ("application/json", "text/plain", "application/octet-stream", "", "multipart/form-data")

TEXTS = (
    "",
    " \t\n ",
    "x" * 10_000,
    "nul \x00 inside",
    "bell \x07, escape \x1b[31m, delete \x7f, next line \x85",
    "\ud800 alone",
    "\udfff\ud800 the wrong way round",
    "\u202eright to left\u202c \u200f\u2066",
    "🔧🚗👩\u200d🔧 e\u0301\u0301\u0301",
    "\ufeff\ufffe\uffff\U0010ffff",
    f"<script>alert('{MARK}')</script>",
    f'"><img src={MARK} onerror=alert(1)>',
    f"' onfocus=alert(1) x=\"{MARK}=",
    f"</textarea></select><svg {MARK}>",
    f"<!--{MARK}",
    "javascript:alert(1)",
    "'; DROP TABLE build; --",
    "1 OR 1=1",
    "../../../../etc/passwd",
    "..\\..\\boot.ini",
    "/builds/1/engine#x?y=z",
    MARK + "{{7*191}}",
    MARK + "{% for x in ().__class__.__bases__ %}{{ x }}{% endfor %}",
    MARK + "${7*191}#{7*191}%(x)s",
    "{0.__class__}",
    "nan",
    "NaN mm",
    "inf",
    "-inf bar",
    "1e308",
    "1e309 mm",
    "-1e308 m",
    "1e-320",
    "9" * 400,
    "-" + "9" * 40,
    "0",
    "-0",
    "-1",
    "2147483648",
    "9223372036854775807",
    "9223372036854775808",
    "99999999999",
    "1/0",
    "0/0 in",
    "1/3/5",
    "3 1/4 1/2 in",
    "5 kg",
    "80 furlongs",
    "12 mm**9",
    "10**10**10",
    "1e5**1e5 mm",
    "mm",
    "80 mm mm",
    "1,000,000.5",
    "１２３",
    "٣٤ mm",
    "12 °C",
    "-300 °C",
    "18 psi",
    "1 day",
    "2026-02-30",
    "0000-00-00",
    "9999-12-31",
    "0001-01-01",
    "2026-W01-1",
    "20261125",
    "25.11.2026",
    "2026-11-25T10:00:00+99:99",
    "None",
    "null",
    "true",
    "[]",
    '{"a": 1}',
    "on",
    "a\r\nSet-Cookie: a=b",
    "%00%ff%zz",
    "http://example.com/",
)
MARKED = tuple(text for text in TEXTS if MARK in text)
WORDS = frozenset(
    {"name", "title", "note", "reason", "because", "words", "text", "what", "why", "pose_note", "carry"}
)
NUMBERS = ("0", "-1", "99999999", "2147483648", "9223372036854775808", "9" * 60, "abc", "1.5", "%00", "1%2f2")
QUERIES = ("piece", "add", "after", "told", "measure", "to", "back", "page", "rule", "x[]")


@dataclass(slots=True)
class Post:
    """One post on its way: made right, then one thing in it made wrong."""

    address: str
    pairs: list[tuple[str, str]]
    headers: dict[str, str]
    body: bytes | None = None

    def encoded(self) -> bytes:
        if self.body is not None:
            return self.body
        return urlencode(self.pairs, errors="surrogatepass").encode()

    def put(self, name: str, value: str) -> None:
        self.pairs = [pair for pair in self.pairs if pair[0] != name] + [(name, value)]


Spoil = Callable[[random.Random, Post, PageForm], None]


def typed_names(form: PageForm) -> list[str]:
    return [name for name in form.names() if name not in {"operation_key", "version"}] or ["unasked"]


def post_raw(browser: Browser, address: str, body: bytes, headers: dict[str, str]) -> httpx.Response:
    """Post bytes as they are, to an address as it is."""
    url = httpx.URL(ORIGIN + "/").copy_with(raw_path=address.encode("utf-8", "surrogatepass"))
    return browser.runner.run(browser.client.post(url, content=body, headers=headers))


def faults(answer: httpx.Response) -> list[str]:
    """What no answer may be or hold."""
    found = [f"answers {answer.status_code}"] if answer.status_code >= 500 else []
    text = answer.text
    if MARK in text and "html" in answer.headers.get("content-type", ""):
        found += [f"holds {raw} as it was typed" for raw in RAW if raw in text]
    if MARK + "1337" in text:
        found.append("holds a typed text worked out as a template")
    if "Traceback" in text or "sqlalchemy" in text:
        found.append("shows its inner workings")
    if not answer.headers.get("set-cookie", LOOK).startswith(LOOK):
        found.append("sets a cookie")
    return found


def one_text(dice: random.Random, post: Post, form: PageForm) -> None:
    post.put(dice.choice(typed_names(form)), dice.choice(TEXTS))


def marked_words(dice: random.Random, post: Post, form: PageForm) -> None:
    """Words that are taken as they are typed, so that pages have to show them."""
    of_words = [name for name in typed_names(form) if name in WORDS]
    post.put(dice.choice(of_words or typed_names(form)), dice.choice(MARKED))


def all_texts(dice: random.Random, post: Post, form: PageForm) -> None:
    for name in typed_names(form):
        post.put(name, dice.choice(TEXTS))


def one_choice_and_one_text(dice: random.Random, post: Post, form: PageForm) -> None:
    if form.offered:
        name = dice.choice(list(form.offered))
        post.put(name, dice.choice(form.offered[name] or ("",)))
    one_text(dice, post, form)


def left_out(dice: random.Random, post: Post, form: PageForm) -> None:
    name = dice.choice([*form.names(), "version"])
    post.pairs = [pair for pair in post.pairs if pair[0] != name]


def sent_twice(dice: random.Random, post: Post, form: PageForm) -> None:
    post.pairs += [(dice.choice([*form.names(), "version"]), dice.choice(TEXTS)) for _ in range(3)]


def wrong_version(dice: random.Random, post: Post, _form: PageForm) -> None:
    post.put("version", dice.choice(("0", "-1", "999", "9" * 30, "1.0", "", "x", "\u0663", "1e3")))


def wrong_key(dice: random.Random, post: Post, _form: PageForm) -> None:
    post.put("operation_key", dice.choice(("", " ", "k" * 5_000, "\x00", "\ud800", "'; --", "<b>", "🔧")))


def wrong_number(dice: random.Random, post: Post, _form: PageForm) -> None:
    numbers = list(re.finditer(r"\d+", post.address))
    if numbers:
        at = dice.choice(numbers)
        post.address = post.address[: at.start()] + dice.choice(NUMBERS) + post.address[at.end() :]


def number_of_another(dice: random.Random, post: Post, form: PageForm) -> None:
    """The number of a row that is there, but belongs to another build or to another thing."""
    numbers = list(re.finditer(r"\d+", post.address))
    named = [name for name in form.names() if name.endswith("_id") or name in {"after", "piece"}]
    other = str(dice.randint(1, 12))
    if named and dice.random() < 0.5:
        post.put(dice.choice(named), other)
    elif numbers:
        at = dice.choice(numbers)
        post.address = post.address[: at.start()] + other + post.address[at.end() :]


def hostile_query(dice: random.Random, post: Post, form: PageForm) -> None:
    value = quote(dice.choice(TEXTS)[:500], errors="surrogatepass")
    post.address += f"?{dice.choice(QUERIES)}={value}"
    one_text(dice, post, form)


def wrong_media_type(dice: random.Random, post: Post, _form: PageForm) -> None:
    post.headers["content-type"] = dice.choice(REFUSED_MEDIA)


def files_unasked(dice: random.Random, post: Post, _form: PageForm) -> None:
    name = dice.choice(("../../x.jpg", "a" * 300, "x.html", "", "\u202egpj.exe"))
    files = [
        (field, (name, dice.randbytes(dice.choice((0, 10, 70_000))), "image/jpeg"))
        for field in dice.choices(("photo", "file", "name", "version"), k=dice.randint(1, 6))
    ]
    fields = {
        name: value.encode("utf-8", "surrogatepass").decode("utf-8", "replace") for name, value in post.pairs
    }
    made = httpx.Request("POST", ORIGIN, data=fields, files=files)
    post.body, post.headers["content-type"] = made.read(), made.headers["content-type"]


def bad_encoding(dice: random.Random, post: Post, form: PageForm) -> None:
    bad = dice.choice(
        (b"%", b"%zz", b"%u0041", b"%ff%fe", b"%00", b"\xff\xfe", b"&&&===", b";;", b"%ED%A0%80")
    )
    post.body = post.encoded() + b"&" + quote(dice.choice(typed_names(form))).encode() + b"=" + bad


def noise(dice: random.Random, post: Post, _form: PageForm) -> None:
    post.body = dice.randbytes(dice.randint(0, 2_000))
    if dice.random() < 0.4:
        post.headers["content-type"] = "multipart/form-data; boundary=x"
        post.body = b'--x\r\nContent-Disposition: form-data; name="a' + post.body


def huge(dice: random.Random, post: Post, form: PageForm) -> None:
    """Five megabytes, in one field or in very many."""
    if dice.random() < 0.5:
        post.body = (
            post.encoded() + b"&" + quote(dice.choice(typed_names(form))).encode() + b"=" + b"9" * 5_000_000
        )
    else:
        post.body = b"&".join(b"f%d=1" % number for number in range(500_000))


def other_ask(dice: random.Random, post: Post, form: PageForm) -> None:
    """A hostile form, asked as a script or as a part of a page."""
    one_text(dice, post, form)
    target = dice.choice(("answers", "measuring", "design", "sheet", "nothing", "<b>", "x" * 3_000))
    post.headers |= dice.choice(
        ({"accept": "application/json"}, {"accept": "*/*;q=zz"}, {"hx-request": "true", "hx-target": target})
    )


SPOILS: tuple[tuple[Spoil, int], ...] = (
    (one_text, 30),
    (marked_words, 10),
    (one_choice_and_one_text, 12),
    (all_texts, 8),
    (left_out, 4),
    (sent_twice, 4),
    (wrong_version, 4),
    (wrong_key, 3),
    (wrong_number, 5),
    (number_of_another, 6),
    (hostile_query, 3),
    (wrong_media_type, 3),
    (files_unasked, 4),
    (bad_encoding, 3),
    (noise, 3),
    (other_ask, 6),
)


def hostile_json(dice: random.Random) -> bytes:
    """A body that is no JSON, or JSON that no sum can use."""
    text = dice.choice(TEXTS).encode("utf-8", "surrogatepass").decode("utf-8", "replace")
    values: tuple[Any, ...] = (
        None,
        True,
        -1,
        10**400,
        1e308,
        "",
        text,
        [],
        [[[]]],
        {"a": {"b": [text]}},
        [None] * 500,
    )
    names = ("text", "kind", "bore_mm", "elevation_m", "bends", "readings", "rpm", text)
    whole = json.dumps({dice.choice(names): dice.choice(values) for _ in range(3)}).encode()
    spoilt = (
        whole,
        whole[: len(whole) // 2],
        b"[" * 50_000,
        b"\xff\xfe" + whole,
        b'{"bore_mm": NaN}',
        b'{"bore_mm": 1e999}',
        b"",
        b"null",
        dice.randbytes(200),
    )
    return dice.choice((whole, dice.choice(spoilt)))
