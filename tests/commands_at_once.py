"""`python3 manage.py …` without a start each: a process that has loaded Rehome forks for each command.

To load Rehome takes longer than most commands.  A command gets its arguments, folder, environment and
standard streams, reads the settings anew, and its exit status is what is answered: `run` for tests,
`Running` for servers and who talks with what runs, `stand_in` writes the `python3` of a shell.
`tests/test_commands.py` starts commands, and a server, by themselves.
"""

import atexit
import importlib
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
_STAND_IN = """#!{python} -SE
import json, os, socket, sys
if sys.argv[1:2] != ["manage.py"]:
    os.execv({python!r}, [{python!r}, *sys.argv[1:]])
asked = socket.socket(socket.AF_UNIX)
asked.connect({address!r})
socket.send_fds(asked, [json.dumps([sys.argv[1:], os.getcwd(), dict(os.environ)]).encode()], [0, 1, 2])
asked.shutdown(socket.SHUT_WR)
asked.recv({pid})
sys.exit(int(asked.recv(16) or 137))
"""
PID = 10
"""Bytes in which a command says its number before all else."""


def stand_in(folder: Path) -> None:
    """Write `python3` into a folder for PATH."""
    script = folder / "python3"
    script.write_text(_STAND_IN.format(python=sys.executable, address=_address(), pid=PID))
    script.chmod(0o755)


def run(
    arguments: Sequence[str], environment: Mapping[str, str], *, answer: str = "", timeout: float = 300
) -> subprocess.CompletedProcess[str]:
    """Run a command as `subprocess.run` would, with what it reads from its standard input."""
    with tempfile.TemporaryFile() as given, tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        given.write(answer.encode())
        given.seek(0)
        with Running(["manage.py", *arguments], environment, (given, out, err)) as running:
            status = running.wait(timeout)
        shown = []
        for stream in (out, err):
            stream.seek(0)
            shown.append(stream.read().decode())
    return subprocess.CompletedProcess(list(arguments), status, *shown)


class Running:
    """manage.py, or `main` of the module that is named first, while it runs; as `subprocess.Popen` has it."""

    def __init__(
        self, arguments: Sequence[str], environment: Mapping[str, str], streams: Sequence[Any]
    ) -> None:
        self._answer = socket.socket(socket.AF_UNIX)
        self._answer.connect(_address())
        sent = json.dumps([arguments, str(ROOT), dict(environment)]).encode()
        socket.send_fds(self._answer, [sent], [stream.fileno() for stream in streams])
        self._answer.shutdown(socket.SHUT_WR)
        self.pid = int(self._answer.recv(PID))
        self.returncode: int | None = None

    def __enter__(self) -> "Running":
        return self

    def __exit__(self, *_raised: object) -> None:
        self._answer.close()

    def wait(self, timeout: float | None = None) -> int:
        """Its exit status, once it has ended; TimeoutError where it has not within so many seconds."""
        if self.returncode is None:
            self._answer.settimeout(timeout)
            self.returncode = int(self._answer.recv(16) or -signal.SIGKILL)
            self._answer.recv(1)  # nothing: it has ended
        return self.returncode

    def poll(self) -> int | None:
        """Its exit status; None while it runs."""
        try:
            return self.wait(0)
        except BlockingIOError:
            return None

    def send_signal(self, how: int) -> None:
        if self.poll() is None:
            os.kill(self.pid, how)

    def terminate(self) -> None:
        self.send_signal(signal.SIGTERM)


@cache
def _address() -> str:
    """The socket of the process that forks, which is begun for the first who asks and ends with this one."""
    folder = tempfile.mkdtemp(prefix="rehome-commands-")
    address = Path(folder) / "socket"
    environment = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("REHOME_", "DATABASE_URL", "PYTEST"))
    }
    running = subprocess.Popen(
        [sys.executable, "-m", "tests.commands_at_once", str(address)],
        cwd=ROOT, env={**environment, "REHOME_HOME": folder}, stdin=subprocess.DEVNULL,
    )  # fmt: skip

    def end() -> None:
        running.kill()
        running.wait()
        shutil.rmtree(folder, ignore_errors=True)

    atexit.register(end)
    while not address.exists():
        assert running.poll() is None, "what runs commands ended by itself"
        time.sleep(0.02)
    return str(address)


def answer(address: str) -> None:
    """Fork for whatever is asked at the socket, until ended or left alone."""
    tests = os.getppid()  # before what takes seconds, in which they may be killed
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django

    django.setup()
    import config.urls  # noqa: F401  with it all of Rehome

    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody waits: a command answers by itself
    with socket.socket(socket.AF_UNIX) as at:
        beside = f"{address}.not-yet"
        at.bind(beside)
        at.listen(64)
        os.rename(beside, address)  # there, and heard
        at.settimeout(5)
        while os.getppid() == tests:  # tests that were killed end nothing of theirs
            try:
                asked, _address = at.accept()
            except TimeoutError:
                continue
            sent, streams = _received(asked)
            if not os.fork():
                signal.signal(signal.SIGCHLD, signal.SIG_DFL)
                # As on a terminal: what runs behind a script inherits that SIGINT is ignored.
                signal.signal(signal.SIGINT, signal.default_int_handler)
                asked.sendall(f"{os.getpid():>{PID}}".encode())
                asked.sendall(str(_run(*json.loads(sent), streams)).encode())
                os._exit(0)
            for stream in streams:
                os.close(stream)
            asked.close()


def _received(asked: socket.socket) -> tuple[bytes, list[int]]:
    sent, streams, _flags, _from = socket.recv_fds(asked, 65536, 3)
    while more := asked.recv(65536):
        sent += more
    return sent, streams


def _run(arguments: list[str], folder: str, environment: dict[str, str], streams: list[int]) -> int:
    for number, stream in enumerate(streams):
        os.dup2(stream, number)
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    sys.argv = arguments
    try:
        _read_settings_anew()
        ran = "config.command_line" if arguments[0] == "manage.py" else arguments[0]
        return importlib.import_module(ran).main() or 0
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        traceback.print_exc()
        return 1
    finally:
        sys.stdout.flush()
        sys.stderr.flush()


def _read_settings_anew() -> None:
    """Forget what was made of the environment of the process that forks."""
    import tzlocal
    from asgiref.local import Local
    from django.conf import settings
    from django.db import connections
    from django.utils import timezone
    from django.utils.functional import empty

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    tzlocal.reload_localzone()
    try:
        importlib.reload(sys.modules["config.settings"])
    except Exception:
        del sys.modules["config.settings"]  # whoever asks next is told what is wrong with it
    settings._wrapped = empty
    connections._settings = None
    connections.__dict__.pop("settings", None)
    connections._connections = Local(connections.thread_critical)
    timezone.get_default_timezone.cache_clear()


if __name__ == "__main__":
    answer(sys.argv[1])
