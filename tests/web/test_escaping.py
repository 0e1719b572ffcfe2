"""A page shows what was typed as text, never as markup, in whatever way a template came by it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import Environment, StrictUndefined, UndefinedError
from markupsafe import Markup, escape

from server.core.units import Kind
from server.web.escaping import PageEnvironment, written
from server.web.render import environment

WAYS = {
    "plainly": "{{ it }}",
    "in a loop": "{% for one in (it, it) %}<b>{{ one }}</b>{% endfor %}",
    "by a macro": "{% macro m(x) %}<b>{{ x }}</b>{% endmacro %}{{ m(it) }}",
    "by a macro of a macro": "{% macro m(x) %}<b>{{ x }}</b>{% endmacro %}"
    "{% macro n(x) %}{{ m(x) }}{% endmacro %}{{ n(it) }}",
    "set aside": "{% set it = '<i>' ~ it %}{{ it }}",
    "as a block that was set": "{% set there %}<b>{{ it }}</b>{% endset %}{{ there }}",
    "joined to markup": "{% macro m(x) %}<b>{{ x }}</b>{% endmacro %}{{ m(it) ~ it }}",
    "by a filter": "{{ it | upper }}{{ [it, it] | join('<br>') }}",
    "in a block of its own": "{% block there %}{{ it }}{% endblock %}{{ self.there() }}",
    "called about": "{% macro m() %}<b>{{ caller() }}</b>{% endmacro %}{% call m() %}{{ it }}{% endcall %}",
}
TYPED = ("<script>alert('1')</script>", 'a "b" & c', "57 mm", "", Kind.mass_flow, 7, -0.5, True, None)


@pytest.mark.parametrize("way", WAYS)
def test_a_page_says_what_jinja_says_escaped(way: str) -> None:
    usual = Environment(autoescape=True)
    for it in (*TYPED, Markup("<b>kept</b>")):
        shown = PageEnvironment(autoescape=True).from_string(WAYS[way]).render(it=it)
        assert shown == usual.from_string(WAYS[way]).render(it=it), it


@given(st.text(st.characters(max_codepoint=300)))
def test_every_letter_stands_as_markupsafe_has_it(text: str) -> None:
    assert written(text) == escape(text)


def test_what_was_typed_makes_no_tag_of_a_page() -> None:
    shown = environment().from_string("{{ m.caution({'signal': it, 'text': it}) }}").render(it="<img src=x>")
    assert "<img" not in shown
    assert shown.count("&lt;img src=x&gt;") == 2


def test_a_name_that_nobody_gave_raises_still() -> None:
    template = PageEnvironment(autoescape=True, undefined=StrictUndefined).from_string("{{ nobody }}")
    with pytest.raises(UndefinedError):
        template.render()
