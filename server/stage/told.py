"""What somebody did, in words, for the record."""

from functools import singledispatch

from server.rig.said import Said
from server.stage import commands, commands_teach
from server.stage.commands import Command
from server.stage.near import called, names
from server.stage.reasons import reason_words
from server.stage.spoken_levels import levels
from server.stage.state import Before, State
from server.stage.subject import called_unit
from server.stage.turn import mark_of

__all__ = ["told", "told_before"]

CALLED = {
    "stop": Said("Stop"),
    "hold": Said("Hold"),
    "work_light": Said("Need work light"),
    "next": Said("Next"),
    "ready": Said("Ready"),
}
MARKED = {"todo": Said("to do"), "done": Said("done"), "back": Said("to come back to")}


@singledispatch
def told_before(command: Command, state: State) -> Said | None:
    """The same for what has to be told from the state before the command; None: tell it afterwards."""
    return None


@told_before.register
def _(command: commands.RenamePerson, state: State) -> Said:
    return Said(
        'Renamed {was}: "{name}".', was=called(state, command.who), name=" ".join(command.name.split())
    )


@told_before.register
def _(command: commands.RemovePerson, state: State) -> Said:
    return Said("Removed {name}.", name=called(state, command.who))


@singledispatch
def told(command: Command, state: State, before: Before) -> Said | None:
    """What a command came to; None: nothing for the record.

    state: as the command left it. before: what stood in the places it changed.
    """
    return None


@told.register
def _(command: commands.Join, state: State, before: Before) -> Said:
    return Said("Joined.")


@told.register
def _(command: commands.Leave, state: State, before: Before) -> Said:
    return Said("Left.")


@told.register
def _(command: commands.SetPin, state: State, before: Before) -> Said:
    return Said("Set another PIN for {role}.", role=command.role)


@told.register
def _(command: commands.TagOut, state: State, before: Before) -> Said:
    out = state.out_of_use.get(command.fixture)
    return Said("Out of use: {note}.", note=out.reason) if out else Said("In use again.")


@told.register
def _(command: commands.Take, state: State, before: Before) -> Said:
    had = before.holders.get(command.fixture)
    if had is None:
        return Said("Took it in hand.")
    return Said("Took it out of the hand of {name}.", name=called(state, had))


@told.register
def _(command: commands.LetGo, state: State, before: Before) -> Said:
    count, had = len(before.holders), next(iter(before.holders.values()), None)
    if had is not None and had != command.person:
        name = called(state, had)
        if count > 1:
            return Said("Let go of {count} fixtures for {name}.", count=count, name=name)
        return Said("Let go of it for {name}.", name=name)
    return Said("Let go of {count} fixtures.", count=count) if count > 1 else Said("Let go of it.")


@told.register(commands.SetValues)
@told.register(commands.SetMany)
def _(command: Command, state: State, before: Before) -> Said:
    values = next((levels(state, fixture, keys) for fixture, keys in before.hand.items()), None)
    if values is None:
        return Said("Took it in hand.")
    if len(before.hand) == 1:
        return Said("Set {values}.", values=values)
    return Said("Set {values}, {count} fixtures together.", values=values, count=len(before.hand))


@told.register
def _(command: commands.LightUp, state: State, before: Before) -> Said:
    return Said("Lit it up as it hangs.") if command.as_it_hangs else Said("Lit it up.")


@told.register
def _(command: commands.Seek, state: State, before: Before) -> Said:
    return Said("Began to look which light it is.")


@told.register
def _(command: commands.EndSeek, state: State, before: Before) -> Said:
    return Said("Found the light.") if command.found else Said("Stopped looking for a light.")


@told.register
def _(command: commands_teach.BeginTeach, state: State, before: Before) -> Said:
    last = command.first + command.slots - 1
    return Said(
        "Began to teach universe {universe}, slots {first} to {last}.",
        universe=command.universe,
        first=command.first,
        last=last,
    )


@told.register
def _(command: commands_teach.TakeTeach, state: State, before: Before) -> Said:
    return Said("Went on teaching a fixture.")


@told.register
def _(command: commands_teach.EndTeach, state: State, before: Before) -> Said:
    return Said("Stopped teaching a fixture.")


