"""Where the page and the profiles lie, in a checkout and in an installed copy."""

from pathlib import Path

__all__ = ["package_folder", "profiles_folder", "web_folder"]


def package_folder() -> Path:
    """Return the folder `server`; a checkout is the folder above it."""
    return Path(__file__).resolve().parent


def web_folder() -> Path:
    """Return the folder that is served as the page; `index.html` lies directly in it."""
    return _shipped("web")


def profiles_folder() -> Path:
    """Return the folder of the generic profiles that come with focuscall."""
    return _shipped("profiles")


def _shipped(name: str) -> Path:
    server = package_folder()
    inside_wheel = server / f"_{name}"
    return inside_wheel if inside_wheel.is_dir() else server.parent / name
