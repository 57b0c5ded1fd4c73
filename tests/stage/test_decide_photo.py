"""Who takes photos of what, who sees and deletes them, and how many a show holds."""

import pytest

from server.stage import commands as ask
from server.stage.decide_photo import LARGEST_PHOTO, MOST_OCTETS, may_see_photo
from server.stage.found import Photo
from tests.rigs import done, refused, stage_with, unit

__all__: list[str] = []


def test_a_photo_is_of_a_fixture_and_by_somebody() -> None:
    stage = stage_with()
    done(stage, ask.KeepPhoto("mo", "spot", "p1", 1000), 5.0)
    assert stage.state.photos == {"p1": Photo("spot", "mo", "Mo", 5.0, 1000)}
    assert stage.state.changes[1].about == ("fixture spot",)
    assert stage.state.changes[1].before is None
    assert "no such fixture" in refused(stage, ask.KeepPhoto("mo", "nobody", "p2", 1000)).why
    assert "of that name" in refused(stage, ask.KeepPhoto("mo", "spot", "p1", 1000)).why


def test_house_staff_photograph_and_see_house_fixtures() -> None:
    stage = stage_with(unit("h", house=True, address=300), unit("s", address=301))
    done(stage, ask.KeepPhoto("hal", "h", "p1", 1000))
    done(stage, ask.KeepPhoto("mo", "s", "p2", 1000))
    assert "House staff" in refused(stage, ask.KeepPhoto("hal", "s", "p3", 1000)).why
    state = stage.state
    assert [may_see_photo(state, who, state.photos["p2"]) for who in ("mo", "hal")] == [True, False]
    assert may_see_photo(state, "hal", state.photos["p1"])


@pytest.mark.parametrize("octets", [0, LARGEST_PHOTO + 1])
def test_a_photo_has_its_bounds(octets: int) -> None:
    assert "kB" in refused(stage_with(), ask.KeepPhoto("mo", "spot", "p", octets)).why


def test_a_show_that_is_full_of_photos_takes_no_more_until_one_is_deleted() -> None:
    stage = stage_with()
    for number in range(MOST_OCTETS // LARGEST_PHOTO):
        done(stage, ask.KeepPhoto("mo", "spot", f"p{number}", LARGEST_PHOTO))
    assert "Delete some" in refused(stage, ask.KeepPhoto("mo", "spot", "q", LARGEST_PHOTO)).why
    done(stage, ask.DropPhoto("mo", "p0"))
    done(stage, ask.KeepPhoto("mo", "spot", "q", LARGEST_PHOTO))


def test_who_took_a_photo_or_the_lead_deletes_it() -> None:
    stage = stage_with()
    done(stage, ask.KeepPhoto("mo", "spot", "p1", 9))
    done(stage, ask.KeepPhoto("mo", "spot", "p2", 9))
    assert "Only Mo" in refused(stage, ask.DropPhoto("kit", "p1")).why
    done(stage, ask.DropPhoto("mo", "p1"))
    done(stage, ask.DropPhoto("ann", "p2"))
    assert stage.state.photos == {}
    assert "no such photo" in refused(stage, ask.DropPhoto("ann", "p2")).why
