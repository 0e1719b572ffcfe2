"""One page value, three answers: whole page, fragment, or JSON."""

import hashlib
import json
from functools import cache
from typing import Any

from jinja2 import FileSystemLoader, StrictUndefined, Template
from starlette.requests import Request
from starlette.responses import Response

from server.settings import PROJECT
from server.web import urls
from server.web.assets import static
from server.web.escaping import PageEnvironment
from server.web.htmx import HtmxAsk
from server.web.live import live
from server.web.look import look_of
from server.web.posted import KEY_FIELD, KEY_LENGTH, new_key
from server.web.view import Page, as_json, pairs

TEMPLATES = PROJECT / "templates"
REFUSED = (412, 422)
VARY = "Accept, HX-Request, HX-Target, HX-History-Restore-Request"


@cache
def environment() -> PageEnvironment:
    """The template environment: undefined names raise, everything is escaped, macros are globals."""
    env = PageEnvironment(
        loader=FileSystemLoader(TEMPLATES),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    env.globals.update(urls=urls, static=static, new_key=new_key)
    env.filters["day"] = lambda day: f"{day:%a} {day.day} {day:%b}"
    env.filters["pairs"] = pairs
    env.globals["m"] = env.get_template("macros.html").module
    return env


def wants_json(request: Request) -> bool:
    """JSON is asked for by name and before HTML."""
    accept = request.headers.get("accept", "")
    json_at = accept.find("application/json")
    html_at = accept.find("text/html")
    return json_at >= 0 and (html_at < 0 or json_at < html_at)


def wants_page(request: Request) -> bool:
    """A browser navigating by itself, which is redirected after a write."""
    return not wants_json(request) and HtmxAsk.of(request).target is None


def render(request: Request, page: Page, status: int = 200) -> Response:
    """Answer with the page in the shape that the request asks for."""
    headers = {"Vary": VARY, "Cache-Control": "private, no-cache"}
    if wants_json(request):
        body = json.dumps(as_json(page), ensure_ascii=False).encode()
        return _answer(request, body, status, headers, "application/json")
    template = environment().get_template(page.template)
    target = HtmxAsk.of(request).target or ""
    if status in REFUSED and target in page.fragments and page.refused_target:
        target = page.refused_target
        headers |= {"HX-Retarget": f"#{target}", "HX-Reswap": "outerHTML"}
    block = page.fragments.get(target)
    text = (
        _render_block(template, block, page)
        if block
        else template.render(page=page, live=live(request), look=look_of(request.cookies).classes)
    )
    return _answer(request, text.encode(), status, headers, "text/html")


def _render_block(template: Template, block: str, page: Page) -> str:
    return "".join(template.blocks[block](template.new_context({"page": page})))


def _answer(request: Request, body: bytes, status: int, headers: dict[str, str], media_type: str) -> Response:
    """Give the representation its entity tag, and 304 to whoever has it already.

    Operation keys differ in every rendering, so they stay out of the tag.
    """
    if status == 200 and request.method == "GET":
        tag = f'W/"{hashlib.sha256(_without_keys(body)).hexdigest()[:20]}"'
        headers["ETag"] = tag
        if request.headers.get("if-none-match") == tag:
            return Response(status_code=304, headers=headers)
    return Response(body, status, headers, media_type)


def _without_keys(body: bytes) -> bytes:
    marker = f'name="{KEY_FIELD}" value="'.encode()
    pieces = body.split(marker)
    return marker.join([pieces[0], *(piece[KEY_LENGTH:] for piece in pieces[1:])])


def render_text(template: str, **values: Any) -> str:
    """A template that is no page: an error text, a feed."""
    return environment().get_template(template).render(**values)
