"""Who is known: joining, names, leaving, being removed, and PINs."""

import pytest

from server.stage import events
from server.stage.commands import (
    Arrive,
    GoAloft,
    HandsOn,
    Join,
    Leave,
    LetGo,
    RemovePerson,
    RenamePerson,
    SetPin,
    SetValues,
    Take,
    Withdraw,
)
from server.stage.decide_people import MOST_PEOPLE, free_name
from server.stage.stage import Stage
from server.stage.state import Person
from tests.rigs import done, refused, stage_with

__all__: list[str] = []

DAY_S = 24 * 3600.0


def person(name: str, id_: str = "") -> Person:
    return Person(id_ or name.casefold(), name, "crew", f"hash of {id_ or name}")


def join(name: str, id_: str = "") -> Join:
    newcomer = person(name, id_)
    return Join(newcomer.id, newcomer)


def test_who_joins_is_away_until_their_phone_is_connected() -> None:
    stage, zoe = stage_with(), person("Zoe")
    assert done(stage, Join("zoe", zoe), 7.0) == [
        events.PersonJoined("zoe", zoe),
        events.PersonWent("zoe", 7.0),
    ]
    assert stage.state.people["zoe"] == zoe
    assert stage.state.gone == {"zoe": 7.0}
    assert done(stage, Arrive("zoe"), 8.0) == [events.PersonCame("zoe")]
    assert stage.state.gone == {}


def test_a_phone_that_drops_off_keeps_its_light_as_it_is() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "spot", {"Dimmer": 1}))
    assert done(stage, Withdraw("mo"), 9.0) == [events.PersonWent("mo", 9.0)]
    assert stage.state.gone == {"mo": 9.0}
    assert stage.state.holders == {"spot": "mo"}
    assert stage.state.hand == {"spot": {"Dimmer": 255}}


def test_after_30_s_away_anyone_takes_over_without_asking() -> None:
    stage = stage_with()
    done(stage, Take("mo", "spot"))
    done(stage, Withdraw("mo"), 100.0)
    assert refused(stage, Take("kit", "spot"), 129.9).ask == "take"
    assert done(stage, Take("kit", "spot"), 130.0) == [events.Taken("kit", "spot")]


def test_who_comes_back_within_30_s_has_their_light_again() -> None:
    stage = stage_with()
    done(stage, Take("mo", "spot"))
    done(stage, Withdraw("mo"), 100.0)
    done(stage, Arrive("mo"), 120.0)
    assert refused(stage, Take("kit", "spot"), 200.0).ask == "take"


def test_who_leaves_lets_go_of_everything_and_is_forgotten() -> None:
    stage = stage_with()
    for who, fixture in (("mo", "spot"), ("mo", "head"), ("kit", "wash")):
        done(stage, Take(who, fixture))
    done(stage, Withdraw("mo"), 1.0)
    assert done(stage, Leave("mo")) == [
        events.LetGone("mo", "spot", 2.0),
        events.LetGone("mo", "head", 2.0),
        events.PersonLeft("mo"),
    ]
    assert stage.state.holders == {"wash": "kit"}
    assert "mo" not in stage.state.people
    assert stage.state.gone == {}


@pytest.mark.parametrize("name", ["Mo", "mo", "MO"])
def test_a_second_mo_is_refused_and_told_a_free_name(name: str) -> None:
    stage = stage_with()
    said = refused(stage, join(name, "other")).why
    assert said == f"{name} has joined already. Call yourself {name} 2, so that nobody is mistaken."
    done(stage, join("Mo 2"))
    assert "Call yourself Mo 3" in refused(stage, join("Mo", "third")).why


def test_a_long_name_has_room_for_its_number() -> None:
    stage, name = stage_with(), "x" * 30
    done(stage, join(name))
    free = free_name(stage.state, name, 0.0)
    assert len(free) <= 30
    done(stage, join(free))


@pytest.mark.parametrize("name", ["", " ", "Mo ", "M\no", "x" * 31])
def test_a_name_is_one_line_of_1_to_30_characters(name: str) -> None:
    assert "1 to 30 characters" in refused(stage_with(), join(name, "new")).why


def test_a_name_of_yesterday_is_free_again_and_its_phone_is_forgotten() -> None:
    stage = stage_with()
    done(stage, Withdraw("mo"), 0.0)
    assert "has joined already" in refused(stage, join("Mo", "new"), DAY_S / 4).why
    assert done(stage, join("Mo", "new"), DAY_S)[0] == events.PersonLeft("mo")
    assert [p.id for p in stage.state.people.values() if p.name == "Mo"] == ["new"]


def test_a_name_is_not_free_while_its_owner_has_a_light_or_hands_on_one() -> None:
    for asked in (Take("mo", "spot"), HandsOn("mo", "head", on=True), GoAloft("mo", "Bridge 1")):
        stage = stage_with()
        done(stage, asked)
        done(stage, Withdraw("mo"), 0.0)
        assert "has joined already" in refused(stage, join("Mo", "new"), DAY_S).why


def full(here: bool) -> Stage:
    stage = stage_with()
    for n in range(MOST_PEOPLE - len(stage.state.people)):
        done(stage, join(f"P {n}", f"p{n}"), float(n))
        if here:
            done(stage, Arrive(f"p{n}"), float(n))
    return stage


