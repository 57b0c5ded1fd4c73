"""What the page weighs on the way to a phone, packed as it leaves.

python -m tests.bench.page
"""

import re

from server.api.pages import read_page
from server.places import web_folder
from tests.bench.show import table

__all__ = ["main"]


def main() -> None:
    """Print kilobytes and requests, for the first screen and for all of it."""
    page = read_page(web_folder())
    first = re.findall(rb'/w/[0-9a-f]+/([^"]+)"', page.index.plain)
    german = re.findall(rb"'((?:de|profiles)[\w-]*)'", page.files["net/early.js"].plain)
    ways = {
        "first screen": set(first),
        "in German": {*first, *(b"words/%s.js" % name for name in german)},
        "whole page": {name.encode() for name in page.files},
    }
    rows: list[tuple[object, ...]] = []
    for way, names in ways.items():
        files = [page.files[name.decode()] for name in names if name.decode() in page.files]
        packed = sum(len(file.packed) for file in files) + len(page.index.packed)
        plain = sum(len(file.plain) for file in files) + len(page.index.plain)
        rows.append((way, len(files) + 1, packed / 1000, plain / 1000))
    table(("", "requests", "kB gzip", "kB plain"), rows)


if __name__ == "__main__":
    main()
