"""Codes on labels, off the printed page by a decoder that somebody else wrote (zxing-cpp)."""

import pytest
import zxingcpp

from server.paperwork.printed.labels import code_text
from server.paperwork.printed.sheets import STOCKS
from tests.papers import job, many, picture, printed, unit

__all__: list[str] = []


def _decoded(pdf: bytes, dots: float = 200) -> list[str]:
    return sorted(found.text for found in zxingcpp.read_barcodes(picture(pdf, dots=dots)))


@pytest.mark.parametrize("stock", STOCKS)
def test_every_code_of_a_sheet_is_read_off_the_page(stock: str) -> None:
    units = many(STOCKS[stock].each)
    found = _decoded(printed(job("labels", *units, stock=stock)), dots=300)
    assert found == sorted(f"HTTP://192.168.1.20:8010/F/{u.id.upper()}" for u in units)


@pytest.mark.parametrize(("width", "height"), [(62, 29), (62, 40), (38, 90), (50, 25)])
def test_the_code_of_a_roll_is_read_off_the_page(width: float, height: float) -> None:
    long = unit(21, id="a1b2c3d4")
    pdf = printed(job("labels", long, stock="roll", width=width, height=height, page="192.168.178.201:18010"))
    assert _decoded(pdf) == ["HTTP://192.168.178.201:18010/F/A1B2C3D4"]


def test_an_identity_with_any_letters_comes_through() -> None:
    odd = unit(21, id="häng/3 %~_")
    pdf = printed(job("labels", odd, stock="a4-24"))
    assert _decoded(pdf) == [code_text("192.168.1.20:8010", "häng/3 %~_")]
