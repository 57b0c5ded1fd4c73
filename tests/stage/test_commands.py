"""Every command has a rule, and says who asks."""

from server.stage import commands, commands_teach, stage
from server.stage.commands_outputs import SetRoute, SetSync
from server.stage.commands_shared import ClearUniverse, GiveBack, Share
from server.stage.decide import answer

__all__: list[str] = []


KINDS = {getattr(commands, name) for name in commands.__all__} - {commands.Command}
KINDS |= {*commands_teach.TEACH, ClearUniverse, GiveBack, SetRoute, SetSync, Share}


def test_every_command_has_a_rule() -> None:
    assert stage.RULES
    assert set(answer.registry) - {object, commands.Command} == KINDS


def test_every_command_names_who_asks_first() -> None:
    assert all(next(iter(kind.__dataclass_fields__)) == "person" for kind in KINDS)
