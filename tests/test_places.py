"""server/places.py: the page and the profiles are where it says."""

from server.places import package_folder, profiles_folder, web_folder

__all__: list[str] = []


def test_the_page_and_the_profiles_are_there() -> None:
    assert (package_folder() / "places.py").is_file()
    assert (web_folder() / "index.html").is_file()
    assert list(profiles_folder().glob("*.json"))
