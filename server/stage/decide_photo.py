"""The rules for photos: of what, by whom, and how many a show holds."""

from server.rig.said import Said
from server.stage import commands, events
from server.stage.decide import Answer, Rules, answer
from server.stage.found import Photo
from server.stage.holds import Refused
from server.stage.near import called
from server.stage.state import State

__all__ = ["LARGEST_PHOTO", "MOST_OCTETS", "NONE", "may_see_photo"]

LARGEST_PHOTO = 400 * 1024  # octets; the page sends 1280 pixels on the long side in half of that
MOST_OCTETS = 40 * 1024 * 1024  # of all photos of a show: it still travels as one file (64 MiB)
MOST_PHOTOS = 4096
HOUSE = Said("House staff take photos of house fixtures. Ask the lead about this one.")
NONE = Said("There is no such photo any more.")


def may_see_photo(state: State, person: str, photo: Photo) -> bool:
    """House staff see house fixtures, and what they took themselves."""
    unit = state.fixtures.get(photo.fixture)
    known = state.people.get(person)
    return known is not None and (
        known.role != "house" or photo.person == person or (unit is not None and unit.house)
    )


@answer.register
def _(command: commands.KeepPhoto, state: State, now: float, rules: Rules) -> Answer:
    unit = state.fixtures.get(command.fixture)
    if unit is None:
        return Refused(Said("There is no such fixture any more."), command.fixture)
    if state.people[command.person].role == "house" and not unit.house:
        return Refused(HOUSE, unit.id)
    if not 1 <= command.octets <= LARGEST_PHOTO:
        most = LARGEST_PHOTO // 1024
        return Refused(Said("A photo has up to {most} kB. Take it smaller.", most=most), unit.id)
    if command.photo in state.photos:
        return Refused(Said("There is a photo of that name already."), unit.id)
    held = sum(photo.octets for photo in state.photos.values())
    if held + command.octets > MOST_OCTETS or len(state.photos) >= MOST_PHOTOS:
        most = MOST_OCTETS // 1024 // 1024
        return Refused(Said("A show holds {most} MB of photos. Delete some first.", most=most), unit.id)
    taken = Photo(unit.id, command.person, called(state, command.person), now, command.octets)
    return [events.PhotoKept(command.person, command.photo, taken)]


@answer.register
def _(command: commands.DropPhoto, state: State, now: float, rules: Rules) -> Answer:
    photo = state.photos.get(command.photo)
    if photo is None:
        return Refused(NONE)
    if state.people[command.person].role != "lead" and photo.person != command.person:
        return Refused(Said("{name} took that photo. Only {name} or the lead deletes it.", name=photo.name))
    return [events.PhotoDropped(command.person, command.photo)]
