"""Run the trials: `python -m tests.trials [--long] [--seed N] [NAME …]`; exit status 1 where one fails."""

import argparse
import sys
import time
from importlib import import_module
from pathlib import Path

NAMES = sorted(path.stem for path in Path(__file__).parent.glob("*.py") if not path.stem.startswith("__"))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"some of {', '.join(NAMES)} (all)")
    parser.add_argument("--long", action="store_true", help="the long form, before a release")
    parser.add_argument("--seed", type=int, default=1, help="what chance is drawn from (1)")
    options = parser.parse_args()
    if unknown := set(options.names) - set(NAMES):
        parser.error(f"no trial {', '.join(sorted(unknown))}: there are {', '.join(NAMES)}")
    failed = []
    for name in options.names or NAMES:
        print(f"== {name}, {'long' if options.long else 'short'}, seed {options.seed}", flush=True)
        start = time.monotonic()
        wrong = import_module(f"tests.trials.{name}").run(long=options.long, seed=options.seed)
        for each in wrong:
            print(f"  FAILED: {each}")
        print(f"  ({time.monotonic() - start:.0f} s)", flush=True)
        failed += wrong
    print(f"{len(failed)} failures" if failed else "all trials passed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
