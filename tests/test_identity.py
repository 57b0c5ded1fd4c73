"""The CID of an installation: made once, kept, and made again only when asked for."""

from pathlib import Path
from uuid import UUID

from server.identity import Identity


def test_it_is_made_once_and_stays(tmp_path: Path) -> None:
    made = Identity(tmp_path).cid
    assert UUID(made).version == 4
    assert Identity(tmp_path).cid == made


def test_what_is_no_cid_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "cid").write_text("half")
    assert Identity(tmp_path).cid == (tmp_path / "cid").read_text().strip()


def test_another_one_is_kept_too(tmp_path: Path) -> None:
    identity = Identity(tmp_path)
    before = identity.cid
    assert identity.renew()
    assert identity.cid != before
    assert Identity(tmp_path).cid == identity.cid


def test_one_that_cannot_be_kept_is_not_taken(tmp_path: Path) -> None:
    identity = Identity(tmp_path)
    before = identity.cid
    (tmp_path / "cid").unlink()
    (tmp_path / "cid").mkdir()
    assert not identity.renew()
    assert identity.cid == before
