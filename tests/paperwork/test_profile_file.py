"""The published schema is the one the program checks by."""

import json

from server.paperwork.profile_file import schema
from server.places import profiles_folder

__all__: list[str] = []


def test_the_published_schema_is_current() -> None:
    # To write it anew: json.dumps(schema(), indent=2) and a line end.
    published = (profiles_folder() / "schema.json").read_text(encoding="utf-8")
    assert json.loads(published) == json.loads(json.dumps(schema()))
    assert published == json.dumps(json.loads(published), indent=2) + "\n"