@told.register
def _(command: commands.SetSlot, state: State, before: Before) -> Said:
    for fixture, keys in before.hand.items():
        return Said("Set {values}.", values=levels(state, fixture, keys))
    universe, slot = command.universe, command.slot
    level = state.slots.get(universe, {}).get(slot)
    if level is None:
        return Said("Gave universe {universe} slot {slot} back.", universe=universe, slot=slot)
    return Said(
        "Set universe {universe} slot {slot} to {level}.", universe=universe, slot=slot, level=level.raw
    )


@told.register
def _(command: commands.SetMaster, state: State, before: Before) -> Said:
    return Said("Set the master to {percent} %.", percent=round(100 * state.master))


@told.register
def _(command: commands.SetBlackout, state: State, before: Before) -> Said:
    return Said("Blackout.") if command.on else Said("Blackout off.")


@told.register
def _(command: commands.SaveLook, state: State, before: Before) -> Said:
    name = state.looks[command.look].name
    if command.shown is not None:
        return Said('Kept what the console showed as the look "{name}".', name=name)
    if command.baseline:
        return Said('Kept what was on stage as the baseline "{name}".', name=name)
    if before.looks.get(command.look) is not None:
        return Said('Kept what was on stage in the look "{name}".', name=name)
    return Said('Saved the look "{name}".', name=name)


@told.register
def _(command: commands.UpdateLook, state: State, before: Before) -> Said:
    return Said('Kept what was in hand in the look "{name}".', name=state.looks[command.look].name)


@told.register
def _(command: commands.RenameLook, state: State, before: Before) -> Said:
    was, name = before.looks.get(command.look), state.looks[command.look].name
    return Said('Called the look "{was}" "{name}".', was=was.name if was else "", name=name)


@told.register
def _(command: commands.DeleteLook, state: State, before: Before) -> Said:
    was = before.looks.get(command.look)
    return Said('Deleted the look "{name}".', name=was.name if was else "")


@told.register
def _(command: commands.RecallLook, state: State, before: Before) -> Said:
    return Said('Brought up the look "{name}".', name=state.looks[command.look].name)


@told.register
def _(command: commands.SetBaseline, state: State, before: Before) -> Said:
    if command.look is None:
        return Said("Made home the baseline.")
    return Said('Made the look "{name}" the baseline.', name=state.looks[command.look].name)


@told.register
def _(command: commands.ChangePatch, state: State, before: Before) -> Said:
    added = sum(unit is None for unit in before.fixtures.values())
    removed = sum(fixture not in state.fixtures for fixture in before.fixtures)
    changed = len(before.fixtures) - added - removed
    match added, changed, removed:
        case 1, 0, 0:
            return Said("Put it into the rig.")
        case 0, 1, 0:
            return Said("Changed its patch.")
        case 0, 0, 1:
            return Said("Took it out of the rig.")
    return Said(
        "Changed the patch: {added} added, {changed} changed, {removed} removed.",
        added=added,
        changed=changed,
        removed=removed,
    )


@told.register
def _(command: commands.ReplaceShow, state: State, before: Before) -> Said:
    return Said('Brought in another show: "{name}".', name=state.show.name)


@told.register
def _(command: commands.AddProfile, state: State, before: Before) -> Said:
    return Said('Added the profile "{name}".', name=command.profile.name)


@told.register
def _(command: commands.StarProfile, state: State, before: Before) -> Said:
    if command.on:
        return Said('Starred the profile "{key}".', key=command.key)
    return Said('Took the star off the profile "{key}".', key=command.key)


@told.register
def _(command: commands.SetOrder, state: State, before: Before) -> Said:
    return Said("Changed the focus order.")


@told.register(commands.FocusNext)
@told.register(commands.FocusAt)
def _(command: commands.FocusNext | commands.FocusAt, state: State, before: Before) -> Said:
    who = command.of or command.person
    at, marked = state.now.get(who), [f for f, focus in before.focus.items() if focus != state.focus.get(f)]
    unit = called_unit(state.fixtures[at]) if at is not None else None
    if unit is None:
        here = Said("at nothing any more")
    elif who == command.person:
        here = Said("at {unit}", unit=unit)
    else:
        here = Said("{name} at {unit}", name=called(state, who), unit=unit)
    if not marked:
        return Said("Focus call: {here}.", here=here)
    last, mark = called_unit(state.fixtures[marked[0]]), MARKED[mark_of(state, marked[0])]
    return Said("Focus call: {last} {mark}, now {here}.", last=last, mark=mark, here=here)


