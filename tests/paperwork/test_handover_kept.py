"""Packs of earlier hand-overs: by venue, newest first, bounded."""

from pathlib import Path

from server.paperwork.handover import Pack
from server.paperwork.handover_kept import FOLDER, KEPT_MOST, SAME_S, keep_pack, kept_packs
from tests.handovers import AT, packed

__all__: list[str] = []

VENUE = "Marrow Street Playhouse"


def pack(at: float, **more: str) -> Pack:
    return packed(at=at).model_copy(update=more)


def test_a_venue_has_its_own_newest_first(tmp_path: Path) -> None:
    for one in (pack(AT), pack(AT + 1, show="Another"), pack(AT + 2, venue="../Elsewhere")):
        keep_pack(tmp_path, one)
    assert [p.show for p in kept_packs(tmp_path, f" {VENUE.upper()}")] == ["Another", "The Salt Ferry"]
    assert len(kept_packs(tmp_path, "../Elsewhere")) == 1
    assert kept_packs(tmp_path, "Nowhere") == []
    assert [path.name for path in tmp_path.iterdir()] == [FOLDER]


def test_the_same_hand_over_made_again_takes_the_place_of_the_first(tmp_path: Path) -> None:
    keep_pack(tmp_path, pack(AT))
    keep_pack(tmp_path, pack(AT + SAME_S - 1))
    assert [p.at for p in kept_packs(tmp_path, VENUE)] == [AT + SAME_S - 1]
    keep_pack(tmp_path, pack(AT + 2 * SAME_S))
    assert [p.at for p in kept_packs(tmp_path, VENUE)] == [AT + 2 * SAME_S, AT + SAME_S - 1]


def test_the_oldest_go_first(tmp_path: Path) -> None:
    for number in range(KEPT_MOST + 3):
        keep_pack(tmp_path, pack(AT + number * SAME_S))
    kept = kept_packs(tmp_path, VENUE)
    assert [p.at for p in kept] == [AT + number * SAME_S for number in range(KEPT_MOST + 2, 2, -1)]


def test_what_cannot_be_read_is_left_as_it_lies(tmp_path: Path) -> None:
    keep_pack(tmp_path, pack(AT))
    (path,) = tmp_path.rglob("*.json")
    odd = path.with_name("odd.json")
    odd.write_bytes(b"{")
    assert kept_packs(tmp_path, VENUE) == [pack(AT)]
    assert odd.read_bytes() == b"{"
