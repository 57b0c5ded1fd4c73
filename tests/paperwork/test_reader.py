"""Hostile files cost a process of their own a bounded time and memory, and give one sentence."""

import io
import json
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest

from server.paperwork.shelf import Shelf
from server.places import package_folder
from tests.paperwork.gdtf_files import channel, fixture, gdtf, mode, tag
from tests.paperwork.mvr_files import layer, mvr, unit

__all__: list[str] = []

MEMORY_MOST_MB = 400  # at the worst; the reader stops itself at 1 GiB
CPU_MOST_S = 60  # of a slow machine under load; what is refused at once takes a fraction of a second
MEASURED = """
import resource, runpy, sys
sys.argv = ["reader"]
try:
    runpy.run_module("server.paperwork.reader", run_name="__main__")
except SystemExit:
    pass
used = resource.getrusage(resource.RUSAGE_SELF)
try:  # Linux: ru_maxrss begins with what the parent had
    status = open("/proc/self/status").read()
    memory = int(status.partition("VmHWM:")[2].split()[0])
except OSError:
    memory = used.ru_maxrss // (1024 if sys.platform == "darwin" else 1)
print(f"{memory} {used.ru_utime + used.ru_stime}", file=sys.stderr)
"""
DESCRIPTION = "description.xml"
GOOD = gdtf(fixture(mode(channel("Dimmer", 1))))


def asked(*jobs: dict[str, Any]) -> tuple[list[dict[str, Any]], float, float]:
    """The answers, and what the process cost: MB of memory at most, and seconds of processor time."""
    done = subprocess.run(
        [sys.executable, "-c", MEASURED],
        input="".join(json.dumps(job) + "\n" for job in jobs),
        capture_output=True,
        text=True,
        cwd=package_folder().parent,
        check=True,
    )
    memory, cpu = done.stderr.split()[-2:]
    return [json.loads(line) for line in done.stdout.splitlines()], int(memory) / 1024, float(cpu)


