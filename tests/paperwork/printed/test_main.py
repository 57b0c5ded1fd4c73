"""The process that draws: a job in, a PDF out, within bounds also for a large rig."""

import io
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.papers import job, many, read, unit

__all__: list[str] = []

MOST = 100_000  # kilobytes
ROOT = Path(__file__).resolve().parents[3]
MEASURED = """
import sys
from server.paperwork.printed.__main__ import main
main()
told = open("/proc/self/status").read()
print(told.partition("VmHWM:")[2].split()[0], file=sys.stderr)
"""


def test_a_job_goes_in_and_a_pdf_comes_out() -> None:
    command = [sys.executable, "-m", "server.paperwork.printed"]
    done = subprocess.run(
        command, input=job("hookup", unit(21)).to_json(), capture_output=True, cwd=ROOT, check=True
    )
    assert not done.stderr
    assert "Special A" in read(done.stdout).text


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells this process's own most")
@pytest.mark.parametrize(("name", "pages"), [("focus", 100), ("addresses", 106), ("labels", 84)])
def test_two_thousand_fixtures_stay_small(name: str, pages: int) -> None:
    wanted = job(name, *many(2000), stock="a4-24")
    done = subprocess.run(
        [sys.executable, "-c", MEASURED], input=wanted.to_json(), capture_output=True, cwd=ROOT, check=True
    )
    assert len(PdfReader(io.BytesIO(done.stdout)).pages) >= pages
    assert len(done.stdout) < 10e6
    assert int(done.stderr) < MOST, done.stderr
