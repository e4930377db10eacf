"""Test runs that begin at one moment share one migrated database, made once."""

import threading
import time
from pathlib import Path

from tests.own_home import kept_or_made, unfinished


def test_of_runs_that_begin_at_one_moment_one_makes_the_database_and_the_others_have_it(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "migrated"
    folder.mkdir()
    (folder / "of-other-migrations.sqlite3").touch()
    kept, made, have = folder / "now.sqlite3", [], []
    together = threading.Barrier(4)

    def run(number: int) -> None:
        own = tmp_path / f"{number}.sqlite3"

        def make() -> str:
            made.append(number)
            own.write_text("half")
            unfinished(kept).write_text("half")
            time.sleep(0.2)
            for file in (own, unfinished(kept)):
                file.write_text("migrated")
            return "[]"

        together.wait()
        have.append((kept_or_made(kept, own, make), own.read_text()))

    runs = [threading.Thread(target=run, args=(number,)) for number in range(4)]
    for each in runs:
        each.start()
    for each in runs:
        each.join()
    assert len(made) == 1
    assert sorted(have) == [(False, "migrated"), *[(True, "migrated")] * 3]
    assert sorted(path.name for path in folder.iterdir()) == ["now.json", "now.sqlite3"]
