"""`python -m tests.clients`: lint the OpenAPI document, make two clients from it, and do one job with each.

The linters and the TypeScript client come from npm, what makes the Python client from PyPI, into a folder
that is thrown away; what cannot be had here is said and left out.  Ends with 1 where a linter warns, a
client does not compile or a job is not done.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.browser.bench import OWNER, manage, prepare_empty, serving
from tests.commands_at_once import ROOT

HERE = Path(__file__).parent
PYTHON_MAKER = "openapi-python-client>=0.29,<1"
PATIENCE = 300
"""Seconds: a registry that does not answer is one that cannot be had."""


def tried(folder: Path, *command: str) -> str:
    """What went wrong; empty where nothing did."""
    print("$", *(part.replace(str(folder), ".") for part in command), flush=True)
    try:
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        return f"{command[0]} took more than {PATIENCE} s"
    return f"{done.stdout}{done.stderr}\n{command[0]} ended with {done.returncode}" if done.returncode else ""


def run(folder: Path, *command: str) -> None:
    if wrong := tried(folder, *command):
        sys.exit(wrong)


def made_for_python(folder: Path) -> Path | None:
    """The Python of an environment that has the client."""
    python = folder / "env" / "bin" / "python"
    run(folder, sys.executable, "-m", "venv", "env")
    pip = (str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check")
    if missing := tried(folder, *pip, PYTHON_MAKER):  # it needs all that the client needs
        print(f"NO PYTHON CLIENT: {missing}")
        return None
    maker = str(python.with_name("openapi-python-client"))
    made = ("--output-path", "rehome_client", "--meta", "none")
    run(folder, maker, "generate", "--path", "openapi.json", *made)
    shutil.copy(HERE / "whole_job.py", folder)
    return python


def linted_and_made_for_node(folder: Path) -> bool:
    for each in (*HERE.glob("*.json"), *HERE.glob("*.yaml"), HERE / "whole_job.ts"):
        shutil.copy(each, folder)
    tools = folder / "node_modules" / ".bin"
    npm = shutil.which("npm")
    missing = tried(folder, npm, "install", "--silent", "--no-audit", "--no-fund") if npm else "no npm here"
    if missing:
        print(f"NOT LINTED, NO TYPESCRIPT CLIENT: {missing}")
        return False
    run(folder, str(tools / "redocly"), "lint", "--config", "redocly.yaml", "openapi.json")
    run(
        folder,
        str(tools / "spectral"),
        "lint",
        "-r",
        "spectral.yaml",
        "--fail-severity",
        "warn",
        "openapi.json",
    )
    # What has a default may be left out of what is sent.
    made = ("openapi.json", "--default-non-nullable=false", "-o", "schema.d.ts")
    run(folder, str(tools / "openapi-typescript"), *made)
    run(folder, str(tools / "tsc"))
    return True


def main() -> None:
    os.environ["REDOCLY_TELEMETRY"] = "off"
    with tempfile.TemporaryDirectory() as name:
        folder, home = Path(name) / "clients", Path(name) / "bench"
        folder.mkdir()
        home.mkdir()
        prepare_empty(home)
        manage(home, "spectacular", "--format", "openapi-json", "--file", str(folder / "openapi.json"))
        jobs = []
        if python := made_for_python(folder):
            jobs.append((str(python), "whole_job.py"))
        if linted_and_made_for_node(folder):
            jobs.append(("node", "whole_job.js"))
        with serving(home) as bench:
            key = bench.command("token", OWNER).split()[-1]
            for client in jobs:
                run(folder, *client, bench.url, key)
        print(manage(home, "audit").strip())


if __name__ == "__main__":
    assert Path.cwd() == ROOT, "run it where manage.py is"
    main()
