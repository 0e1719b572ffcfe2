"""The shopping list to print, as PDF and for a spreadsheet, read back as others read them."""

import csv
import io
from decimal import Decimal

import pytest
from pypdf import PdfReader
from sqlalchemy import Engine

from server.features.parts.tables import Offer, Part
from server.web.paper_text import PLAIN, letters
from server.web.spreadsheet import csv_file
from tests.asking import Browser
from tests.http.shopping_build import FORMULA, Shop, a_shop, add_rows, need


@pytest.fixture
def shop(browser: Browser, engine: Engine) -> Shop:
    return a_shop(browser, engine)


def table(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def read_csv(browser: Browser, shop: Shop) -> list[dict[str, str]]:
    return table(browser.get(f"/builds/{shop.build}/shopping.csv").content)


def pdf(browser: Browser, build: int) -> PdfReader:
    return PdfReader(io.BytesIO(browser.get(f"/builds/{build}/shopping.pdf").content))


def told(reader: PdfReader) -> str:
    return "\n".join(page.extract_text() for page in reader.pages)


def test_the_table_says_its_units_and_ends_its_lines_as_the_standard_asks(
    browser: Browser, shop: Shop
) -> None:
    answer = browser.get(f"/builds/{shop.build}/shopping.csv")
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.content.startswith(b"\xef\xbb\xbf")
    assert answer.content.endswith(b"\r\n")
    assert answer.content.count(b"\n") == answer.content.count(b"\r\n")
    header = next(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert header[7:11] == ["To order [pieces]", "Pack [pieces]", "Price of a pack [EUR]", "Cost [EUR]"]


def test_the_table_s_costs_add_up_to_what_is_to_buy(browser: Browser, shop: Shop) -> None:
    rows = read_csv(browser, shop)
    whole = sum(Decimal(row["Cost [EUR]"]) for row in rows if row["Cost [EUR]"])
    figures = {one["label"]: one["text"] for one in browser.get_json(shop.address)["figures"]}
    assert f"{whole} EUR" == figures["To buy"]
    (clamp,) = [row for row in rows if row["Part"] == "T-bolt clamp"]
    assert (clamp["To order [pieces]"], clamp["Cost [EUR]"], clamp["Their number"]) == ("6", "19.20", "TB-74")
    (spare,) = [row for row in rows if row["List"] == "spare"]
    assert (spare["Part"], spare["Remarks"]) == ("Turbine gasket", "it crushes once")


def test_no_text_of_the_table_is_taken_for_a_formula(browser: Browser, engine: Engine, shop: Shop) -> None:
    hostile = [FORMULA, "+1", "-2", "@SUM(A1)", "\uff1d1+1", "＠x", 'say "80 mm", loose']
    numbers = add_rows(engine, shop.build, *(Part(build_id=shop.build, name=name) for name in hostile[1:]))
    need(browser, shop.build, "=1+1", None, **{f"part_{number}": 1 for number in numbers})
    rows = read_csv(browser, shop)
    names = [row["Part"] for row in rows]
    for name in hostile[:-1]:
        assert f"'{name}" in names
        assert name not in names
    assert hostile[-1] in names, "quotes and commas come back as they were"
    texts = [cell for row in rows for cell in row.values() if not cell.replace(".", "").isdigit()]
    assert not [cell for cell in texts if cell.startswith(("=", "+", "-", "@", "\t", "\r", "＝", "＠"))]


def test_numbers_stay_numbers_and_a_line_break_stays_in_its_cell() -> None:
    content = csv_file(["Part", "Cost"], [["two\nlines", Decimal("-4.20")], ["\tindented", 3]])
    assert content.decode("utf-8-sig") == '"Part","Cost"\r\n"two\nlines",-4.20\r\n"\'\tindented",3\r\n'


@pytest.mark.parametrize("ending", ["csv", "pdf"])
def test_a_file_has_a_plain_name(browser: Browser, ending: str) -> None:
    name = 'x"; filename="evil.exe\r\nSet-Cookie: a=b'
    build = browser.post("/builds", {"name": name}).headers["location"].split("/")[2]
    answer = browser.get(f"/builds/{build}/shopping.{ending}")
    disposition = answer.headers["content-disposition"]
    assert disposition.count('"') == 2
    assert disposition.endswith(f'-2026-11-25.{ending}"')
    assert "set-cookie" not in answer.headers


def test_letters_that_no_file_name_should_have_are_left_out(browser: Browser, shop: Shop) -> None:
    answer = browser.get(f"/builds/{shop.build}/shopping.csv")
    assert answer.headers["content-disposition"] == (
        'attachment; filename="shopping-odz-saloon-2026-11-25.csv"'
    )


def test_the_pdf_is_the_same_to_the_byte_each_time(browser: Browser, shop: Shop) -> None:
    address = f"/builds/{shop.build}/shopping.pdf"
    first, second = browser.get(address), browser.get(address)
    assert first.headers["content-type"] == "application/pdf"
    assert first.content == second.content


def test_the_pdf_tells_what_the_page_tells(browser: Browser, shop: Shop) -> None:
    reader = pdf(browser, shop.build)
    text = told(reader)
    for words in ("Tarn Hose & Clamp", "T-bolt clamp", "19.20", "36.10", "it crushes once", "1 of 1"):
        assert words in text
    assert "44.60 EUR" in text
    width, height = reader.pages[0].mediabox.width, reader.pages[0].mediabox.height
    assert (round(width), round(height)) == (595, 842), "A4 where the build is metric"


def test_a_build_in_inches_is_printed_on_letter_paper(browser: Browser) -> None:
    answer = browser.post("/builds", {"name": "The coupe", "system": "inch"})
    page = pdf(browser, int(answer.headers["location"].split("/")[2])).pages[0]
    assert (round(page.mediabox.width), round(page.mediabox.height)) == (612, 792)


def test_a_long_list_goes_over_several_pages_that_say_their_number(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    rows = [Part(build_id=shop.build, name=f"Fitting {number}", spares=1) for number in range(90)]
    parts = add_rows(engine, shop.build, *rows)
    seller = shop.suppliers["Corvid Fasteners"]
    add_rows(
        engine, shop.build, *(Offer(part_id=part, supplier_id=seller, price_minor=100) for part in parts)
    )
    reader = pdf(browser, shop.build)
    many = len(reader.pages)
    assert many > 2
    pages = [page.extract_text() for page in reader.pages]
    assert [f"{number} of {many}" in page for number, page in enumerate(pages, 1)] == [True] * many
    assert all("HOW MANY" in page for page in pages), "columns are named on each page"
    whole = told(reader)
    assert all(f"Fitting {number} " in whole for number in range(90))


def test_letters_the_typeface_lacks_get_their_accent_and_others_a_question_mark() -> None:
    assert "".join(letter.base for letter in letters("Łódź ½ ×", PLAIN)) == "Łódz ½ ×"
    assert [letter.accents for letter in letters("Łódź", PLAIN)] == [(), (), (), ("\u0301",)]
    assert "".join(letter.base for letter in letters("Ø 63,5 Дa\x07", PLAIN)) == "Ø 63,5 ?a "


def test_the_pdf_has_the_name_of_the_build_with_all_its_letters(browser: Browser, shop: Shop) -> None:
    assert "Łódz" in told(pdf(browser, shop.build)), "the accent of the last letter is drawn over it"


def test_the_print_view_is_whole_has_boxes_and_no_list_of_sheets(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    rows = [Part(build_id=shop.build, name=f"Fitting {number}", spares=1) for number in range(40)]
    add_rows(engine, shop.build, *rows)
    page = browser.get(f"{shop.address}/print").text
    listed = browser.get_json(f"{shop.address}/print")["lists"]
    assert page.count('<td class="box">') == sum(len(one["rows"]) for one in listed) == 3 + 1 + 1 + 40
    assert 'aria-label="Sheets"' not in page
    assert "<form" not in page
    assert "=HYPERLINK(&#34;http://example.org" in page


def test_an_empty_list_can_be_printed_too(browser: Browser) -> None:
    build = browser.post("/builds", {"name": "The van"}).headers["location"].split("/")[2]
    assert "Nothing has to be bought now." in browser.get(f"/builds/{build}/shopping/print").text
    assert len(pdf(browser, int(build)).pages) == 1
    assert table(browser.get(f"/builds/{build}/shopping.csv").content) == []
