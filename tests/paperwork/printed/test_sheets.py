"""What is printed on: where labels lie on their sheets, and what the server loads to know it."""

import subprocess
import sys

import pytest

from server.paperwork.printed.sheets import STOCKS
from server.places import package_folder

__all__: list[str] = []


@pytest.mark.parametrize(
    ("name", "each", "label"),
    [("a4-24", 24, (70.0, 37.0)), ("a4-21", 21, (63.5, 38.1)), ("letter-30", 30, (66.7, 25.4))],
)
def test_a_sheet_holds_as_many_as_it_says_and_none_lies_over_the_edge(
    name: str, each: int, label: tuple[float, float]
) -> None:
    stock = STOCKS[name]
    assert (stock.each, stock.label) == (each, label)
    corners = [stock.corner(at) for at in range(each)]
    assert all(x >= -0.01 and y >= -0.01 for x, y in corners)
    right, low = max(x for x, _ in corners) + label[0], max(y for _, y in corners) + label[1]
    assert right <= stock.page[0] + 0.01
    assert low <= stock.page[1] + 0.01
    # As far from one edge as from the other.
    assert corners[0][0] == pytest.approx(stock.page[0] - right)
    assert corners[0][1] == pytest.approx(stock.page[1] - low)


def test_the_server_starts_without_what_only_draws_papers() -> None:
    asked = "import sys, server.app, server.start; print({'reportlab', 'PIL'} & set(sys.modules))"
    ran = subprocess.run(
        [sys.executable, "-c", asked],
        cwd=package_folder().parent,
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout == "set()\n"
