"""The process that draws: a job in, a PDF out, within bounds also for a large rig."""

import io
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.papers import job, many, read, unit

__all__: list[str] = []

MOST = 150e6  # octets; numpy alone takes 30, and nothing here may grow with the rig for ever
ROOT = Path(__file__).resolve().parents[3]
MEASURED = """
import resource, sys
from server.paperwork.printed.__main__ import main
main()
octets = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
print(octets, file=sys.stderr)
"""


def test_a_job_goes_in_and_a_pdf_comes_out() -> None:
    command = [sys.executable, "-m", "server.paperwork.printed"]
    done = subprocess.run(
        command, input=job("hookup", unit(21)).to_json(), capture_output=True, cwd=ROOT, check=True
    )
    assert not done.stderr
    assert "Special A" in read(done.stdout).text


@pytest.mark.skipif(sys.platform == "win32", reason="tells no memory this way")
@pytest.mark.parametrize(("name", "pages"), [("focus", 100), ("addresses", 106), ("labels", 84)])
def test_two_thousand_fixtures_stay_small(name: str, pages: int) -> None:
    wanted = job(name, *many(2000), stock="a4-24")
    done = subprocess.run(
        [sys.executable, "-c", MEASURED], input=wanted.to_json(), capture_output=True, cwd=ROOT, check=True
    )
    assert len(PdfReader(io.BytesIO(done.stdout)).pages) >= pages
    assert len(done.stdout) < 10e6
    assert int(done.stderr) < MOST
