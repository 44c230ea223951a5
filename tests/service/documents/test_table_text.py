"""Tables as CSV, HTML and JSON."""

from decimal import Decimal

import pytest

from service.documents.table import Column, Imprint, Table, money
from service.documents.table_text import csv_text, html_text, shown_value, table_json

TABLE = Table(
    id="t",
    title="Cost & cable",
    columns=(
        Column(name="item"),
        Column(name="length", unit="m", kind="exact"),
        Column(name="total", unit="USD", kind="money"),
        Column(name="share", kind="share"),
        Column(name="initials", kind="blank"),
    ),
    rows=(
        ("=1+1", 12.345678, money(123405), 0.12345, None),
        ('<b>"quoted", text</b>', -0.001, money(-7), None, None),
    ),
    marks=((1, "bad"),),
)


def test_csv_has_units_in_the_header_and_money_to_the_cent():
    lines = csv_text(TABLE).split("\r\n")
    assert lines[0] == "item,length [m],total [USD],share,initials"
    assert lines[1] == "'=1+1,12.35,1234.05,0.1235,"
    assert lines[2] == '"<b>""quoted"", text</b>",0.00,-0.07,,'


@pytest.mark.parametrize("text", ["=1+1", "+1", "-A", "@x", "\tx"])
def test_text_that_looks_like_a_formula_is_led_by_a_quote(text):
    table = Table(id="t", title="t", columns=(Column(name="a"),), rows=((text,),))
    assert csv_text(table).split("\r\n")[1].strip('"') == f"'{text}"


def test_a_negative_figure_is_no_formula():
    table = Table(id="t", title="t", columns=(Column(name="a", kind="exact"),), rows=((-3.25,),))
    assert csv_text(table).split("\r\n")[1] == "-3.25"


def test_json_keeps_money_as_decimal_text_and_rounds_figures():
    document = table_json(TABLE)
    assert document["columns"][1] == {"name": "length", "unit": "m"}
    assert document["rows"][0] == ["=1+1", 12.35, "1234.05", 0.1235, None]


def test_html_escapes_text_and_marks_rows():
    page = html_text((TABLE,), Imprint(title="House & garden", design="d1", revision="B"))
    assert "<title>House &amp; garden</title>" in page
    assert "&lt;b&gt;" in page
    assert "<b>" not in page
    assert '<tr class="bad">' in page
    assert "d1, revision B" in page


def test_cents_become_exact_decimals():
    assert money(5) == Decimal("0.05")
    assert shown_value(money(100590), "money") == "1005.90"
