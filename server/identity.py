"""Who this installation is to receivers: one CID, kept in the data folder."""

import contextlib
import uuid
from pathlib import Path

__all__ = ["Identity"]


class Identity:
    """cid: a UUID's text, made once (E1.31-2018, 5.6: the same for the life of the equipment)."""

    def __init__(self, folder: Path) -> None:
        """Raises OSError: it can be neither read nor kept."""
        self._path = folder / "cid"
        try:
            self.cid = str(uuid.UUID(self._path.read_text().strip()))
        except (FileNotFoundError, ValueError):
            self._make()

    def renew(self) -> bool:
        """Be somebody else from now on. False: that cannot be kept, and all is as before."""
        with contextlib.suppress(OSError):
            self._make()
            return True
        return False

    def _make(self) -> None:
        made = str(uuid.uuid4())
        self._path.write_text(made + "\n")
        self.cid = made
