"""Photos over HTTP: kept without what the phone wrote, seen by who may, gone when deleted, durable."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from server.stage.decide_photo import LARGEST_PHOTO
from tests.api.answers import given, problem
from tests.photos import WHERE, jpeg
from tests.servers import Server, serving

__all__: list[str] = []


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own: it is killed."""
    with serving(tmp_path_factory.mktemp("photos") / "data") as server:
        yield server


def test_a_photo_is_kept_without_what_the_phone_wrote_and_outlasts_a_kill(server: Server) -> None:
    crew = server.client("crew", "Mo")
    as_form = {"file": ("photo.jpg", jpeg())}
    kept = given(crew.post("/api/photos", params={"fixture": "demo-21"}, files=as_form), 201)
    assert (kept["fixture"], kept["by"]) == ("demo-21", "Mo")
    raw = given(crew.post("/api/photos?fixture=demo-21", content=jpeg()), 201)
    server.kill()
    server.start()
    assert [one["photo"] for one in given(crew.get("/api/photos?fixture=demo-21"))] == [
        raw["photo"],
        kept["photo"],
    ]
    picture = crew.get(f"/api/photos/{kept['photo']}")
    assert (picture.status_code, picture.headers["content-type"]) == (200, "image/jpeg")
    assert WHERE not in picture.content
    with Image.open(BytesIO(picture.content)) as image:
        assert image.size == (96, 64)
    given(crew.delete(f"/api/photos/{raw['photo']}"), 204)
    problem(crew.get(f"/api/photos/{raw['photo']}"), 404)
    problem(crew.delete(f"/api/photos/{raw['photo']}"), 404)


def test_what_is_no_photo_too_large_or_of_no_fixture_is_refused_in_words(server: Server) -> None:
    crew = server.client("crew")
    assert "JPEG" in problem(crew.post("/api/photos?fixture=demo-21", content=b"GIF89a"), 422)
    assert "fixture" in problem(crew.post("/api/photos?fixture=none", content=jpeg()), 422)
    large = jpeg(size=(900, 900), quality=95)
    assert LARGEST_PHOTO < len(large) < 1024 * 1024
    assert "kB" in problem(crew.post("/api/photos?fixture=demo-21", content=large), 422)


def test_house_staff_see_photos_of_house_fixtures_only(server: Server) -> None:
    crew, house = server.client("crew"), server.client("house")
    fixtures = given(crew.get("/api/fixtures"))
    ours = next(one["id"] for one in fixtures if one["house"])
    others = next(one["id"] for one in fixtures if not one["house"])
    secret = given(crew.post(f"/api/photos?fixture={others}", content=jpeg()), 201)["photo"]
    shown = given(house.post(f"/api/photos?fixture={ours}", content=jpeg()), 201)["photo"]
    assert "House staff" in problem(house.post(f"/api/photos?fixture={others}", content=jpeg()), 422)
    assert [one["photo"] for one in given(house.get("/api/photos"))] == [shown]
    problem(house.get(f"/api/photos/{secret}"), 404)
    assert "took that photo" in problem(house.delete(f"/api/photos/{secret}"), 422)


def test_photos_travel_with_the_show(server: Server, tmp_path: Path) -> None:
    lead = server.client("lead")
    kept = given(lead.post("/api/photos?fixture=demo-21", content=jpeg()), 201)["photo"]
    picture = lead.get(f"/api/photos/{kept}").content
    data = lead.get("/api/show/export").content
    with serving(tmp_path / "other" / "data") as other:
        there = other.client("lead")
        gone = given(there.post("/api/photos?fixture=demo-21", content=jpeg()), 201)["photo"]
        report = given(there.post("/api/show/import", files={"file": ("show.focuscall", data)}))
        assert report["holds"]["photos"] == len(given(lead.get("/api/photos")))
        assert there.get(f"/api/photos/{kept}").content == picture
        problem(there.get(f"/api/photos/{gone}"), 404)