def test_the_longest_away_who_holds_nothing_makes_room_for_the_201st() -> None:
    stage = full(here=False)
    done(stage, Take("p0", "spot"), 1000.0)
    done(stage, HandsOn("p1", "head", on=True), 1000.0)
    assert done(stage, join("Zoe"), 1000.0)[0] == events.PersonLeft("p2")
    assert len(stage.state.people) == MOST_PEOPLE
    assert {"p0", "p1", "zoe"} <= set(stage.state.people)


def test_nobody_who_is_here_makes_room() -> None:
    stage = full(here=True)
    assert "200 people have joined" in refused(stage, join("Zoe"), 1000.0).why


def test_everybody_renames_themselves_and_the_lead_anybody() -> None:
    stage = stage_with()
    assert done(stage, RenamePerson("mo", "mo", " Mo  K ")) == [events.PersonRenamed("mo", "mo", "Mo K")]
    assert done(stage, RenamePerson("ann", "kit", "Kitty")) == [events.PersonRenamed("ann", "kit", "Kitty")]
    assert (stage.state.people["mo"].name, stage.state.people["kit"].name) == ("Mo K", "Kitty")
    assert stage.state.people["mo"].token_hash == "b"
    assert done(stage, RenamePerson("mo", "mo", "Mo K")) == []
    assert done(stage, RenamePerson("mo", "mo", "MO K")) == [events.PersonRenamed("mo", "mo", "MO K")]


def test_a_name_that_another_has_or_nobody_can_call_is_refused() -> None:
    stage = stage_with()
    assert refused(stage, RenamePerson("mo", "kit", "Kitty")).why == "Only the lead can do that."
    assert (
        refused(stage, RenamePerson("mo", "mo", "KIT")).why == "Somebody else is called KIT. KIT 2 is free."
    )
    assert "1 to 30 characters" in refused(stage, RenamePerson("mo", "mo", " ")).why
    assert refused(stage, RenamePerson("ann", "eve", "Eve")).why == "They have left already."


def test_a_new_name_that_somebody_of_yesterday_had_is_free() -> None:
    stage = stage_with()
    done(stage, Withdraw("kit"), 0.0)
    assert done(stage, RenamePerson("mo", "mo", "Kit"), DAY_S) == [
        events.PersonLeft("kit"),
        events.PersonRenamed("mo", "mo", "Kit"),
    ]


def test_the_lead_removes_a_phone_and_what_it_held_is_let_go() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "spot", {"Dimmer": 1}))
    assert done(stage, RemovePerson("ann", "mo")) == [
        events.LetGone("ann", "spot", 2.0),
        events.PersonRemoved("ann", "mo"),
    ]
    assert "mo" not in stage.state.people
    assert stage.state.holders == {}
    assert "not joined" in refused(stage, Take("mo", "spot")).why


def test_nobody_is_removed_while_aloft_or_with_hands_on_a_fixture() -> None:
    stage = stage_with()
    done(stage, HandsOn("mo", "head", on=True))
    said = "Mo is aloft or has hands on a fixture. Ask them first."
    assert refused(stage, RemovePerson("ann", "mo")).why == said
    done(stage, HandsOn("mo", "head", on=False))
    done(stage, GoAloft("mo", "Bridge 1"))
    assert refused(stage, RemovePerson("ann", "mo")).why == said
    done(stage, GoAloft("mo", None))
    done(stage, RemovePerson("ann", "mo"))


def test_only_the_lead_removes_and_nobody_removes_themselves_or_nobody() -> None:
    stage = stage_with()
    for who in ("mo", "hal"):
        assert refused(stage, RemovePerson(who, "kit")).why == "Only the lead can do that."
    assert "That is you" in refused(stage, RemovePerson("ann", "ann")).why
    assert refused(stage, RemovePerson("ann", "eve")).why == "They have left already."


def test_the_lead_gives_a_role_a_new_pin_and_nobody_else_does() -> None:
    stage = stage_with()
    assert done(stage, SetPin("ann", "crew", "hashed")) == [events.PinSet("ann", "crew", "hashed")]
    assert stage.state.pins == {"crew": "hashed"}
    assert refused(stage, SetPin("mo", "crew", "mine")).why == "Only the lead can do that."
    assert refused(stage, SetPin("ann", "king", "x")).why == "There is no role called king."


def test_the_lead_lets_go_of_all_that_somebody_else_holds_and_nobody_else_does() -> None:
    stage = stage_with()
    for who, fixture in (("mo", "spot"), ("mo", "head"), ("kit", "wash")):
        done(stage, Take(who, fixture))
    assert refused(stage, LetGo("kit", "*", of="mo")).why == "Only the lead can do that."
    assert done(stage, LetGo("ann", "*", of="mo")) == [
        events.LetGone("ann", "spot", 2.0),
        events.LetGone("ann", "head", 2.0),
    ]
    assert stage.state.holders == {"wash": "kit"}
    assert done(stage, LetGo("kit", "*", of="kit")) == [events.LetGone("kit", "wash", 2.0)]
    assert done(stage, LetGo("ann", "*", of="eve")) == []
    assert "name a fixture alone" in refused(stage, LetGo("ann", "spot", of="mo")).why
