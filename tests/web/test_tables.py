"""The tables of what the laptop says: every sentence and every name of ours has its German, and no more."""

import ast
import json
import re
from collections.abc import Iterator
from string import Formatter
from typing import Any

import pytest

from server.places import package_folder, profiles_folder, web_folder
from server.rig.patch import REFUSED_KINDS

__all__: list[str] = []

WORDS = web_folder() / "words"
SERVER = package_folder()
ENTRY = re.compile(r'  ("(?:[^"\\]|\\.)*"): ("(?:[^"\\]|\\.)*"),')
OPENS = re.compile(r"export (?:default|const (\w+) =) \{")


def tables(name: str) -> dict[str, dict[str, str]]:
    """The tables of a file of web/words by name, the main one as ""; a line that is no entry fails."""
    found: dict[str, dict[str, str]] = {}
    here: dict[str, str] | None = None
    for line in (WORDS / name).read_text(encoding="utf-8").splitlines():
        if opens := OPENS.fullmatch(line):
            here = found.setdefault(opens[1] or "", {})
        elif line == "};":
            here = None
        elif here is not None:
            entry = ENTRY.fullmatch(line)
            assert entry, f"{name}: {line}"
            english, german = json.loads(entry[1]), json.loads(entry[2])
            assert english not in here, f"{name} says this twice: {english}"
            here[english] = german
    return found


def gaps(sentence: str) -> list[str]:
    return sorted(name for _, name, _, _ in Formatter().parse(sentence) if name is not None)


def said() -> Iterator[str]:
    """Every pattern of a `Said` in the server."""
    for path in SERVER.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or ast.unparse(node.func) != "Said":
                continue
            first = node.args[0] if node.args else None
            assert isinstance(first, ast.Constant), (
                f"{path.name}:{node.lineno}: write the sentence itself into Said(...), what changes as facts"
            )
            yield str(first.value)


def texts_of_output() -> Iterator[str]:
    """Every text in the code of the output process, {gaps} where something is put in."""
    for path in (SERVER / "output").glob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        nodes = list(ast.walk(tree))
        # Not what stands beside the code, and not the pieces of what is taken whole.
        inside = [
            part for node in nodes if isinstance(node, ast.Expr | ast.JoinedStr) for part in direct(node)
        ]
        for node in nodes:
            if isinstance(node, ast.JoinedStr):
                yield "".join(str(p.value) if isinstance(p, ast.Constant) else "{}" for p in node.values)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in inside:
                yield node.value


def direct(node: ast.Expr | ast.JoinedStr) -> list[ast.expr]:
    return node.values if isinstance(node, ast.JoinedStr) else [node.value]


def names_of(profile: dict[str, Any]) -> Iterator[str]:
    """What the page shows of a profile file: not its notes, modes or maker."""
    yield from (profile["name"], profile["short_name"], profile["kind"])
    yield from guard(profile)
    for slots in profile.get("wheels", {}).values():
        yield from (slot["name"] for slot in slots)
    for mode in profile["modes"]:
        yield from (cell["name"] for cell in mode.get("cells", ()))
        for control in (*mode["controls"], *mode.get("cell_controls", ())):
            yield from guard(control)
            for function in control["functions"]:
                if function.get("name", function["attribute"]) != function["attribute"]:
                    yield function["name"]
                yield from (piece["name"] for piece in function.get("ranges", ()))
                if "action" in function:
                    yield function["action"]["words"]


def guard(part: dict[str, Any]) -> Iterator[str]:
    if "guarded" in part:
        yield part["guarded"]["reason"]


def test_every_sentence_of_the_server_has_its_german_and_no_more() -> None:
    german, record = tables("de-server.js")[""], tables("de-record.js")[""]
    assert german.keys() & record.keys() == set(), "these stand in both"
    known = german.keys() | record.keys()
    assert set(said()) - known == set(), "say these in web/words/de-server.js or de-record.js"
    assert known - set(said()) == set(), "nobody says these any more: web/words/de-server.js, de-record.js"


@pytest.mark.parametrize("of", [("de-server.js", ""), ("de-server.js", "output"), ("de-record.js", "")])
def test_what_is_put_into_a_sentence_is_put_into_its_german(of: tuple[str, str]) -> None:
    for english, german in tables(of[0])[of[1]].items():
        assert gaps(german) == gaps(english), english


def test_every_sentence_of_the_output_process_has_its_german_and_no_more() -> None:
    german, texts = tables("de-server.js")["output"], set(texts_of_output())
    for english in german:
        fixed = [part for part, *_ in Formatter().parse(english) if len(part) > 2]
        assert any(all(part in text for part in fixed) for text in texts), english
    sentences = {text for text in texts if "{host}" in text and " " in text}
    assert sentences
    for text in sentences:
        assert any(re.sub(r"\{\w*\}", "", text) == re.sub(r"\{\w+\}", "", one) for one in german), text


def test_every_name_in_our_profiles_has_its_german_and_no_more() -> None:
    german = tables("de-profiles.js")[""]
    shown = set(REFUSED_KINDS)
    for path in sorted(profiles_folder().glob("*.json")):
        if path.name != "schema.json":
            shown |= set(names_of(json.loads(path.read_text(encoding="utf-8"))))
    plain = {text for text in shown if re.search("[A-Za-z]{2}", text)}  # "1", "B4" and "A" are said alike
    numbered = {text: re.sub(r"\d+", "{n}", text, count=1) for text in plain}
    assert {t for t, n in numbered.items() if t not in german and n not in german} == set()
    assert german.keys() - plain - set(numbered.values()) == set()
