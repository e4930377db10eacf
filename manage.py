#!/usr/bin/env python3
"""Run a Rehome command; on a fresh machine make the virtual environment first.

`python3 manage.py demo` and `python3 manage.py test` need nothing but Python 3.11 and pip: outside a virtual
environment they make `.venv` beside this file, install Rehome in it (once for each change of pyproject.toml)
and go on inside it.
"""

import hashlib
import importlib.util
import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
NOTHING_TO_RUN = 5  # of pytest: the suite said why, such as that no browser is here
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


class CannotMake(Exception):
    """Why the environment cannot be made here, and what to do about it."""


def install(extra: str) -> None:
    """Install Rehome with an extra into .venv, unless this very pyproject.toml was installed so before."""
    mark = VENV / f".installed-{extra or 'core'}"
    described = (HERE / "pyproject.toml").read_bytes() + repr(sys.version_info[:2]).encode()
    state = hashlib.sha256(described).hexdigest()
    if mark.exists() and mark.read_text() == state and runs("-c", ""):
        return
    make_environment()
    what = f".[{extra}]" if extra else "."
    print(
        f"installing Rehome{f' with its {extra} extra' if extra else ''}: a minute or so ...", file=sys.stderr
    )
    pip = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", what]
    subprocess.run(pip, cwd=HERE, check=True)
    mark.write_text(state)


def make_environment() -> None:
    """Make .venv, or mend what an attempt that broke off, or another Python, left of it.

    CannotMake where this Python lacks what environments are made with, as Debian's does by itself.
    """
    if runs("-m", "pip", "--version"):
        return
    if importlib.util.find_spec("ensurepip") is None:
        package = "python{}.{}-venv".format(*sys.version_info)
        raise CannotMake(
            "this Python cannot make a virtual environment (it has no ensurepip): on Debian and Ubuntu run\n"
            f"  sudo apt install {package}\nthen the same command again"
        )
    if runs("-c", "") and runs("-m", "ensurepip", "--default-pip"):
        return
    print(f"making the virtual environment {VENV.name}/ ...", file=sys.stderr)
    subprocess.run([sys.executable, "-m", "venv", "--clear", str(VENV)], check=True)


def runs(*arguments: str) -> bool:
    """Whether the environment's Python is there and ends well with these arguments."""
    command = [str(PYTHON), *arguments]
    try:
        return subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode == 0
    except OSError:
        return False


def go_on_inside(arguments: list[str]) -> int:
    """Run this command again with the environment's Python, and answer its exit status."""
    environment = {**os.environ, "VIRTUAL_ENV": str(VENV)}
    command = [str(PYTHON), str(HERE / "manage.py"), *arguments]
    if os.name == "posix":  # in place of this process, so that a signal to it reaches the server
        os.execve(PYTHON, command, environment)
    try:
        return subprocess.run(command, env=environment).returncode
    except KeyboardInterrupt:
        return 130


def run_tests(arguments: list[str]) -> int:
    """Run pytest on what the arguments name; without any, each suite in turn, on all processors."""
    suites = {"": ["pytest", *arguments]}
    if not arguments:
        suites = {
            # One more than processors: a quarter of the time a test waits for a command, a server or a disk.
            "on SQLite": ["pytest", "-n", str((os.cpu_count() or 1) + 1), "--dist", "loadgroup"],
            "on PostgreSQL": ["tests.on_postgresql", "-n", "auto"],
            "in a browser": ["pytest", "tests/browser", "-n", "2", "--dist", "worksteal"],
        }
    failed = []
    for name, suite in suites.items():
        if name:
            print(f"== the tests {name}", flush=True)
        answer = subprocess.run([sys.executable, "-m", *suite], cwd=HERE).returncode
        if answer and not (answer == NOTHING_TO_RUN and name):
            failed.append(name)
    if failed and failed != [""]:
        print(f"== failed: the tests {', '.join(failed)}")
    return int(bool(failed))


def main() -> int:
    arguments = sys.argv[1:]
    extra = "test" if arguments[:1] == ["test"] else ""
    if sys.version_info < (3, 11):  # noqa: UP036  this is what tells the person
        print("Rehome needs Python 3.11 or newer", file=sys.stderr)
        return 2
    own = Path(sys.prefix).resolve() == VENV.resolve()
    if sys.prefix == sys.base_prefix or (own and extra):
        try:
            install(extra)
        except CannotMake as missing:
            print(missing, file=sys.stderr)
            return 1
        except (subprocess.CalledProcessError, OSError) as error:
            print(f"the installation failed: {error}; run the same command again", file=sys.stderr)
            return 1
        except KeyboardInterrupt:  # the next run goes on from here
            return 130
        if not own:
            return go_on_inside(arguments)
    if extra:
        return run_tests(arguments[1:])
    from config.command_line import main as run_command

    return run_command()


if __name__ == "__main__":
    sys.exit(main())
