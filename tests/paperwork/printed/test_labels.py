"""Labels: where they lie on their sheets, what stands on them, and how large it is."""

import io

import pytest
from pypdf import PdfReader

from server.paperwork.printed.labels import code_text
from server.paperwork.printed.sheets import STOCKS, stock_of
from tests.papers import job, many, picture, printed, read, unit

__all__: list[str] = []

DOTS = 200
A_MM = DOTS / 25.4


@pytest.mark.parametrize(
    ("count", "skip", "pages"), [(24, 0, 1), (25, 0, 2), (24, 1, 2), (1, 23, 1), (2, 23, 2)]
)
def test_a_half_used_sheet_is_begun_where_its_labels_are(count: int, skip: int, pages: int) -> None:
    pdf = printed(job("labels", *many(count), stock="a4-24", skip=skip))
    assert len(read(pdf).pages) == pages
    drawn = picture(pdf, dots=DOTS)
    for at in range(24):
        x, y = STOCKS["a4-24"].corner(at)
        box = [int(v * A_MM) for v in (x, y, x + 70, y + 37)]
        inked = drawn.crop((box[0] + 1, box[1] + 1, box[2] - 1, box[3] - 1)).getextrema()[0] == 0
        assert inked == (skip <= at < skip + count), at


def test_nothing_is_printed_where_printers_do_not_reach_or_over_the_edge_of_a_label() -> None:
    long = unit(
        99999, position="A position with a very long name " * 5, mode="m" * 200, type="t" * 200, unit="3"
    )
    for name, stock in STOCKS.items():
        drawn = picture(printed(job("labels", *[long] * stock.each, stock=name)), dots=DOTS).point(
            lambda v: 255 - v
        )
        for at in range(stock.each):
            (x, y), (wide, high) = stock.corner(at), stock.label
            box = [int(v * A_MM) for v in (x, y, x + wide, y + high)]
            inside = drawn.crop((box[0], box[1], box[2], box[3])).getbbox()
            assert inside is not None
            assert inside[0] >= 2 * A_MM, name
            assert inside[2] <= (wide - 2) * A_MM, name
            assert inside[1] >= 1.9 * A_MM, name
            assert inside[3] <= (high - 1.5) * A_MM, name


@pytest.mark.parametrize(
    ("stock", "width", "height"),
    [
        ("a4-24", 0, 0),
        ("a4-21", 0, 0),
        ("letter-30", 0, 0),
        ("roll", 62, 29),
        ("roll", 62, 40),
        ("roll", 38, 90),
    ],
)
def test_the_channel_is_ten_millimetres_high_or_more(stock: str, width: float, height: float) -> None:
    pdf = printed(job("labels", unit(111), stock=stock, width=width, height=height))
    drawn = picture(pdf, dots=DOTS).point(lambda v: 255 if v < 128 else 0)
    (x, y), (wide, high) = stock_of(stock, width, height).corner(0), stock_of(stock, width, height).label
    label = drawn.crop((int(x * A_MM), int(y * A_MM), int((x + wide * 0.4) * A_MM), int((y + high) * A_MM)))
    top = label.getbbox()
    assert top is not None
    # The first run of inked rows from above is the number.
    rows = [
        label.crop((0, at, label.width, at + 1)).getbbox() is not None for at in range(top[1], label.height)
    ]
    assert rows.index(False) / A_MM >= 10, rows.index(False) / A_MM


def test_a_label_says_position_unit_universe_address_mode_and_whose_it_is() -> None:
    text = read(printed(job("labels", unit(21), stock="a4-24"))).text
    for word in (
        "21",
        "LX 1, unit 3",
        "Universe 2 Address 1",
        "26-slot 16 bit",
        "192.168.1.20:8010",
        "demo-21",
    ):
        assert word in text, word
    german = read(printed(job("labels", unit(21), stock="a4-24", language="de"))).text
    assert "LX 1, Nr. 3" in german
    assert "Universum 2 Adresse 1" in german


@pytest.mark.parametrize("stock", STOCKS)
def test_every_sheet_has_room_for_the_mode_and_the_address_in_full(stock: str) -> None:
    long = unit(1234, universe=63999, address=512, mode="38-slot 16 bit", position="Bridge 1", unit="12A")
    text = read(printed(job("labels", long, stock=stock))).text
    for word in ("Bridge 1, unit 12A", "Universe 63999 Address 512", "38-slot 16 bit"):
        assert word in text, word


def test_a_unit_with_two_start_addresses_has_both_on_its_label() -> None:
    both = unit(21, spans=((2, 1, 10), (3, 101, 110)))
    text = read(printed(job("labels", both, stock="a4-24"))).text
    assert "Universe 2 Address 1" in text
    assert "Universe 3 Address 101" in text


def test_the_switches_show_the_start_address() -> None:
    # 1 + 4 + 256 = 261: switches 1, 3 and 9 are up (common practice: switch n is worth 2^(n-1)).
    drawn = picture(printed(job("labels", unit(8, address=261), stock="roll", width=62, height=40)), dots=600)
    found = [drawn.getpixel((int(x), int(y))) for x, y in _switch_tops()]
    assert [shade == 0 for shade in found] == [True, False, True, *[False] * 5, True]
    assert "1 2 3 4 5 6 7 8 9 on" in read(printed(job("labels", unit(8), stock="a4-24"))).text
    for address in (512, None):
        assert "7 8 9" not in read(printed(job("labels", unit(8, address=address), stock="a4-24"))).text


def _switch_tops() -> list[tuple[float, float]]:
    """Where the upper halves of nine switches lie, found by the numbers under them: of pypdf, in dots."""
    placed: dict[str, tuple[float, float]] = {}

    def met(text: str, _: object, at: list[float], font: object, size: float) -> None:
        if text.strip() in "123456789" and text.strip() and size < 5:
            placed[text.strip()] = at[4], at[5]

    pdf = printed(job("labels", unit(8, address=261), stock="roll", width=62, height=40))
    PdfReader(io.BytesIO(pdf)).pages[0].extract_text(visitor_text=met)
    points = [placed[str(number)] for number in range(1, 10)]
    # A number stands 4.4 points under its switch, which is 3.4 mm high.
    top = 4.4 + 3.4 * 72 / 25.4 * 0.75
    return [((x + 1.5) * 600 / 72, 40 * 600 / 25.4 - (y + top) * 600 / 72) for x, y in points]


def test_of_a_roll_each_label_is_a_page() -> None:
    found = read(printed(job("labels", *many(3), stock="roll", width=62, height=29)))
    assert found.sizes == [pytest.approx((62, 29), abs=0.01)] * 3


def test_a_unit_without_channel_or_address_has_a_label_too() -> None:
    bare = unit(None, universe=None, address=None, unit="", position="")
    assert "Not patched" in read(printed(job("labels", bare, stock="a4-24"))).text


def test_a_tiny_label_holds_what_it_can() -> None:
    text = read(printed(job("labels", unit(21), stock="roll", width=20, height=12))).text
    assert "21" in text


def test_a_code_holds_capitals_and_what_addresses_may_hold() -> None:
    assert code_text("192.168.1.20:8010", "demo-21") == "HTTP://192.168.1.20:8010/F/DEMO-21"
    assert code_text("10.0.0.5:80", "häng/3 %") == "HTTP://10.0.0.5:80/F/H%C3%84NG%2F3%20%25"
