"""The words of the hand-over, in each language."""

from dataclasses import dataclass

__all__ = ["HANDOVER", "HandoverWords"]


@dataclass(frozen=True, slots=True)
class HandoverWords:
    """The words of one language. {gaps} are filled where they are used."""

    show: str
    venue: str
    when: str
    by: str
    there: str
    nobody: str
    baseline: str
    baseline_is: str
    no_baseline: str
    limits: str
    no_limits: str
    focus: str
    no_focus: str
    focus_counts: str
    photos: str
    no_photos: str
    photos_left: str
    photo_bad: str
    check: str
    no_check: str
    check_counts: str
    nothing_found: str
    all_proved: str
    faults: str
    no_faults: str
    out: str
    no_out: str
    changed: str
    since_pack: str
    since_opened: str
    no_changes: str
    unseen: str
    write: str
    consumables: str
    access: str
    flashing: str
    due: str
    signatures: str
    gives: str
    takes: str
    unnamed: str
    roles: dict[str, str]
    marks: dict[str, str]
    status: dict[str, str]
    heads: dict[str, str]


_EN = HandoverWords(
    show="Show",
    venue="Venue",
    when="When",
    by="Made by",
    there="Who was there in the last 24 hours",
    nobody="Nobody is in the record of the last 24 hours.",
    baseline="Baseline look",
    baseline_is="{name}: {count} fixtures, checksum of its values {checksum}",
    no_baseline="None is set: everything falls back to home.",
    limits="Off limits, never driven",
    no_limits="No range is set off limits on this laptop.",
    focus="Focus",
    no_focus="Missing: no unit is on the focus list, and none was marked.",
    focus_counts="{done} done, {back} to come back to, {todo} to do.",
    photos="Photos, the newest of each unit",
    no_photos="Missing: no photo was taken.",
    photos_left="{count} more photos are left out here for their size; they lie in the show file.",
    photo_bad="This photo cannot be printed.",
    check="Rig check, last round",
    no_check="Missing: no rig check was made.",
    check_counts="Round {number}, begun {when} by {by}, lit at {level} %: {works} work, {faults} with a "
    "fault, {unproved} not proved.",
    nothing_found="No unit was found faulty in it.",
    all_proved="Every unit it goes through has a verdict.",
    faults="Faults",
    no_faults="No fault is written down.",
    out="Out of use",
    no_out="No unit is out of use.",
    changed="Addresses and modes that were changed",
    since_pack="Since the hand-over of {when}.",
    since_opened="Since the show was opened, as far as this laptop keeps changes.",
    no_changes="None.",
    unseen="{count} changes were too large to be listed unit by unit: see record.csv.",
    write="Not known to the laptop: write it in.",
    consumables="Consumables used",
    access="Where access equipment was left",
    flashing="Strobe and haze limits that were set",
    due="Next due dates",
    signatures="Signatures",
    gives="Handed over by",
    takes="Taken over by",
    unnamed="Not named",
    roles={"lead": "lead", "crew": "crew", "house": "house staff"},
    marks={"done": "done", "back": "come back to it", "todo": "to do"},
    status={"open": "open", "fixed": "fixed, to be seen", "verified": "seen to work"},
    heads={
        "item": "What",
        "is": "Is",
        "channel": "Channel",
        "unit": "Unit",
        "purpose": "Purpose",
        "note": "Focus notes",
        "mark": "How far",
        "by": "By",
        "found": "What was found",
        "wrong": "What is wrong",
        "status": "Status",
        "story": "What became of it",
        "used": "Consumables used",
        "reason": "Reason",
        "was": "Was",
        "now": "Is now",
        "many": "How many",
        "todo": "To do",
        "unproved": "Not proved",
        "place": "Where",
        "what": "What",
        "until": "Date",
        "name": "Name",
        "signed": "Date, signature",
    },
)
_DE = HandoverWords(
    show="Show",
    venue="Haus",
    when="Wann",
    by="Gemacht von",
    there="Wer in den letzten 24 Stunden da war",
    nobody="Für die letzten 24 Stunden ist niemand aufgezeichnet.",
    baseline="Grundlook",
    baseline_is="{name}: {count} Geräte, Prüfsumme der Werte {checksum}",
    no_baseline="Keiner ist gesetzt: Alles fällt auf die Grundstellung zurück.",
    limits="Gesperrt, nie gesteuert",
    no_limits="Auf diesem Laptop ist kein Bereich gesperrt.",
    focus="Einleuchten",
    no_focus="Fehlt: Kein Gerät steht auf der Einleuchtliste, und keines wurde abgehakt.",
    focus_counts="{done} fertig, {back} nochmal anzugehen, {todo} offen.",
    photos="Fotos, von jedem Gerät das neueste",
    no_photos="Fehlt: Es wurde kein Foto gemacht.",
    photos_left="{count} weitere Fotos fehlen hier wegen ihrer Größe; sie liegen in der Showdatei.",
    photo_bad="Dieses Foto lässt sich nicht drucken.",
    check="Prüfung der Anlage, letzte Runde",
    no_check="Fehlt: Die Anlage wurde nicht geprüft.",
    check_counts="Runde {number}, begonnen {when} von {by}, Licht auf {level} %: {works} gehen, {faults} mit "
    "Fehler, {unproved} nicht geprüft.",
    nothing_found="Kein Gerät fiel dabei auf.",
    all_proved="Für jedes Gerät der Runde gibt es ein Urteil.",
    faults="Fehler",
    no_faults="Es ist kein Fehler notiert.",
    out="Außer Betrieb",
    no_out="Kein Gerät ist außer Betrieb.",
    changed="Geänderte Adressen und Modi",
    since_pack="Seit der Übergabe vom {when}.",
    since_opened="Seit die Show geöffnet wurde, soweit dieser Laptop Änderungen behält.",
    no_changes="Keine.",
    unseen="{count} Änderungen waren zu groß für eine Liste je Gerät: siehe record.csv.",
    write="Das weiß der Laptop nicht: bitte eintragen.",
    consumables="Verbrauchsmaterial",
    access="Wo Leitern und Steiger stehen geblieben sind",
    flashing="Gesetzte Grenzen für Strobe und Dunst",
    due="Nächste Termine",
    signatures="Unterschriften",
    gives="Übergeben von",
    takes="Übernommen von",
    unnamed="Ohne Namen",
    roles={"lead": "Leitung", "crew": "Crew", "house": "Haus"},
    marks={"done": "fertig", "back": "nochmal anzugehen", "todo": "offen"},
    status={"open": "offen", "fixed": "behoben, noch zu sehen", "verified": "geht, gesehen"},
    heads={
        "item": "Was",
        "is": "Ist",
        "channel": "Kanal",
        "unit": "Nr.",
        "purpose": "Zweck",
        "note": "Notizen zum Einleuchten",
        "mark": "Wie weit",
        "by": "Von",
        "found": "Was gefunden wurde",
        "wrong": "Was nicht stimmt",
        "status": "Stand",
        "story": "Was daraus wurde",
        "used": "Verbraucht",
        "reason": "Grund",
        "was": "War",
        "now": "Ist jetzt",
        "many": "Wie viele",
        "todo": "Offen",
        "unproved": "Nicht geprüft",
        "place": "Wo",
        "what": "Was",
        "until": "Datum",
        "name": "Name",
        "signed": "Datum, Unterschrift",
    },
)
HANDOVER = {"en": _EN, "de": _DE}
