"""The rules of the house, read off the source: who imports whom, how files look, what the pages name."""

import ast
import re
import subprocess
import tomllib
from functools import cache
from pathlib import Path

from server.places import package_folder
from server.settings import options
from tests.needs import program

__all__: list[str] = []

ROOT = package_folder().parent

# Each folder of the server and the others it may import. Arrows point down only.
MAY_IMPORT = {
    "rig": set[str](),
    "wire": set[str](),
    "stage": {"rig"},
    "paperwork": {"stage", "rig"},
    "journal": {"stage", "rig"},
    "net": {"wire", "rig"},
    "hearing": {"wire", "rig"},
    "beside": {"hearing", "engine", "stage", "rig", "wire"},
    "output": {"wire"},
    "engine": {"stage", "rig", "wire", "output"},
    "api": {
        *("stage", "rig", "paperwork", "engine", "net", "hearing", "beside", "journal", "settings"),
    },
    "demo": {"stage", "rig"},
    "environment": set[str](),
    "identity": set[str](),
    "memory": set[str](),
    "places": set[str](),
    "settings": {"rig"},
    "command_line": {"settings"},
    "welcome": {"settings", "rig"},
}
# Wiring: these put the parts together and may import all of them.
WIRING = {"__init__", "__main__", "app", "arriving", "consoles", "ending", "network", "parts", "start"}
# These decide and encode: what does I/O, tells the time or serves is not theirs.
PURE = {"rig", "stage", "wire", "hearing", "beside"}
NOT_PURE = {
    "asyncio",
    "fastapi",
    "pydantic",
    "select",
    "socket",
    "sqlite3",
    "subprocess",
    "threading",
    "time",
}


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imports(path: Path) -> set[str]:
    """Return the dotted names a file imports, `from a import b` as both `a` and `a.b`."""
    names: set[str] = set()
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names |= {str(node.module)} | {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def part_of(path: Path) -> str:
    """Return the folder of the server a file belongs to, or its own name when it lies at the top."""
    return path.relative_to(ROOT / "server").with_suffix("").parts[0]


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


SERVER = sorted((ROOT / "server").rglob("*.py"))
PYTHON = [*SERVER, *sorted((ROOT / "tests").rglob("*.py"))]
PARTS = {part_of(path) for path in SERVER}


def test_arrows_point_down_only() -> None:
    upward = {}
    for path in SERVER:
        part = part_of(path)
        ours = {name.split(".")[1] for name in imports(path) if name.startswith("server.")} & PARTS
        if part not in WIRING and (beyond := ours - MAY_IMPORT[part] - {part}):
            upward[name_of(path)] = beyond
    assert not upward


def test_the_map_names_every_part_and_nothing_else() -> None:
    assert MAY_IMPORT.keys() | WIRING == PARTS


def test_what_decides_does_no_input_or_output() -> None:
    impure = {}
    for path in SERVER:
        outside = {name.split(".")[0] for name in imports(path)} & NOT_PURE
        if part_of(path) in PURE and outside:
            impure[name_of(path)] = outside
    assert not impure


def test_every_file_says_in_one_line_what_it_is_for() -> None:
    silent = []
    for path in PYTHON:
        if not tree_of(path).body and path.name == "__init__.py":
            continue  # a folder of tests that only needs to be one
        first = (ast.get_docstring(tree_of(path)) or "").partition("\n")[0]
        if not first.endswith((".", ":")):
            silent.append(name_of(path))
    assert not silent


def test_every_file_of_the_server_says_what_it_gives() -> None:
    def gives(node: ast.stmt) -> bool:
        targets = node.targets if isinstance(node, ast.Assign) else []
        targets = [node.target] if isinstance(node, ast.AnnAssign) else targets
        return any(isinstance(target, ast.Name) and target.id == "__all__" for target in targets)

    modules = [path for path in SERVER if path.name != "__init__.py"]
    assert not [name_of(path) for path in modules if not any(map(gives, tree_of(path).body))]


def test_imports_are_absolute() -> None:
    relative = [
        name_of(path)
        for path in PYTHON
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.ImportFrom) and node.level
    ]
    assert not relative


def tracked() -> list[str]:
    listed = subprocess.run(
        [program("git"), "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return listed.stdout.splitlines()


def test_only_what_belongs_there_lies_at_the_top() -> None:
    top = {name.split("/")[0] for name in tracked()}
    belongs = {
        "DEVELOPERS.md",
        "LICENSE",
        "README.md",
        "profiles",
        "pyproject.toml",
        "server",
        "tests",
        "web",
    }
    assert {name for name in top if not name.startswith(".")} == belongs
    assert {name for name in top if name.startswith(".")} <= {".ci", ".gitignore"}


def test_no_file_grows_past_400_lines() -> None:
    code = [name for name in tracked() if name.endswith((".py", ".js", ".css")) and (ROOT / name).is_file()]
    code = [name for name in code if not name.startswith("web/words/")]  # lists of words, not code
    lengths = {name: len((ROOT / name).read_text(encoding="utf-8").splitlines()) for name in code}
    assert not {name: length for name, length in lengths.items() if length > 400}


def test_no_file_is_a_drawer_for_everything() -> None:
    drawers = {"utils", "helpers", "common", "manager", "base", "misc"}
    assert not [name for name in tracked() if name.endswith(".py") and Path(name).stem in drawers]


def test_nothing_in_the_tree_speaks_of_where_it_was_made() -> None:
    # Bracketed so that this line does not find itself.
    told = re.compile(r"/wor[k]/|/tm[p]/[a-z]|/roo[t]/|py[p]i\.org|python[h]osted|registry\.np[m]|issu[e] #")
    found = []
    for name in tracked():
        path = ROOT / name
        if (
            path.suffix in {".py", ".js", ".css", ".html", ".md", ".toml", ".json", ".csv", ""}
            and path.is_file()
        ):
            text = path.read_text(encoding="utf-8")
            found += [f"{name}: {match[0]}" for match in told.finditer(text)]
    assert not found


def test_the_readme_names_every_setting() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for name, (field, option) in options().items():
        assert f"`{option.flag or name}" in readme, name
        assert str(field.description) in readme, name


def test_developers_md_gives_a_reason_for_every_dependency() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    for requirement in wanted:
        assert f"| {requirement.partition('>=')[0]} |" in text, requirement


def test_developers_md_names_every_message_of_the_live_channel() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    code = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "server" / "api").glob("*.py"))
    asked = re.findall(r'do: Literal\["(\w+)"\]', code)
    told = re.findall(r'"is": "(\w+)"', code)
    assert len(asked) > 5
    assert len(told) > 3
    assert not [name for name in asked if f'{{"do":"{name}"' not in text]
    assert not [name for name in told if f'{{"is":"{name}"' not in text]


def test_developers_md_names_every_call() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    calls = set()
    for path in (ROOT / "server" / "api").glob("*.py"):
        code = path.read_text(encoding="utf-8")
        prefix = "".join(re.findall(r'APIRouter\(prefix="([^"]*)"', code))
        calls |= {
            f"{verb.upper()} {prefix}{route}"
            for verb, route in re.findall(r'@router\.(get|post|put|patch|delete)\("([^"]*)"', code)
        }
    assert len(calls) > 10
    assert not [call for call in calls if f"`{call}" not in text]
