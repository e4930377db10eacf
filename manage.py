#!/usr/bin/env python3
"""Run a Rehome command; on a fresh machine make the virtual environment first.

`python3 manage.py demo` and `python3 manage.py test` need nothing but Python 3.11 and pip: outside a virtual
environment they make `.venv` beside this file, install Rehome in it (once for each change of pyproject.toml)
and go on inside it.
"""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def install(extra: str) -> None:
    """Install Rehome with an extra into .venv, unless this very pyproject.toml was installed so before."""
    mark = VENV / f".installed-{extra or 'core'}"
    state = hashlib.sha256((HERE / "pyproject.toml").read_bytes()).hexdigest()
    if mark.exists() and mark.read_text() == state:
        return
    if not PYTHON.exists():
        print(f"making the virtual environment {VENV.name}/ ...", file=sys.stderr)
        subprocess.run([sys.executable, "-m", "venv", str(VENV)], check=True)
    what = f".[{extra}]" if extra else "."
    print(
        f"installing Rehome{f' with its {extra} extra' if extra else ''}: a minute or so ...", file=sys.stderr
    )
    pip = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", what]
    subprocess.run(pip, cwd=HERE, check=True)
    mark.write_text(state)


def go_on_inside(arguments: list[str]) -> int:
    """Run this command again with the environment's Python, and answer its exit status."""
    environment = {**os.environ, "VIRTUAL_ENV": str(VENV)}
    try:
        return subprocess.run([str(PYTHON), str(HERE / "manage.py"), *arguments], env=environment).returncode
    except KeyboardInterrupt:
        return 130


def run_tests(arguments: list[str]) -> int:
    """Run pytest: the whole suite on all processors, or what the arguments name."""
    arguments = arguments or ["-n", "auto"]
    return subprocess.run([sys.executable, "-m", "pytest", *arguments], cwd=HERE).returncode


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
        except (subprocess.CalledProcessError, OSError) as error:
            print(f"the installation failed: {error}", file=sys.stderr)
            return 1
        if not own:
            return go_on_inside(arguments)
    if extra:
        return run_tests(arguments[1:])
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        from django.core.management import execute_from_command_line
        from django.db import OperationalError, ProgrammingError
    except ImportError:
        print('Rehome is not installed in this environment: pip install -e "."', file=sys.stderr)
        return 1
    try:
        execute_from_command_line(sys.argv)
        sys.stdout.flush()
    except (OperationalError, ProgrammingError) as error:
        reason = str(error).splitlines()[0]
        print(f"the database refuses: {reason}; is it up to date? python3 manage.py migrate", file=sys.stderr)
        return 1
    except BrokenPipeError:  # the reader of our output has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 141
    return 0


if __name__ == "__main__":
    sys.exit(main())
