"""The packs of earlier hand-overs, by venue, in the data folder: they outlive the show."""

import hashlib
from pathlib import Path

from server.paperwork.handover import NotAPackError, Pack, read_pack, write_pack

__all__ = ["FOLDER", "KEPT_MOST", "SAME_S", "keep_pack", "kept_packs"]

FOLDER = "handed-over"
KEPT_MOST = 10  # of each venue; the oldest goes first
SAME_S = 12 * 3600.0  # a second pack of the same show within so long is the same hand-over, made again


def kept_packs(folder: Path, venue: str) -> list[Pack]:
    """Those of a venue, newest first. A file that cannot be read is left as it lies. Raises OSError."""
    place = _place(folder, venue)
    found = []
    for path in place.glob("*.json") if place.is_dir() else ():
        try:
            found.append(read_pack(path.read_bytes()))
        except NotAPackError:
            continue
    return sorted(found, key=lambda pack: -pack.at)


def keep_pack(folder: Path, pack: Pack) -> None:
    """Keep it for the next time at its venue, whole or not at all. Raises OSError."""
    place = _place(folder, pack.venue)
    place.mkdir(parents=True, exist_ok=True)
    again = [p for p in kept_packs(folder, pack.venue) if p.show == pack.show and _close(p, pack)]
    path = place / _name(pack)
    begun = path.with_suffix(".new")
    begun.write_bytes(write_pack(pack))
    begun.replace(path)
    for old in [*(p for p in again if p.at != pack.at), *kept_packs(folder, pack.venue)[KEPT_MOST:]]:
        (place / _name(old)).unlink(missing_ok=True)


def _close(one: Pack, other: Pack) -> bool:
    return abs(one.at - other.at) < SAME_S


def _name(pack: Pack) -> str:
    return f"{round(pack.at * 1000):015d}.json"


def _place(folder: Path, venue: str) -> Path:
    """A folder's name that any file system takes, whatever the venue is called."""
    return folder / FOLDER / hashlib.sha256(" ".join(venue.split()).casefold().encode()).hexdigest()[:16]
