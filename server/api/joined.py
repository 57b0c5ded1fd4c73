"""The modules on the way to the first screen, as one script.

A phone pays for each request, in time there and back and in its own work: sixteen modules are half a second
on a slow one. What lies in web/ stays plain modules, and so does all that comes later. Here each module of
the first screen becomes a block of `app.js`, which keeps what it exports in `$`; whoever imports it reads
it there, so that no module is there twice. (None of the first may wait for a later one that imports from
them.)
"""

import re
from collections.abc import Iterable, Mapping
from pathlib import PurePosixPath

__all__ = ["ENTRY", "first_modules", "join_first"]

ENTRY = "app.js"
IMPORT = re.compile(r"""^import\s(?:([^'"();]*?)\sfrom\s)?\s*['"](\.[^'"]+)['"];?""", re.MULTILINE)
EXPORT = re.compile(r"^export ((?:async )?(?:function|class|const) (\{[^}]*\}|\w+))", re.MULTILINE)
DEFAULT, DEFAULT_KEPT = "\nexport default ", "default: $default"
LATER = re.compile(r"""\bimport\((['"`])(\.[^'"`]+)\1\)""")
LEFT = re.compile(r"^(?:import|export)\b(?!\().*", re.MULTILINE)


def first_modules(texts: Mapping[str, str]) -> list[str]:
    """What app.js imports, directly or not, and itself last: each after all that it imports.

    texts: modules by their path in the page's folder. Raises ValueError: modules import each other.
    """
    done: list[str] = []

    def meet(name: str, way: tuple[str, ...]) -> None:
        if name in way:
            raise ValueError(f"These modules import each other: {', '.join(way)}")
        if name in done or name not in texts:
            return
        for _, other in IMPORT.findall(texts[name]):
            meet(_beside(name, other), (*way, name))
        done.append(name)

    meet(ENTRY, ())
    return done


def join_first(texts: Mapping[str, str]) -> dict[str, str]:
    """Those texts that are otherwise now: app.js with all that the first screen needs in it, the modules that
    are in there, which hand on what it keeps, and all later ones that import any.

    Raises ValueError: modules import each other, or one exports in a way that is not known here.
    """
    first = first_modules(texts)
    blocks, joined = ["export const $ = {};"], dict[str, str]()
    for name in first:
        text, given = _block(_from_kept(name, texts[name], first), name)
        if name == ENTRY:
            blocks.append(text)
            continue
        body = f"{text}\nreturn {{ {', '.join(given)} }};"
        blocks.append(f"// {name}\n$['{name}'] = await (async () => {{\n{body}\n}})();")
        joined[name] = _handed_on(name, given)
    joined[ENTRY] = "\n".join(blocks)
    for name in texts.keys() - joined.keys():
        text = _from_kept(name, texts[name], first)
        if text != texts[name]:
            joined[name] = f"import {{ $ }} from '{_up(name)}{ENTRY}'; {text}"
    return joined


def _from_kept(name: str, text: str, first: Iterable[str]) -> str:
    """Imports of what is in app.js, read from there."""

    def read(found: re.Match[str]) -> str:
        what, module = found[1], _beside(name, found[2])
        if module not in first:
            return found[0]
        if what is None:
            return ""
        if what.startswith("{"):
            return f"const {what.replace(' as ', ': ')} = $['{module}'];"
        if what.startswith("* as "):
            return f"const {what[5:]} = $['{module}'];"
        return f"const {{ default: {what} }} = $['{module}'];"

    return IMPORT.sub(read, text)


def _block(text: str, name: str) -> tuple[str, list[str]]:
    """A module's text as it works inside app.js, and what it exports, as an object is written."""
    given = [one for _, what in EXPORT.findall(text) for one in re.findall(r"\w+", what)]
    text = EXPORT.sub(r"\1", text)
    if DEFAULT in text:
        text, given = text.replace(DEFAULT, "\nconst $default = "), [*given, DEFAULT_KEPT]
    if left := LEFT.search(text):
        raise ValueError(f"{name} cannot be joined with the rest: {left[0]}")
    text = LATER.sub(lambda found: f"import({found[1]}./{_beside(name, found[2])}{found[1]})", text)
    return text.replace("import.meta.url", f"new URL('{name}', import.meta.url)"), given


def _handed_on(name: str, given: Iterable[str]) -> str:
    named = ", ".join(one for one in given if one != DEFAULT_KEPT)
    default = f" export default $['{name}'].default;" if DEFAULT_KEPT in given else ""
    return f"import {{ $ }} from '{_up(name)}{ENTRY}'; export const {{ {named} }} = $['{name}'];{default}"


def _up(name: str) -> str:
    return "../" * name.count("/") or "./"


def _beside(name: str, relative: str) -> str:
    """`../state/rig.js` as seen from `screens/list.js` is `state/rig.js`."""
    parts = list(PurePosixPath(name).parent.parts)
    for part in PurePosixPath(relative).parts:
        if part == "..":
            parts.pop()
        else:
            parts.append(part)
    return "/".join(parts)
