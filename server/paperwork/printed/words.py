"""Every word on papers and labels, in each language. A show's own texts are printed as they were typed."""

from dataclasses import dataclass

__all__ = ["LANGUAGES", "Words"]


@dataclass(frozen=True, slots=True)
class Words:
    """The words of one language. {gaps} are filled where they are used."""

    titles: dict[str, str]
    printed: str
    page: str
    continued: str
    lacking: str
    nothing: str
    no_position: str
    not_patched: str
    isolated: str
    hazard: str
    focusing: str
    to_fill: str
    universe: str
    address: str
    summary: str
    free: str
    full: str
    legend: str
    off_limits: str
    reserved: str
    out_of_use: str
    place: str
    on: str
    heads: dict[str, str]
    steps: dict[str, str]


_EN = Words(
    steps={
        "opened": "opened",
        "said": "said",
        "fixed": "fixed",
        "verified": "seen to work",
        "reopened": "open again",
    },
    titles={
        "hookup": "Channel hookup",
        "schedule": "Instrument schedule",
        "addresses": "Address plan",
        "focus": "Focus chart",
        "focus-blank": "Focus chart, blank",
        "faults": "Fault report",
        "handover": "Hand-over",
        "labels": "Labels",
    },
    printed="Printed {printed}. May be out of date: the page on the laptop is what holds.",
    page="Page {page} of {pages}",
    continued="{title} (continued)",
    lacking="\u25ca stands for a letter that this print has no shape for.",
    nothing="Nothing to print here.",
    no_position="Without a position",
    not_patched="Not patched",
    isolated="Level 0 is not isolated: a circuit at 0 is still fed. Unplug it, or let somebody who may do "
    "that switch off the supply, before a lamp is changed or a unit is opened. Rules on site, local codes "
    "and licensed people come first.",
    hazard="DMX512 has no error checking and is not for hazardous applications. Slots off limits are never "
    "driven.",
    focusing="Filled in with what each unit was asked to do when this was printed; angles and shares are the "
    "profile's own figures.",
    to_fill="Hot spot: metres from the centre line and from the zero line of the stage.",
    universe="Universe {universe}",
    address="Address {address}",
    summary="{taken} of 512 slots taken",
    free="Free: {ranges}",
    full="No slot is free.",
    legend="Grey: taken, with the channel. Crossed out: off limits. One line: kept free for something. "
    "White: free. The number at the left is the first slot of its row.",
    off_limits="Off limits: {first} to {last}, {why}",
    reserved="Kept free: {first} to {last}, {why}",
    out_of_use="Out of use: {reason}",
    place="{position}, unit {unit}",
    on="on",
    heads={
        "channel": "Channel",
        "position": "Position",
        "unit": "Unit",
        "purpose": "Purpose",
        "type": "Type",
        "mode": "Mode",
        "slots": "Slots",
        "universe": "Univ.",
        "address": "Address",
        "start": "Start",
        "end": "End",
        "colour": "Colour",
        "notes": "Notes",
        "circuit": "Circuit",
        "dimmer": "Dimmer",
        "branch": "Branch",
        "chain": "In chain",
        "checked": "Checked",
        "spot": "Hot spot",
        "ds_us": "DS/US m",
        "sl_sr": "SL/SR m",
        "aim": "Pan, tilt",
        "edge": "Edge",
        "zoom": "Spot, flood",
        "top": "Cut top",
        "bottom": "bottom",
        "left": "left",
        "right": "right",
        "iris": "Iris",
        "template": "Template",
        "turn": "turned",
        "done": "Done by, at",
        "wrong": "What is wrong",
        "by": "Said by",
        "finding": "Finding, what was done",
        "part": "Part used",
        "closed": "Closed, signed",
    },
)
_DE = Words(
    steps={
        "opened": "eröffnet",
        "said": "gesagt",
        "fixed": "behoben",
        "verified": "geht, gesehen",
        "reopened": "wieder offen",
    },
    titles={
        "hookup": "Kanalliste",
        "schedule": "Geräteliste nach Position",
        "addresses": "Adressplan",
        "focus": "Einleuchtblatt",
        "focus-blank": "Einleuchtblatt, leer",
        "faults": "Fehlerbericht",
        "handover": "Übergabe",
        "labels": "Etiketten",
    },
    printed="Gedruckt {printed}. Vielleicht überholt: Es gilt die Seite auf dem Laptop.",
    page="Seite {page} von {pages}",
    continued="{title} (weiter)",
    lacking="\u25ca steht für ein Zeichen, das dieser Druck nicht hat.",
    nothing="Hier gibt es nichts zu drucken.",
    no_position="Ohne Position",
    not_patched="Nicht gepatcht",
    isolated="Auf 0 heißt nicht stromlos: Auf dem Stromkreis liegt weiter Spannung. Vor dem Lampenwechsel "
    "und vor dem Öffnen den Stecker ziehen, oder jemand, der das darf, schaltet den Strom ab. Hausregeln, "
    "örtliche Vorschriften und Fachleute gehen vor.",
    hazard="DMX512 prüft keine Fehler und ist nichts für gefährliche Anwendungen. Gesperrte Slots werden nie "
    "gesteuert.",
    focusing="Eingetragen ist, was von jedem Gerät beim Drucken verlangt war; Winkel und Anteile sind die "
    "Angaben des Profils.",
    to_fill="Heller Punkt: Meter von der Mittellinie und von der Nulllinie der Bühne.",
    universe="Universum {universe}",
    address="Adresse {address}",
    summary="{taken} von 512 Slots belegt",
    free="Frei: {ranges}",
    full="Kein Slot ist frei.",
    legend="Grau: belegt, mit dem Kanal. Durchgekreuzt: gesperrt. Ein Strich: für etwas freigehalten. "
    "Weiß: frei. Die Zahl links ist der erste Slot ihrer Zeile.",
    off_limits="Gesperrt: {first} bis {last}, {why}",
    reserved="Freigehalten: {first} bis {last}, {why}",
    out_of_use="Außer Betrieb: {reason}",
    place="{position}, Nr. {unit}",
    on="an",
    heads={
        "channel": "Kanal",
        "position": "Position",
        "unit": "Nr.",
        "purpose": "Zweck",
        "type": "Typ",
        "mode": "Modus",
        "slots": "Slots",
        "universe": "Univ.",
        "address": "Adresse",
        "start": "Start",
        "end": "Ende",
        "colour": "Farbe",
        "notes": "Notizen",
        "circuit": "Stromkreis",
        "dimmer": "Dimmer",
        "branch": "Strang",
        "chain": "In Kette",
        "checked": "Geprüft",
        "spot": "Heller Punkt",
        "ds_us": "vor/hinter m",
        "sl_sr": "li/re m",
        "aim": "Pan, Tilt",
        "edge": "Schärfe",
        "zoom": "Eng, weit",
        "top": "Oben",
        "bottom": "unten",
        "left": "links",
        "right": "rechts",
        "iris": "Iris",
        "template": "Gobo",
        "turn": "gedreht",
        "done": "Von, um",
        "wrong": "Was nicht stimmt",
        "by": "Gesagt von",
        "finding": "Befund, was getan wurde",
        "part": "Ersatzteil",
        "closed": "Erledigt, Name",
    },
)
LANGUAGES = {"en": _EN, "de": _DE}
