"""The environment maker: .venv beside pyproject.toml, made at the first start and used at every other."""

import importlib.util
import os
import subprocess
import sys
import tomllib
from importlib import metadata
from pathlib import Path
from typing import NoReturn

__all__ = ["NotReady", "ensure", "is_met", "make", "requirements"]

_STAMP = "focuscall.txt"  # what pip has installed into .venv on our behalf, one requirement a line
# What pip's own lines say, in small letters, when it reaches nobody.
_NO_NETWORK = ("resol", "newconnectionerror", "getaddrinfo", "unreachable", "timed out", "connecttimeout")


class NotReady(Exception):
    """The environment could not be made; the text is one sentence that says what to do."""


def ensure(project: Path, extras: tuple[str, ...] = ()) -> None:
    """Return once this Python has all that the project needs; else run the same command again in .venv.

    project: the folder above `server`. Without a pyproject.toml it is an installed copy, and pip brought
    everything along.

    A Python that already has everything (somebody's own environment) is used as it is. Otherwise .venv is
    made once, over the network, and entered at every later start without network or pip. Ends the process
    with one sentence and exit code 2 when that cannot be done.
    """
    if not (project / "pyproject.toml").is_file():
        return
    wanted, folder = requirements(project, extras), project / ".venv"
    usable = _is_usable(folder, wanted)
    if usable if _is_inside(folder) else all(map(is_met, wanted)):
        return
    if not usable:
        try:
            make(folder, wanted)
        except NotReady as why:
            _stop(str(why), 2)
        except KeyboardInterrupt:
            _stop("Stopped half-way through the installation; the same command goes on with it.", 130)
    _enter(_python_of(folder))


def requirements(project: Path, extras: tuple[str, ...]) -> list[str]:
    """Return the dependencies that pyproject.toml names, those of the extras after them."""
    table = tomllib.loads((project / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = list(table["dependencies"])
    for extra in extras:
        wanted += table["optional-dependencies"][extra]
    return wanted


def is_met(requirement: str) -> bool:
    """Tell whether this Python has a requirement of the form NAME>=VERSION."""
    name, _, least = requirement.partition(">=")
    try:
        return _numbers(metadata.version(name)) >= _numbers(least)
    except metadata.PackageNotFoundError:
        return False


def make(folder: Path, wanted: list[str]) -> None:
    """Make .venv, or mend one that was left half-made, and let pip install what is wanted into it.

    A .venv that somebody else made is installed into and never cleared.

    Raises NotReady: with one sentence for the person at the keyboard.
    """
    print(f"First start: installing {len(wanted)} packages into {folder}. This needs the internet once.")
    if (folder / _STAMP).exists() or not (folder / "pyvenv.cfg").exists():
        _make_folder(folder)
    _install(folder, wanted)
    known = {*_installed(folder), *wanted}
    (folder / _STAMP).write_text("".join(f"{line}\n" for line in sorted(known)), encoding="utf-8")
    print("Installed. Later starts need no network.", flush=True)


def _make_folder(folder: Path) -> None:
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            raise NotReady(
                f"This Python came without '{module}': install it (on Debian and Ubuntu "
                "'sudo apt install python3-venv') and give the same command again."
            )
    # Clear what another Python made: an upgrade of the system may have taken its Python away.
    clear = ["--clear"] if _made_with(folder)[1] not in ("", _version()) else []
    # The Python under a virtual environment, so that .venv does not hang on somebody else's.
    base = getattr(sys, "_base_executable", None) or sys.executable
    try:
        folder.mkdir(exist_ok=True)
        (folder / _STAMP).touch()  # ours from here on, also when the power goes now
        made = subprocess.run([base, "-m", "venv", *clear, str(folder)], check=False).returncode == 0
        (folder / _STAMP).touch()  # again: --clear took it
    except OSError as error:
        raise NotReady(
            f"{folder} cannot be written ({error.strerror}): move this checkout to a folder of your own "
            "and give the same command again."
        ) from None
    if not made:
        raise NotReady(
            f"Python could not make {folder} (the lines above say why): put that right, delete the folder "
            "and give the same command again."
        )


def _install(folder: Path, wanted: list[str]) -> None:
    command = [str(_python_of(folder)), "-m", "pip", "install", "--disable-pip-version-check", "--no-input"]
    sys.stdout.flush()
    no_network = False
    with subprocess.Popen(
        [*command, *wanted], stderr=subprocess.PIPE, encoding="utf-8", errors="replace"
    ) as pip:
        for line in pip.stderr or ():
            sys.stderr.write(line)
            no_network = no_network or any(word in line.lower() for word in _NO_NETWORK)
    if no_network and pip.returncode != 0:
        raise NotReady(
            "The first start fetches focuscall's Python packages and the internet could not be reached: "
            "connect this machine once and give the same command again."
        )
    if pip.returncode != 0:
        raise NotReady(
            "pip could not install what focuscall needs (the lines above say why): put that right and give "
            "the same command again."
        )


def _is_inside(folder: Path) -> bool:
    return folder.is_dir() and folder.samefile(sys.prefix)


def _is_usable(folder: Path, wanted: list[str]) -> bool:
    home, version = _made_with(folder)
    if _is_inside(folder) and version != _version():
        return False
    return Path(home).is_dir() and _python_of(folder).exists() and set(wanted) <= _installed(folder)


def _installed(folder: Path) -> set[str]:
    try:
        return set((folder / _STAMP).read_text(encoding="utf-8").splitlines())
    except OSError:
        return set()


def _made_with(folder: Path) -> tuple[str, str]:
    """Return the folder and the version ("3.11") of the Python under .venv; empty where it does not say."""
    try:
        lines = (folder / "pyvenv.cfg").read_text(encoding="utf-8").splitlines()
    except OSError:
        return "", ""
    said = {key.strip(): value.strip() for key, _, value in (line.partition("=") for line in lines)}
    version = said.get("version") or said.get("version_info") or ""
    return said.get("home", ""), ".".join(version.split(".")[:2])


def _version() -> str:
    return f"{sys.version_info.major}.{sys.version_info.minor}"


def _python_of(folder: Path) -> Path:
    return folder / "Scripts" / "python.exe" if os.name == "nt" else folder / "bin" / "python"


def _numbers(version: str) -> list[int]:
    return [int(part) for part in version.split(".") if part.isdigit()]


def _enter(python: Path) -> NoReturn:
    command = [str(python), *sys.orig_argv[1:]]
    sys.stdout.flush()
    if os.name != "nt":
        os.execv(python, command)  # noqa: S606
    with subprocess.Popen(command) as child:
        while True:
            try:
                sys.exit(child.wait())
            except KeyboardInterrupt:
                continue  # Ctrl-C reaches both; the child ends in order and its exit code is ours


def _stop(sentence: str, code: int) -> NoReturn:
    print(f"focuscall: {sentence}", file=sys.stderr)
    sys.exit(code)
