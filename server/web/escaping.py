"""Values on their way into a page: every one is escaped, whoever typed it.

Jinja writes each value through markupsafe's `escape`, which marks the text as markup so that nobody escapes
it once more. What is written into a page is joined and asked no more, and the mark costs ten times what the
escaping does: text that has nothing to escape goes without.
"""

from collections.abc import Callable

from jinja2 import Environment, nodes
from jinja2.compiler import CodeGenerator, Frame
from jinja2.runtime import Context
from markupsafe import Markup, escape

PLAIN = frozenset({int, float, Markup})
"""Types whose text has nothing to escape, or has been escaped."""


def written(value: object) -> str:
    """A value as it stands in a page, which is what `escape` says.

    >>> written("a < b"), written("a, b"), written(12.0)
    (Markup('a &lt; b'), 'a, b', '12.0')
    """
    if type(value) is str:
        doubtful = "&" in value or "<" in value or ">" in value or "'" in value or '"' in value
        return escape(value) if doubtful else value
    return str(value) if type(value) in PLAIN else escape(value)


class _Writer(CodeGenerator):
    """Compiles every `{{ }}` so that its value goes through `written`."""

    def _output_child_pre(self, _node: nodes.Expr, _frame: Frame, _finalize: object) -> None:
        self.write("environment.written(")


class _Context(Context):
    """Calls what a template calls with what the template hands over.

    Jinja looks before each call whether it should hand over more, such as whether to escape. Nothing that
    templates call here asks for that: macros that are not told escape as their environment does.
    """

    def call(self, called: Callable[..., object], /, *args: object, **kwargs: object) -> object:
        kwargs.pop("_loop_vars", None)
        kwargs.pop("_block_vars", None)
        return called(*args, **kwargs)


class PageEnvironment(Environment):
    """The environment of templates in which everything is escaped."""

    context_class = _Context
    code_generator_class = _Writer
    written = staticmethod(written)
