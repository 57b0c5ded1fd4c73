"""What things of ours are called in files of other programs, where names are UUIDs: always the same."""

import uuid

from server.rig.profile import Profile

__all__ = ["type_id", "unit_uuid", "uuid_of"]

OURS = uuid.UUID("5d0c2f0e-6f0b-5d8a-9a52-0c5f0c0a51ed")


def uuid_of(kind: str, name: str) -> str:
    """A name for one of our things: RFC 9562, version 5."""
    return str(uuid.uuid5(OURS, f"{kind}/{name}"))


def unit_uuid(fixture: str) -> str:
    """For a fixture, by its id, that no drawing has named."""
    return uuid_of("fixture", fixture)


def type_id(profile: Profile) -> str:
    """The FixtureTypeID (DIN SPEC 15800): that of the file it came from, else one made from its key."""
    given = profile.source.type_id if profile.source else ""
    return given or uuid_of("profile", profile.key).upper()
