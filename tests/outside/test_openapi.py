"""The description at /openapi.json as Schemathesis takes it: it calls all that is described, as a lead.

https://schemathesis.readthedocs.io: it makes requests from the description, good and bad ones, and holds what
comes back against it: no 5xx, no status, media type or shape that is not described.
"""

import os
import subprocess
import sys
from pathlib import Path

from tests.servers import Server, serving

__all__: list[str] = []

# Requests of each kind to each call; FOCUSCALL_OPENAPI_EXAMPLES=300 searches for some minutes.
EXAMPLES = os.environ.get("FOCUSCALL_OPENAPI_EXAMPLES", "10")
CHECKS = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_headers_conformance",
    "response_schema_conformance",
)


def _tried(server: Server, token: str, folder: Path, *which: str, examples: str = EXAMPLES) -> None:
    program = Path(sys.executable).with_name("schemathesis")
    options = [
        f"--header=Authorization:{token}",
        f"--checks={','.join(CHECKS)}",
        f"--max-examples={examples}",
    ]
    quiet = ["--generation-deterministic", "--no-color", "--no-shrink"]
    ran = subprocess.run(
        [str(program), "run", *options, *quiet, *which, f"{server.url}/openapi.json"],
        cwd=folder,
        env={**os.environ, "NO_PROXY": "*", "PYTHONWARNINGS": "ignore"},
        capture_output=True,
        text=True,
        check=False,
    )
    print(ran.stdout)
    assert ran.returncode == 0, ran.stdout[-30_000:] + ran.stderr[-3000:]


def test_every_answer_is_one_that_is_described(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:
        # Who leaves is nobody afterwards, so that one call is tried by somebody else, at the end.
        one, other = (server.client("lead").headers["Authorization"] for _ in range(2))
        _tried(server, one, tmp_path, "--exclude-path=/api/leave", "--exclude-path=/api/library")
        # Each file starts a process to be read in, as it does at /api/profiles.
        _tried(server, one, tmp_path, "--include-path=/api/library", examples="3")
        _tried(server, other, tmp_path, "--include-path=/api/leave")
        assert "Traceback" not in server.log()
        assert server.output_lives()
