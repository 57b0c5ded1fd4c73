"""Where the page and the profiles lie, in a checkout and in an installed copy."""

from pathlib import Path

__all__ = ["profiles_folder", "project_folder", "web_folder"]

_SERVER = Path(__file__).resolve().parent


def project_folder() -> Path | None:
    """Return the checkout this copy runs from, or None for an installed copy."""
    project = _SERVER.parent
    return project if (project / "pyproject.toml").is_file() else None


def web_folder() -> Path:
    """Return the folder that is served as the page; `index.html` lies directly in it."""
    return _shipped("web")


def profiles_folder() -> Path:
    """Return the folder of the generic profiles that come with focuscall."""
    return _shipped("profiles")


def _shipped(name: str) -> Path:
    project = project_folder()
    return project / name if project else _SERVER / f"_{name}"
