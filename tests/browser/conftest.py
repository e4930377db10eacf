"""A browser in front of the demo workshop; nothing here touches the database behind it."""

import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.bench import (
    FLAGS,
    PHONE,
    Bench,
    chromium,
    manage,
    prepare,
    put_to_use,
    serving,
    what_is_missing,
)
from tests.own_home import one_at_a_time

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Playwright

MISSING = what_is_missing()
collect_ignore_glob = ["test_*.py"] if MISSING else []


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker("browser")
    items.sort(key=lambda item: item.path.name != "test_whole_job.py")  # the longest first


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if MISSING:
        terminalreporter.write_line(f"NOT RUN IN A BROWSER: {MISSING}")


@pytest.fixture(scope="session", autouse=True)
def patience() -> None:
    """As long as an action waits: 5 s are short for two browsers and two servers on two cores."""
    if not MISSING:
        from playwright.sync_api import expect

        expect.set_options(timeout=30_000)


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, object]:
    return {"executable_path": chromium(), "args": list(FLAGS)}


MadeOnce = Callable[[str, Callable[[Path], object]], Path]


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> MadeOnce:
    """A folder that the first process of this run that asks for it fills; the others wait for that."""
    mine = tmp_path_factory.getbasetemp()
    of_the_run = mine.parent if "PYTEST_XDIST_WORKER" in os.environ else mine

    def folder(name: str, fill: Callable[[Path], object]) -> Path:
        made = of_the_run / name
        with one_at_a_time(of_the_run / f"{name}.lock"):
            if not made.exists():
                unfinished = tmp_path_factory.mktemp(name)
                fill(unfinished)
                unfinished.rename(made)
        return made

    return folder


@pytest.fixture(scope="session")
def prepared(made_once: MadeOnce) -> Path:
    """The demo workshop; whoever writes takes a copy."""
    return made_once("prepared", prepare)


@pytest.fixture(scope="session")
def demo(prepared: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """A bench to look at: nobody changes it."""
    home = tmp_path_factory.mktemp("looked-at")
    shutil.copytree(prepared, home, dirs_exist_ok=True)
    put_to_use(home)
    with serving(home) as bench:
        yield bench


@pytest.fixture(scope="session")
def nobodys(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """A bench that no person has come to yet."""
    home = tmp_path_factory.mktemp("nobodys")
    manage(home, "migrate", "--verbosity", "0")
    with serving(home) as bench:
        yield bench


@pytest.fixture
def own(prepared: Path, tmp_path: Path) -> Iterator[Bench]:
    """A bench to work at, of this test alone."""
    shutil.copytree(prepared, tmp_path, dirs_exist_ok=True)
    with serving(tmp_path) as bench:
        yield bench


@pytest.fixture(scope="session")
def pages(demo: Bench, playwright: "Playwright", made_once: MadeOnce) -> dict[str, list[str]]:
    """Addresses of every page of the demo workshop, by the name of the page."""
    from tests.browser.pages import addresses

    def write(folder: Path) -> None:
        client = playwright.request.new_context(storage_state=demo.signed_in())
        (folder / "addresses.json").write_text(json.dumps(addresses(demo, client)))

    kept: dict[str, list[str]] = json.loads((made_once("pages", write) / "addresses.json").read_text())
    return kept


Open = Callable[..., "Page"]


@pytest.fixture
def look(browser: "Browser") -> Iterator[Open]:
    """Open a window on a bench, signed in; console errors and what is asked of others fail the test."""
    opened, wrong = [], []

    def open_window(bench: Bench, width: int = 1280, height: int = 800, **how: object) -> "Page":
        if "storage_state" not in how:
            how["storage_state"] = bench.signed_in()
        context = browser.new_context(viewport={"width": width, "height": height}, base_url=bench.url, **how)
        opened.append(context)
        context.on(
            "console", lambda line: wrong.append(line.text) if line.type in ("error", "warning") else None
        )
        context.on("weberror", lambda error: wrong.append(str(error.error)))
        context.on(
            "request",
            lambda asked: (
                wrong.append(f"asked for {asked.url}")
                if not asked.url.startswith((bench.url, "data:", "blob:"))
                else None
            ),
        )
        return context.new_page()

    yield open_window
    for context in opened:
        context.close()
    # A page that refuses what was typed answers 4xx, which Chromium notes as an error of the address; and
    # a test that takes the connection away means it.
    expected = ("status of 4", "net::ERR_INTERNET_DISCONNECTED")
    assert [line for line in wrong if not any(each in line for each in expected)] == []


@pytest.fixture(scope="module")
def busy(prepared: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """One bench for all flows of a file: each takes what it wants from the plenty of the demo."""
    home = tmp_path_factory.mktemp("busy")
    shutil.copytree(prepared, home, dirs_exist_ok=True)
    with serving(home) as bench:
        yield bench


@pytest.fixture
def phone(busy: Bench, look: Open) -> "Page":
    return look(busy, **PHONE)


@pytest.fixture
def desk(busy: Bench, look: Open) -> "Page":
    return look(busy)