@told.register
def _(command: commands.MarkFocus, state: State, before: Before) -> Said:
    return Said("Marked it: {mark}.", mark=MARKED[command.mark])


@told.register
def _(command: commands.GiveFocus, state: State, before: Before) -> Said:
    count = len(before.focus)
    if command.to is None:
        return Said("Left {count} units of the focus list to anybody.", count=count)
    return Said(
        "Gave {count} units of the focus list to {name}.", count=count, name=called(state, command.to)
    )


@told.register
def _(command: commands.WriteNote, state: State, before: Before) -> Said:
    return Said("Wrote its focus note.")


@told.register
def _(command: commands.ChangeCall, state: State, before: Before) -> Said:
    return Said("Changed the settings of the focus call.")


@told.register
def _(command: commands.SendShout, state: State, before: Before) -> Said:
    shout = state.shouts[max(state.shouts)]
    return Said("Called {call} to {names}.", call=CALLED[shout.what], names=names(state, shout.to))


@told.register
def _(command: commands.SeeShout, state: State, before: Before) -> Said:
    shout = state.shouts[command.number]
    return Said("Saw the call {call} of {name}.", call=CALLED[shout.what], name=shout.name)


@told.register
def _(command: commands.ChangeSettings, state: State, before: Before) -> Said:
    changes = ", ".join(f"{name} {getattr(state.settings, name):g}" for name in command.changes)
    return Said("Changed the settings: {changes}.", changes=changes)


@told.register
def _(command: commands.MarkFault, state: State, before: Before) -> Said:
    fault = state.faults.get(command.fixture)
    return Said('Noted: "{note}".', note=fault.words) if fault else Said("Noted that nothing is wrong.")


@told.register
def _(command: commands.KeepPhoto, state: State, before: Before) -> Said:
    return Said("Took a photo.")


@told.register
def _(command: commands.BeginRound, state: State, before: Before) -> Said:
    return Said("Began rig check {number}.", number=max(state.rounds))


@told.register
def _(command: commands.Judge, state: State, before: Before) -> Said:
    if command.works:
        return Said("Checked: it works.")
    verdict = state.judged[command.fixture]
    return Said("Checked: {words}.", words=reason_words(verdict.reason, verdict.note))


@told.register
def _(command: commands.SettleFault, state: State, before: Before) -> Said:
    case = state.cases[command.case]
    match command.what:
        case "fixed":
            return Said("Fixed: {note}.", note=case.words)
        case "verified":
            return Said("Seen to work: {note}.", note=case.words)
        case "reopened":
            return Said("Open again: {note}.", note=case.words)
    return Said("Said of a fault: {note}.", note=case.steps[-1].words)


@told.register
def _(command: commands.DropPhoto, state: State, before: Before) -> Said:
    return Said("Deleted a photo.")


@told.register
def _(command: commands.Act, state: State, before: Before) -> Said:
    return Said("Did: {action}.", action=command.function)


@told.register
def _(command: commands.RunGuarded, state: State, before: Before) -> Said:
    return Said("Ran it.")


@told.register
def _(command: commands.Arm, state: State, before: Before) -> Said:
    armed = state.armed.get(command.fixture)
    return Said("Armed it: {note}.", note=armed.reason) if armed else Said("Ended its being armed.")


@told.register
def _(command: commands.LiftFlashes, state: State, before: Before) -> Said:
    return Said("Let it flash faster.") if state.lifted else Said("Ended faster flashing.")


@told.register
def _(command: commands.HandsOn, state: State, before: Before) -> Said:
    return Said("Hands on.") if command.on else Said("Hands off.")


@told.register
def _(command: commands.GoAloft, state: State, before: Before) -> Said:
    who = command.of or command.person
    if who in state.aloft:
        return Said("Aloft: {position}.", position=state.aloft[who].position)
    if who != command.person:
        return Said("Marked {name} as down.", name=called(state, who))
    return Said("Down again.")


@told.register
def _(command: commands.CallDark, state: State, before: Before) -> Said:
    return Said("Called dark.")


@told.register
def _(command: commands.AnswerDark, state: State, before: Before) -> Said:
    return Said("Said yes to the dark.") if command.yes else Said("Said not yet to the dark.")
