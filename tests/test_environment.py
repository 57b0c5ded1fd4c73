"""server/environment.py: made once, entered at every later start, and a plain sentence when it cannot be.

No test goes to the network: pip is told to look into an empty folder, or to install a wheel made here.
"""

import ast
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from server.environment import NotReady, is_met, make, requirements
from server.places import package_folder

__all__: list[str] = []

PROJECT = """[project]
dependencies = ["{name}>={version}"]
[project.optional-dependencies]
test = []
"""
PROGRAM = """
import sys
from pathlib import Path
from server.environment import ensure
ensure(Path.cwd())
import invented_part
print("inside", sys.prefix, sys.argv[1:])
sys.exit(7)
"""


def checkout(folder: Path, version: str = "1.0") -> Path:
    """Lay out a small project with the real environment maker and one invented dependency."""
    (folder / "server").mkdir(parents=True)
    (folder / "pyproject.toml").write_text(PROJECT.format(name="invented-part", version=version))
    (folder / "server" / "__init__.py").write_text("")
    source = (package_folder() / "environment.py").read_text(encoding="utf-8")
    (folder / "server" / "environment.py").write_text(source, encoding="utf-8")
    (folder / "server" / "__main__.py").write_text(PROGRAM)
    return folder


def wheel(folder: Path, version: str = "1.0") -> Path:
    """Write the invented dependency as a wheel, the archive that PEP 427 describes; returns its folder."""
    folder.mkdir()
    info = f"invented_part-{version}.dist-info"
    with zipfile.ZipFile(folder / f"invented_part-{version}-py3-none-any.whl", "w") as archive:
        archive.writestr("invented_part.py", "")
        archive.writestr(
            f"{info}/METADATA", f"Metadata-Version: 2.1\nName: invented-part\nVersion: {version}\n"
        )
        tags = "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        archive.writestr(f"{info}/WHEEL", tags)
        archive.writestr(f"{info}/RECORD", "")
    return folder


def start(project: Path, wheels: Path, **more: str) -> subprocess.CompletedProcess[str]:
    pip = {"PIP_NO_INDEX": "1", "PIP_FIND_LINKS": str(wheels), "PIP_CONFIG_FILE": os.devnull}
    env = {**os.environ, **pip, **more}
    command = [sys.executable, "-m", "server", "--port", "8020"]
    return subprocess.run(command, cwd=project, env=env, capture_output=True, text=True, check=False)


def test_the_first_start_installs_and_later_ones_do_not(tmp_path: Path) -> None:
    project, wheels = checkout(tmp_path / "checkout"), wheel(tmp_path / "wheels")
    first = start(project, wheels)
    assert first.returncode == 7, first.stderr
    assert "First start" in first.stdout
    assert f"inside {project / '.venv'} ['--port', '8020']" in first.stdout

    second = start(project, tmp_path / "nothing")
    assert second.returncode == 7, second.stderr
    assert second.stdout.startswith("inside")

    # A newer checkout asks for more: installed again, and a Python gone from under .venv is noticed.
    (project / "pyproject.toml").write_text(PROJECT.format(name="invented-part", version="1.1"))
    assert start(project, tmp_path / "nothing").returncode == 2
    third = start(project, wheel(tmp_path / "newer", "1.1"))
    assert third.returncode == 7, third.stderr
    settings = project / ".venv" / "pyvenv.cfg"
    settings.write_text(
        settings.read_text().replace("version = 3.", "version = 2.").replace("home = ", "home = /no")
    )
    fourth = start(project, tmp_path / "newer")
    assert fourth.returncode == 7, fourth.stderr
    assert "First start" in fourth.stdout


def test_a_package_that_cannot_be_had_is_one_sentence(tmp_path: Path) -> None:
    project = checkout(tmp_path / "checkout")
    end = start(project, tmp_path)
    assert end.returncode == 2
    assert end.stderr.splitlines()[-1].startswith("focuscall: pip could not install")

    # Nothing listens on port 9 of loopback (RFC 863's, long out of use): no network, as pip sees it.
    end = start(project, tmp_path, PIP_NO_INDEX="0", PIP_INDEX_URL="http://127.0.0.1:9/", PIP_RETRIES="1")
    assert end.returncode == 2
    assert "the internet could not be reached" in end.stderr, end.stderr
    assert "Traceback" not in end.stderr


def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    project = checkout(tmp_path / "checkout")
    (project / ".venv").write_text("a file is in the way")
    end = start(project, tmp_path)
    assert end.returncode == 2
    assert "cannot be written" in end.stderr
    assert "Traceback" not in end.stderr


def test_an_old_python_can_read_far_enough_to_say_what_it_lacks() -> None:
    young = (ast.JoinedStr, ast.Match, ast.NamedExpr)
    for name in ("server/__init__.py", "server/__main__.py", "tests/__init__.py", "tests/__main__.py"):
        source = (package_folder().parent / name).read_text(encoding="utf-8")
        tree = ast.parse(source, feature_version=(3, 5))
        assert not [node for node in ast.walk(tree) if isinstance(node, young)], name


@pytest.mark.parametrize("module", ["server", "tests"])
def test_an_old_python_is_told_what_it_lacks(module: str) -> None:
    program = (
        f"import sys, runpy; sys.version_info = (3, 9, 2); runpy.run_module({module!r}, run_name='__main__')"
    )
    command = [sys.executable, "-c", program]
    end = subprocess.run(command, cwd=package_folder().parent, capture_output=True, text=True, check=False)
    assert end.returncode != 0
    assert end.stderr.strip().startswith("focuscall: this is Python 3.9; install Python 3.11 or newer")


def test_a_requirement_is_met_by_the_same_or_a_newer_version() -> None:
    assert is_met("pytest>=1.0")
    assert not is_met("pytest>=9999.0")
    assert not is_met("no-such-package-is-here>=1.0")


def test_every_requirement_has_the_one_form_that_is_understood() -> None:
    for requirement in requirements(package_folder().parent, ("test", "dev")):
        name, _, version = requirement.partition(">=")
        assert name
        assert all(part.isdecimal() for part in version.split(".")), requirement


def test_a_python_without_ensurepip_is_told_which_package_brings_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    with pytest.raises(NotReady, match="sudo apt install python3-venv"):
        make(tmp_path / ".venv", [])
    assert not (tmp_path / ".venv").exists()
