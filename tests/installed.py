"""An installation of its own: a folder, manage.py as people run it, and a server that can be ended."""

import atexit
import json
import os
import shutil
import signal
import subprocess
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any, TextIO

from tests import commands_at_once
from tests.postgres import free_port


class Installation:
    """A workshop in a folder, on SQLite there or on the database that `url` names."""

    def __init__(self, home: Path, url: str = "", **settings: str) -> None:
        self.home, self.settings = home, settings
        self.environment = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith(("REHOME_", "DATABASE_URL", "PYTEST"))
        }
        self.environment |= {"REHOME_HOME": str(home), **settings, **({"DATABASE_URL": url} if url else {})}

    def begin(self, *, demo: bool = False) -> None:
        """Make the workshop, with nothing or the demo in it: on SQLite, made once in a process and copied."""
        shutil.copytree(_begun(demo), self.home)

    @property
    def database(self) -> Path:
        return self.home / "rehome.sqlite3"

    def run(self, *command: str, answer: str = "", timeout: float = 300) -> subprocess.CompletedProcess[str]:
        return commands_at_once.run(command, self.environment, answer=answer, timeout=timeout)

    def done(self, *command: str, timeout: float = 300) -> str:
        """What a command prints that must end well."""
        run = self.run(*command, timeout=timeout)
        assert run.returncode == 0, f"{command}: {run.stdout[-2000:]}{run.stderr[-2000:]}"
        return run.stdout

    def refused(self, *command: str) -> str:
        """The one line with which a command refuses."""
        run = self.run(*command)
        assert run.returncode == 1, f"{command}: {run.returncode} {run.stdout}{run.stderr}"
        assert "Traceback" not in run.stderr
        return run.stderr + run.stdout

    def python(self, code: str, timeout: float = 300) -> str:
        return self.done("shell", "--no-imports", "-v0", "-c", code, timeout=timeout)

    @contextmanager
    def serving(self, *options: str) -> Iterator["Server"]:
        port = free_port()
        with tempfile.TemporaryFile(
            "w+"
        ) as said:  # a pipe that nobody empties stops the server when it is full
            command = ["manage.py", "serve", "--port", str(port), *options]
            process = commands_at_once.Running(command, self.environment, (said, said, said))
            server = Server(process, port, said)
            try:
                server.wait()
                yield server
            finally:
                process.terminate()
                process.wait(timeout=90)
                server.log = server.said()


@cache
def _begun(demo: bool) -> Path:
    folder = Path(tempfile.mkdtemp(prefix="rehome-tests-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    installation = Installation(folder / "workshop")
    installation.done(*(("demo", "--no-serve") if demo else ("migrate", "-v0")))
    return installation.home


class Server:
    def __init__(self, process: commands_at_once.Running, port: int, said: TextIO) -> None:
        self.process, self.port, self._said = process, port, said
        self.key = self.log = ""

    def said(self) -> str:
        """Everything that it printed so far."""
        self._said.seek(0)
        return self._said.read()

    def wait(self) -> None:
        for _attempt in range(900):
            assert self.process.poll() is None, self.said()
            try:
                if self.ask("/healthz")[0]:
                    return
            except OSError:
                time.sleep(0.1)
        raise AssertionError("the server never answered")

    def ask(
        self, path: str, body: dict[str, Any] | None = None, **headers: str
    ) -> tuple[int, Any, dict[str, str]]:
        """GET, or POST where there is a body: status, what it answers (JSON read) and its headers."""
        headers = {name.replace("_", "-"): value for name, value in headers.items()}
        if self.key:
            headers["Authorization"] = f"Token {self.key}"
        data = None
        if body is not None:
            data, headers["Content-Type"] = json.dumps(body).encode(), "application/json"
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", data, headers)
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return answer.status, _read(answer), dict(answer.headers)
        except urllib.error.HTTPError as answer:
            return answer.code, _read(answer), dict(answer.headers)

    def end(self, how: int = signal.SIGTERM) -> int:
        """End it by a signal; its exit status."""
        self.process.send_signal(how)
        return self.process.wait(timeout=90)


def _read(answer: Any) -> Any:
    text = answer.read().decode()
    return json.loads(text) if "json" in answer.headers.get("Content-Type", "") else text
