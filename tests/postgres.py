"""A throwaway PostgreSQL for the tests, where the server binaries are found."""

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class NoServer(RuntimeError):
    """No PostgreSQL server binaries here; the message says what to install."""


def binaries() -> Path:
    """The folder of initdb and pg_ctl: on the path, or where Debian keeps them."""
    found = shutil.which("pg_ctl")
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    for folder in ([Path(found).parent] if found else []) + folders:
        if (folder / "initdb").exists() and (folder / "pg_ctl").exists():
            return folder
    raise NoServer("no PostgreSQL server binaries here (Debian: apt-get install postgresql)")


def free_port() -> int:
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        return int(sock.getsockname()[1])


@contextmanager
def throwaway() -> Iterator[str]:
    """Start a cluster in a temporary folder, answer its DATABASE_URL, and remove it afterwards.

    The server refuses to run as root; then it runs as the user `postgres`, which Debian's package makes.
    """
    folder = binaries()
    user = "postgres" if os.name == "posix" and os.geteuid() == 0 else None
    home = Path(tempfile.mkdtemp(prefix="rehome-pg-", dir="/tmp" if user else None))
    if user:
        try:
            shutil.chown(home, user)
        except LookupError:
            home.rmdir()
            raise NoServer("running as root, and there is no user postgres to run the server as") from None
    data, port = home / "data", free_port()

    def run(*command: str) -> None:
        done = subprocess.run(command, user=user, capture_output=True, text=True, cwd=home)
        if done.returncode:
            log = home / "log"
            raise RuntimeError(f"{command[0]}: {done.stderr}{log.read_text() if log.exists() else ''}")

    run(str(folder / "initdb"), "-D", str(data), "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync")
    options = (
        f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={home} -c max_connections=100 "
        # nothing is to survive a crash, and no table is to be analysed while a test has emptied it
        "-c fsync=off -c full_page_writes=off -c autovacuum=off"
    )
    run(str(folder / "pg_ctl"), "-D", str(data), "-l", str(home / "log"), "-w", "-o", options, "start")
    try:
        yield f"postgres://postgres@127.0.0.1:{port}/postgres"
    finally:
        subprocess.run(
            [str(folder / "pg_ctl"), "-D", str(data), "-m", "immediate", "stop"],
            user=user, capture_output=True, cwd=home,
        )  # fmt: skip
        shutil.rmtree(home, ignore_errors=True)
