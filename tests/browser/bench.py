"""A bench of its own: the demo workshop in a folder, and a server on it."""

import json
import os
import shutil
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from tests import commands_at_once
from tests.postgres import free_port

OWNER = "robin"
PHONE = {"width": 360, "height": 740, "has_touch": True, "is_mobile": True}
FLAGS = (
    "--no-sandbox",  # Chromium's own sandbox does not start as root, which CI is
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)


def chromium() -> str:
    """The browser that the system's packages brought; empty where there is none.

    First the one that has no windows: the same engine, in two thirds of the processor time.
    """
    names = ("chromium-headless-shell", "chromium", "chromium-browser")
    return next((found for name in names if (found := shutil.which(name))), "")


def what_is_missing() -> str:
    """Why no browser can be driven here, with what to install; empty where nothing is missing."""
    if find_spec("pytest_playwright") is None or find_spec("axe_playwright_python") is None:
        return "the browser extra is not installed (pip install -e '.[browser]')"
    return "" if chromium() else "no Chromium here (Debian: apt-get install chromium-headless-shell)"


@dataclass(frozen=True)
class Bench:
    """A server that answers at `url` from the folder `home`."""

    url: str
    home: Path

    @property
    def password(self) -> str:
        return (self.home / "demo-password").read_text()

    def command(self, *arguments: str) -> str:
        """What a command of manage.py prints about this bench."""
        return manage(self.home, *arguments)

    def signed_in(self) -> dict[str, Any]:
        """The owner's session, as a browser keeps it."""
        kept: dict[str, Any] = json.loads((self.home / "session.json").read_text())
        return kept


def environment(home: Path) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST", "DATABASE"))}
    return {**kept, "REHOME_HOME": str(home)}


def manage(home: Path, *arguments: str) -> str:
    done = commands_at_once.run(arguments, environment(home))
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


SESSION = """
from importlib import import_module
import json, pathlib
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth.models import User
person = User.objects.get(username="robin")
session = import_module(settings.SESSION_ENGINE).SessionStore()
session[SESSION_KEY] = str(person.pk)
session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
session[HASH_SESSION_KEY] = person.get_session_auth_hash()
session.save()
cookie = {"name": settings.SESSION_COOKIE_NAME, "value": session.session_key, "domain": "127.0.0.1",
          "path": "/", "expires": -1, "httpOnly": True, "secure": False, "sameSite": "Lax"}
pathlib.Path(settings.HOME, "session.json").write_text(json.dumps({"cookies": [cookie], "origins": []}))
"""


def prepare(home: Path) -> Path:
    """Load the demo workshop into a folder, with its owner signed in."""
    manage(home, "demo", "--no-serve")
    manage(home, "shell", "--no-imports", "-c", SESSION)
    return home


def put_to_use(home: Path) -> Path:
    """Begin on a prepared bench what the demo leaves to be begun, so that its pages are there to look at."""
    manage(home, "shell", "--no-imports", "-c", "from tests.in_use import begin; begin()")
    return home


EMPTY = """
from django.contrib.auth.models import User
from inventory.roles import give_role
person = User.objects.create_user("robin", password="three-clipped-leads")
give_role(person, "owner")
"""


def prepare_empty(home: Path) -> Path:
    """A bench with nothing on it but its owner, who is signed in."""
    manage(home, "migrate", "--verbosity", "0")
    manage(home, "shell", "--no-imports", "-c", EMPTY + SESSION)
    return home


@contextmanager
def serving(home: Path) -> Iterator[Bench]:
    """Serve a folder until the block ends."""
    port = free_port()
    log = home / "server.log"
    command = ["manage.py", "serve", "--port", str(port)]
    with log.open("w") as out:
        server = commands_at_once.Running(command, environment(home), (out, out, out))
    try:
        url = f"http://127.0.0.1:{port}"
        for _try in range(1800):
            try:
                urllib.request.urlopen(f"{url}/healthz").close()
                break
            except (urllib.error.URLError, ConnectionError):
                assert server.poll() is None, log.read_text()
                time.sleep(0.1)
        else:
            raise AssertionError(f"the server did not answer: {log.read_text()}")
        yield Bench(url, home)
    finally:
        server.terminate()
        server.wait()
