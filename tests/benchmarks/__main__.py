"""Run every benchmark, each in a process of its own: `python -m tests.benchmarks [NAME …]`."""

import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).parent
NAMES = sorted(path.stem for path in HERE.glob("*.py") if not path.stem.startswith("__"))


def main() -> int:
    asked = sys.argv[1:] or NAMES
    unknown = [name for name in asked if name not in NAMES]
    if unknown:
        print(f"no benchmark {', '.join(unknown)}: there are {', '.join(NAMES)}", file=sys.stderr)
        return 2
    broken = []
    for name in asked:
        print(f"\n== {name}", flush=True)
        start = time.monotonic()
        if subprocess.run([sys.executable, "-m", f"tests.benchmarks.{name}"]).returncode:
            broken.append(name)
        print(f"   ({time.monotonic() - start:.0f} s)", flush=True)
    if broken:
        print(f"\nended in an error: {', '.join(broken)}", file=sys.stderr)
    return len(broken) and 1


if __name__ == "__main__":
    sys.exit(main())