def packed(*members: tuple[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members:
            archive.writestr(name, content)
    return out.getvalue()


def described(text: str) -> bytes:
    return packed((DESCRIPTION, text.encode()))


def nested(depth: int) -> bytes:
    data = GOOD
    for _ in range(depth):
        data = packed(("inner.gdtf", data))
    return data


ENTITIES = "<!DOCTYPE a [<!ENTITY a 'aaaaaaaaaa'>" + "".join(
    f"<!ENTITY {chr(98 + n)} '{f'&{chr(97 + n)};' * 10}'>" for n in range(9)
)
MANY = tag(
    "Geometry", *(tag("GeometryReference", Name=str(n), Geometry="P") for n in range(2000)), Name="Main"
)
CIRCLE = tag("Geometry", tag("GeometryReference", Name="again", Geometry="Main"), Name="Main")
HOSTILE = {
    "a bomb of spaces": (packed((DESCRIPTION, b"<GDTF>" + b" " * 2**28 + b"</GDTF>")), "far more"),
    "a bomb that lies about its size": (packed((DESCRIPTION, b" " * 2**27)), "larger than 8 MiB"),
    "entities that grow": (described(f"{ENTITIES}]><GDTF>&j;</GDTF>"), "document type"),
    "a file of this machine": (
        described('<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/hostname">]><GDTF>&x;</GDTF>'),
        "document type",
    ),
    "a way out of the folder": (packed(("../description.xml", b"<GDTF/>")), "exactly one description.xml"),
    "no description": (packed(("readme.txt", b"hello")), "exactly one description.xml"),
    "another kind of file": (b"\x89PNG\r\n\x1a\n" + bytes(1000), "Invalid JSON"),
    "an empty file": (b"", "Invalid JSON"),
    "a text": (b"Dear all, the get-in is at nine.", "Invalid JSON"),
    "half an archive": (GOOD[: len(GOOD) // 2], "cannot be unpacked"),
    "thousands of entries": (packed(*((f"{n}.png", b"") for n in range(5000))), "far more"),
    "a million tags": (described("<GDTF>" + "<a/>" * 1_000_000 + "</GDTF>"), "tags"),
    "as many tags as are let in": (
        described("<GDTF><FixtureType>" + "<a/>" * 199_000 + "<b/>" * 190_000 + "</FixtureType></GDTF>"),
        "no DMXMode",
    ),
    "deep nesting": (described("<a>" * 100_000 + "</a>" * 100_000), "no FixtureType"),
    "an absurd slot": (gdtf(fixture(mode(channel("Dimmer", 500_000_000)))), "one to four slots"),
    "an absurd break": (gdtf(fixture(mode(channel("Dimmer", 1, DMXBreak=300_000_000)))), "DMXBreak"),
    "more cells than there are": (
        gdtf(
            fixture(
                *(
                    mode(*(channel(f"Control{c}", c, geometry="P") for c in range(1, 9)), name=str(n))
                    for n in range(20)
                ),
                geometries=MANY + tag("Geometry", Name="P"),
            )
        ),
        "more than 2048 controls",
    ),
    "references in a circle": (
        gdtf(fixture(mode(channel("Dimmer", 1)), geometries=CIRCLE)),
        "nested without end",
    ),
    "a hazard": (gdtf(fixture(mode(channel("Dimmer", 1)), Name="Flame jet", LongName="")), "never drives"),
    "numbers without sense in JSON": (b'{"schema": 1e999, "key": 5}', "is missing"),
    "JSON without end": (b"[" * 200_000, "Invalid JSON"),
}  # fmt: skip


@pytest.mark.skipif(sys.platform == "win32", reason="measured with the resource module")
def test_every_hostile_file_is_refused_in_words_within_bounds(tmp_path: Path) -> None:
    jobs = []
    for number, (data, _) in enumerate(HOSTILE.values()):
        (tmp_path / str(number)).write_bytes(data)
        jobs.append({"do": "profile", "path": str(tmp_path / str(number))})
    given, memory, cpu = asked(*jobs)
    told = [answer for answer in given if "done" not in answer]
    assert len(told) == len(HOSTILE)
    for (name, (_, why)), answer in zip(HOSTILE.items(), told, strict=True):
        assert answer["profile"] is None, name
        said = "; ".join(f"{p['where']}: {p['why']}" for p in answer["problems"])
        assert why in said, (name, said[:300])
    assert memory < MEMORY_MOST_MB
    assert cpu < CPU_MOST_S


def test_an_archive_in_an_archive_in_an_archive_is_not_opened(tmp_path: Path) -> None:
    (tmp_path / "nested").write_bytes(nested(2))
    job = {"do": "take in", "shelf": str(tmp_path / "l.sqlite"), "folder": str(tmp_path / "p")}
    (_, answer, _), *_ = asked({**job, "paths": [str(tmp_path / "nested")], "names": ["nested.zip"]})
    assert answer["key"] is None
    assert "exactly one description.xml" in answer["problems"][0]["why"]
    assert list((tmp_path / "p").iterdir()) == []


def test_what_was_answered_before_is_skipped_and_another_of_a_kept_key_gets_one_of_its_own(
    tmp_path: Path,
) -> None:
    (tmp_path / "one").write_bytes(GOOD)
    (tmp_path / "many").write_bytes(packed(("a.gdtf", GOOD), ("b.json", b"{}"), ("c.json", b"[]")))
    job: dict[str, Any] = {
        "do": "take in",
        "shelf": str(tmp_path / "l.sqlite"),
        "folder": str(tmp_path / "p"),
    }
    job |= {"paths": [str(tmp_path / "one"), str(tmp_path / "many")], "names": ["one.gdtf", "many.zip"]}
    first, archive, again, *rest, _ = asked(job)[0]
    assert archive == {"archive": "many.zip", "holds": 3}
    assert first["key"] == again["key"] == "nobody-test-light"
    assert [each["name"] for each in rest] == ["b.json", "c.json"]
    assert asked(job | {"skip": 2})[0][1:-1] == rest
    other = job | {"shelf": str(tmp_path / "other.sqlite"), "kept": {first["key"]: "another"}}
    assert asked(other)[0][0]["key"].startswith(f"{first['key']}-")


def test_names_in_an_archive_lead_nowhere(tmp_path: Path) -> None:
    bundle = packed(("../../out.gdtf", GOOD), ("/etc/x.json", b"{}"), ("a/b.txt", b"x"), ("..\\w.gdtf", GOOD))
    (tmp_path / "bundle").write_bytes(bundle)
    job = {"do": "take in", "shelf": str(tmp_path / "l.sqlite"), "folder": str(tmp_path / "in" / "p")}
    given, *_ = asked({**job, "paths": [str(tmp_path / "bundle")], "names": ["bundle.zip"]})
    assert given.pop(0) == {"archive": "bundle.zip", "holds": 4}
    assert [(a["name"], a["key"] is not None) for a in given[:-1]] == [
        ("out.gdtf", True),
        ("x.json", False),
        ("b.txt", False),
        ("..\\w.gdtf", True),
    ]
    made = sorted(p.relative_to(tmp_path).as_posix() for p in tmp_path.rglob("*") if p.suffix == ".gdtf")
    assert [name.rpartition("/")[0] for name in made] == ["in/p"] * len(made)
    assert len(made) == 2


def test_a_file_that_ends_the_reader_is_written_down_beforehand(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path / "l.sqlite")
    shelf.begin("/some/file.gdtf", (1, 2))
    assert shelf.known() == {"/some/file.gdtf": (1, 2)}
    assert ["takes too long" in p.why for p in shelf.problems(9)] == [True]
    shelf.close()


SCENE = "GeneralSceneDescription.xml"
CROWD = "".join(f"<Fixture name='{n}'/>" for n in range(60_000))
DRAWINGS = {
    "a bomb": (packed((SCENE, b"<a>" + b" " * 2**27 + b"</a>")), "larger than 8 MiB"),
    "entities that grow": (packed((SCENE, f"{ENTITIES}]><a>&j;</a>".encode())), "document type"),
    "another way to write the name": (packed(("generalscenedescription.xml", b"<a/>")), "exactly one"),
    "sixty thousand fixtures": (mvr(layer("L", CROWD)), "more than 4096 fixtures"),
    "deep nesting": (
        mvr(layer("L", "<GroupObject><ChildList>" * 20_000 + "</ChildList></GroupObject>" * 20_000)),
        "too deep",
    ),
    "a table that says it is an archive": (b"PK,Unit,Position\n1,2,3\n", "cannot be unpacked"),
}


@pytest.mark.skipif(sys.platform == "win32", reason="measured with the resource module")
def test_every_hostile_drawing_is_refused_in_words_within_bounds(tmp_path: Path) -> None:
    jobs = []
    for number, (data, _) in enumerate(DRAWINGS.values()):
        (tmp_path / str(number)).write_bytes(data)
        jobs.append({"do": "drawing", "path": str(tmp_path / str(number)), "folder": str(tmp_path)})
    given, memory, cpu = asked(*jobs)
    told = [answer for answer in given if "units" in answer]
    for (name, (_, why)), answer in zip(DRAWINGS.items(), told, strict=True):
        assert any(why in p["why"] for p in answer["problems"]), (name, answer["problems"])
    assert memory < MEMORY_MOST_MB
    assert cpu < CPU_MOST_S


def test_a_hostile_fixture_file_in_a_drawing_does_not_keep_the_rest_out(tmp_path: Path) -> None:
    bomb = packed((DESCRIPTION, b" " * 2**27))
    names = {"Nobody@Bomb.gdtf": bomb, "Nobody@Good.gdtf": GOOD, "../out.gdtf": GOOD}
    units = [unit(name, GDTFSpec=name) for name in names]
    (tmp_path / "a").write_bytes(mvr(layer("L", *units), files=names))
    (tmp_path / "in").mkdir()
    given, *_ = asked({"do": "drawing", "path": str(tmp_path / "a"), "folder": str(tmp_path / "in")})
    usable = {a["spec"]: a["profile"] is not None for a in given if "spec" in a}
    assert usable == {"Nobody@Bomb.gdtf": False, "Nobody@Good.gdtf": True, "../out.gdtf": True}
    assert {p.parent.name for p in tmp_path.rglob("embedded-*")} == {"in"}
