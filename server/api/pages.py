"""The page as static files: read once, packed once, kept by phones for a year under the hash of them all."""

import gzip
import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from types import MappingProxyType

from fastapi import APIRouter, HTTPException, Request, Response

from server.api.joined import first_modules, join_first

__all__ = ["Kept", "Page", "pages", "read_page"]

# Named here, not asked of the operating system: a Windows registry may call a script plain text.
KINDS = MappingProxyType(
    {
        ".js": "text/javascript; charset=utf-8",
        ".css": "text/css; charset=utf-8",
        ".html": "text/html; charset=utf-8",
        ".svg": "image/svg+xml",
        ".webmanifest": "application/manifest+json",
    }
)
STYLE = "page.css"  # the stylesheets in one: a phone far away pays for requests, not for bytes
STYLE_ORDER = ("styles/reset.css", "styles/tokens.css", "styles/base.css")
# Comments that fill whole lines are for whoever reads the source: without them a phone loads a fifth less.
# Their lines stay, empty, so that an error on a phone names the line of the source.
COMMENTS = re.compile(rb"^[ \t]*(?://[^\n]*|/\*(?:[^*]|\*(?!/))*\*/[ \t]*)$", re.MULTILINE)
TYPES = re.compile(rb"/\*\* ?[@(](?:[^*\n]|\*(?!/))*\*/ ?")  # casts and types inside a line, likewise
INDENT = re.compile(rb"^[ \t]+", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Kept:
    """One file as it leaves: plain, and packed with gzip (level 9)."""

    kind: str
    plain: bytes
    packed: bytes


@dataclass(frozen=True, slots=True)
class Page:
    """All files by their path inside the folder, `index` apart; `digest` is the hash of everything."""

    digest: str
    files: Mapping[str, Kept]
    index: Kept


def read_page(folder: Path) -> Page:
    """Read the page's folder.

    Raises FileNotFoundError: no index.html or no app.js in it. ValueError: modules that cannot be joined.
    """
    found = {str(PurePosixPath(*path.relative_to(folder).parts)): path for path in _paths(folder)}
    texts = {name: _spoken(name, path.read_bytes()) for name, path in sorted(found.items())}
    for needed in ("index.html", "app.js"):
        if needed not in texts:
            raise FileNotFoundError(f"{folder} has no {needed}")
    index = texts.pop("index.html")
    scripts = {name: text.decode() for name, text in texts.items() if name.endswith(".js")}
    texts[STYLE] = _joined_styles(texts, first_modules(scripts))
    texts |= {name: text.encode() for name, text in join_first(scripts).items()}
    digest = hashlib.sha256(b"\0".join([index, *(name.encode() + texts[name] for name in sorted(texts))]))
    short = digest.hexdigest()[:12]
    files = {name: _keep(name, text) for name, text in texts.items()}
    index = index.replace(b"/w/HASH/", f"/w/{short}/".encode())
    return Page(short, MappingProxyType(files), _keep("index.html", index))


def pages(folder: Path) -> APIRouter:
    """The routes of the page: `/`, the join link `/j/CODE`, a label's `/f/FIXTURE`, both in either case, and
    `/w/<hash>/...`.

    folder: what `read_page` reads, once, now.
    """
    page = read_page(folder)
    etag = f'"{page.digest}"'
    router = APIRouter(include_in_schema=False)

    async def index(request: Request) -> Response:
        headers = {"Cache-Control": "no-cache", "ETag": etag}
        if etag in request.headers.get("if-none-match", ""):
            return Response(status_code=304, headers=headers)
        return _answer(page.index, request, headers)

    async def file(request: Request, digest: str, name: str) -> Response:
        kept = page.files.get(name) if digest == page.digest else None
        if kept is None:
            raise HTTPException(404, "The page has no such file. Load the page again.")
        return _answer(kept, request, {"Cache-Control": "public, max-age=31536000, immutable"})

    # A code is scanned or typed in any case; the page itself reads it from the address.
    for path in ("/", "/j/{code}", "/J/{code}", "/f/{code}", "/F/{code}"):
        router.add_api_route(path, index, methods=["GET", "HEAD"])
    router.add_api_route("/w/{digest}/{name:path}", file, methods=["GET", "HEAD"])
    return router


def _paths(folder: Path) -> Iterator[Path]:
    return (path for path in folder.rglob("*") if path.is_file() and path.suffix in KINDS)


def _spoken(name: str, text: bytes) -> bytes:
    text = text.replace(b"\r\n", b"\n")
    if not name.endswith((".js", ".css")):
        return text
    text = COMMENTS.sub(lambda found: b"\n" * found[0].count(b"\n"), text)
    return INDENT.sub(b"", TYPES.sub(b"", text))


def _keep(name: str, text: bytes) -> Kept:
    return Kept(KINDS[PurePosixPath(name).suffix], text, gzip.compress(text, 9, mtime=0))


def _joined_styles(texts: Mapping[str, bytes], first: Iterable[str]) -> bytes:
    """Not those beside a module of their name that comes later: that module asks for its own."""
    late = {name for name in texts if name.endswith(".js")}.difference(first)
    rest = [n for n in sorted(texts) if n.endswith(".css") and n not in STYLE_ORDER]
    rest = [name for name in rest if name[:-4] + ".js" not in late]
    return b"\n".join(texts[name] for name in (*STYLE_ORDER, *rest) if name in texts)


def _answer(kept: Kept, request: Request, headers: Mapping[str, str]) -> Response:
    more = {**headers, "Vary": "Accept-Encoding"}
    if _takes_gzip(request.headers.get("accept-encoding", "")):
        return Response(kept.packed, headers={**more, "Content-Encoding": "gzip"}, media_type=kept.kind)
    return Response(kept.plain, headers=more, media_type=kept.kind)


def _takes_gzip(accepted: str) -> bool:
    for part in accepted.lower().split(","):
        name, _, weight = part.strip().partition(";")
        if name.strip() == "gzip":
            return weight.replace(" ", "") not in ("q=0", "q=0.0")
    return False
