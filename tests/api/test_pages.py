"""The page as static files."""

import asyncio
import gzip
import json
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from server.api.pages import pages, read_page

WEB = Path(__file__).parents[2] / "web"


def client_of(folder: Path) -> Callable[..., httpx.Response]:
    app = FastAPI()
    app.include_router(pages(folder))

    async def ask(path: str, headers: dict[str, str]) -> httpx.Response:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://page") as client:
            return await client.get(path, headers=headers)

    return lambda path, **headers: asyncio.run(
        ask(path, {k.replace("_", "-"): v for k, v in headers.items()})
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in {
        "index.html": '<script src="/w/HASH/app.js"></script>',
        "app.js": "import { x } from './state/x.js';\nconst later = () => import('./late.js');",
        "state/x.js": "import '../net/y.js';\nexport const x = 1;",
        "net/y.js": "export const y = 1;",
        "late.js": "export const late = 1;",
        "styles/base.css": "b{}",
        "styles/reset.css": "a{}",
        "elements/z.css": "c{}",
        "secret.txt": "not part of the page",
    }.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text)
    return tmp_path


def test_a_scanned_code_opens_the_page_in_either_case(folder: Path) -> None:
    get = client_of(folder)
    for path in ("/", "/j/k7qp", "/J/K7QP"):
        answer = get(path)
        assert answer.status_code == 200
        assert answer.headers["cache-control"] == "no-cache"


def test_the_second_load_is_one_short_answer(folder: Path) -> None:
    get = client_of(folder)
    again = get("/", if_none_match=get("/").headers["etag"])
    assert (again.status_code, again.content) == (304, b"")


def test_files_live_under_the_hash_for_a_year_and_nowhere_else(folder: Path) -> None:
    get, digest = client_of(folder), read_page(folder).digest
    answer = get(f"/w/{digest}/state/x.js")
    assert answer.headers["content-type"] == "text/javascript; charset=utf-8"
    assert "immutable" in answer.headers["cache-control"]
    for path in ("/w/000000000000/state/x.js", f"/w/{digest}/secret.txt", f"/w/{digest}/%2e%2e/secret.txt"):
        assert get(path).status_code == 404


def test_one_changed_letter_changes_the_hash(folder: Path) -> None:
    before = read_page(folder).digest
    (folder / "net/y.js").write_text("export const y = 2;")
    assert read_page(folder).digest != before


def test_the_first_screens_modules_are_one_script_and_later_ones_are_not_in_it(folder: Path) -> None:
    page = read_page(folder)
    script = page.files["app.js"].plain.decode()
    assert script.index("const y = 1;") < script.index("const x = 1;")
    assert "late = 1" not in script
    assert page.index.plain.decode() == f'<script src="/w/{page.digest}/app.js"></script>'


def test_all_styles_are_one_file_resets_first(folder: Path) -> None:
    assert read_page(folder).files["page.css"].plain == b"a{}\nb{}\nc{}"


def test_the_style_of_a_module_that_comes_later_comes_with_it(folder: Path) -> None:
    (folder / "late.css").write_text("l{}")
    page = read_page(folder)
    assert b"l{}" not in page.files["page.css"].plain
    assert page.files["late.css"].plain == b"l{}"


def test_comments_stay_behind_and_lines_keep_their_numbers(folder: Path) -> None:
    (folder / "late.js").write_text("/**\n * a\n */\nlet at = 'http://b'; // c\n  // d\nlast();\n")
    assert read_page(folder).files["late.js"].plain == b"\n\n\nlet at = 'http://b'; // c\n\nlast();\n"


def test_gzip_only_for_those_who_take_it(folder: Path) -> None:
    get = client_of(folder)
    packed = get("/", accept_encoding="gzip, deflate")
    plain = get("/", accept_encoding="gzip;q=0, identity")
    assert packed.headers["content-encoding"] == "gzip"
    assert "content-encoding" not in plain.headers
    assert packed.content == plain.content
    assert gzip.decompress(read_page(folder).index.packed) == plain.content


def test_a_folder_without_a_page_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match=r"index\.html"):
        read_page(tmp_path)


def test_our_own_page_keeps_its_budget() -> None:
    # Our own goals. What a phone waits for: 6 answers, 44 kB packed. The rest comes while nobody waits, in
    # pieces of at most 12 kB; all that the laptop says, in another language, is one larger one.
    page = read_page(WEB)
    index = page.index.plain.decode()
    first = {name for name in page.files if f"/{page.digest}/{name}" in index}
    assert len(first) <= 5
    assert len(page.index.packed) + sum(len(page.files[name].packed) for name in first) <= 44_000
    later = {name: len(kept.packed) for name, kept in page.files.items() if name not in first}
    assert later.pop("words/de-server.js") <= 20_000
    assert max(later.values()) <= 12_000


def test_our_own_page_has_no_inline_script_or_style() -> None:
    for name, kept in {**read_page(WEB).files, "index.html": read_page(WEB).index}.items():
        text = kept.plain.decode()
        assert "innerHTML" not in text, name
        assert ' style="' not in text, name
        assert "<script>" not in text, name


def test_the_manifest_lies_beside_its_icons_under_the_hash() -> None:
    page = read_page(WEB)
    assert page.files["app.webmanifest"].kind == "application/manifest+json"
    for icon in json.loads(page.files["app.webmanifest"].plain)["icons"]:
        assert icon["src"] in page.files
    assert f'href="/w/{page.digest}/app.webmanifest"'.encode() in page.index.plain
