"""What must hold on both databases, run on a throwaway PostgreSQL.

`python -m tests.on_postgresql [arguments of pytest]`: the same tests, with the same progress.  What is marked
`alone` comes last, with no other transaction on the server: PostgreSQL shows changes only once every
transaction that began before them has ended, whichever database it is in.
"""

import os
import subprocess
import sys
from pathlib import Path

from tests.postgres import NoServer, throwaway

ROOT = Path(__file__).resolve().parents[1]
NOTHING_TO_RUN = 5  # of pytest


def main(arguments: list[str]) -> int:
    try:
        with throwaway() as url:
            together = _run(url, "not alone", *(arguments or ["-n", "auto"]))
            alone = _run(url, "alone", *arguments, "-n", "0")
    except NoServer as missing:
        print(f"NOT RUN ON POSTGRESQL: {missing}")
        return 0
    ran = [code for code in (together, alone) if code != NOTHING_TO_RUN]
    return max(ran, default=NOTHING_TO_RUN)


def _run(url: str, which: str, *arguments: str) -> int:
    # To load all tests takes longer than many of these: what no mark names is not looked at.
    named = [each for each in arguments if Path(each.partition("::")[0]).exists()] or [
        str(file.relative_to(ROOT))
        for file in sorted((ROOT / "tests").rglob("test_*.py"))
        if "both_databases" in file.read_text(encoding="utf-8")
    ]
    options = [each for each in arguments if each not in named]
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-m", f"both_databases and {which}", *options, *named],
        cwd=ROOT, env={**os.environ, "DATABASE_URL": url},
    ).returncode  # fmt: skip


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
