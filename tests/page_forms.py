"""The forms of a page as a browser would send them: address, fields with what stands in them, choices."""

from dataclasses import dataclass, field, replace
from html.parser import HTMLParser

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PageForm:
    """One form: where it is posted, the fields a browser would send untouched, and what its lists offer."""

    address: str
    fields: Pairs
    offered: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def names(self) -> tuple[str, ...]:
        """Every field that a person may fill in or choose, ticks included."""
        return tuple(dict.fromkeys([name for name, _ in self.fields] + list(self.offered)))

    def value(self, name: str) -> str:
        return dict(self.fields).get(name, "")

    def having(self, **fields: str) -> "PageForm":
        """The same form with some fields filled in."""
        kept = tuple((name, value) for name, value in self.fields if name not in fields)
        return replace(self, fields=kept + tuple(fields.items()))


@dataclass(slots=True)
class _Open:
    address: str
    id: str
    fields: list[tuple[str, str]] = field(default_factory=list)
    offered: dict[str, list[str]] = field(default_factory=dict)


class _Reader(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[_Open] = []
        self.apart: list[tuple[str, str, str]] = []
        self.inside: _Open | None = None
        self.select = ""
        self.area: list[str] | None = None
        self.area_name = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form" and given.get("method", "").lower() == "post":
            self.inside = _Open(given.get("action", ""), given.get("id", ""))
            self.forms.append(self.inside)
        elif "name" in given and given.get("form"):
            self.apart.append((given["form"], given["name"], given.get("value", "")))
        elif self.inside is not None:
            self._part(self.inside, tag, given)

    def _part(self, form: _Open, tag: str, given: dict[str, str]) -> None:
        name, value = given.get("name", ""), given.get("value", "")
        if tag == "select":
            self.select = name
            form.offered[name] = []
        elif tag == "option" and self.select:
            form.offered[self.select].append(value)
            if "selected" in given:
                form.fields.append((self.select, value))
        elif tag == "textarea":
            self.area, self.area_name = [], name
        elif tag == "input" and name and given.get("type") in {"checkbox", "radio"}:
            form.offered.setdefault(name, []).append(value or "on")
            if "checked" in given:
                form.fields.append((name, value or "on"))
        elif tag == "input" and name:
            form.fields.append((name, value))
        elif tag == "button" and name:
            form.offered.setdefault(name, []).append(value)

    def handle_data(self, data: str) -> None:
        if self.area is not None:
            self.area.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = None
        elif tag == "select" and self.inside is not None and self.select:
            offered = self.inside.offered[self.select]
            if offered and self.select not in dict(self.inside.fields):
                self.inside.fields.append((self.select, offered[0]))
            self.select = ""
        elif tag == "textarea" and self.area is not None and self.inside is not None:
            self.inside.fields.append((self.area_name, "".join(self.area).removeprefix("\n")))
            self.area = None


def page_forms(page: str) -> list[PageForm]:
    """Every form of a page that writes, in the order of the page."""
    reader = _Reader(page)
    found = []
    for form in reader.forms:
        apart = [(name, value) for form_id, name, value in reader.apart if form_id == form.id and form.id]
        offered = {name: tuple(values) for name, values in form.offered.items()}
        found.append(PageForm(form.address, tuple(form.fields + apart), offered))
    return found
