"""What must hold on both databases, run on a throwaway PostgreSQL.

`python -m tests.on_postgresql [arguments of pytest]`: the same tests, with the same progress.
"""

import os
import subprocess
import sys
from pathlib import Path

from tests.postgres import NoServer, throwaway

ROOT = Path(__file__).resolve().parents[1]


def main(arguments: list[str]) -> int:
    try:
        with throwaway() as url:
            return subprocess.run(
                [sys.executable, "-m", "pytest", "-m", "both_databases", *(arguments or ["-n", "auto"])],
                cwd=ROOT, env={**os.environ, "DATABASE_URL": url},
            ).returncode  # fmt: skip
    except NoServer as missing:
        print(f"NOT RUN ON POSTGRESQL: {missing}")
        return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
