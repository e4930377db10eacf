"""`python3 manage.py …` in a shell without a start each: a process that has loaded Rehome forks for each.

`python -m tests.commands_at_once SOCKET` answers at a socket; `stand_in` writes the `python3` that asks it.
What the shell hands on (arguments, folder, standard streams) is what the command gets, and its exit status is
what the shell sees.
"""

import json
import os
import socket
import sys
import traceback
from pathlib import Path

_STAND_IN = """#!{python} -SE
import json, os, socket, sys
if sys.argv[1:2] != ["manage.py"]:
    os.execv({python!r}, [{python!r}, *sys.argv[1:]])
asked = socket.socket(socket.AF_UNIX)
asked.connect({address!r})
socket.send_fds(asked, [json.dumps([sys.argv[1:], os.getcwd()]).encode()], [0, 1, 2])
asked.shutdown(socket.SHUT_WR)
sys.exit(int(asked.recv(16)))
"""


def stand_in(folder: Path, address: str) -> None:
    """Write `python3` into a folder for PATH."""
    script = folder / "python3"
    script.write_text(_STAND_IN.format(python=sys.executable, address=address))
    script.chmod(0o755)


def answer(address: str) -> None:
    """Run what is asked at the socket, one after the other, until ended."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django

    django.setup()
    import config.urls  # noqa: F401  with it all of Rehome, which takes longer than most commands

    at = socket.socket(socket.AF_UNIX)
    at.bind(address)
    at.listen()
    while True:
        asked, _address = at.accept()
        given, streams, _flags, _from = socket.recv_fds(asked, 65536, 3)
        child = os.fork()
        if not child:
            os._exit(_run(*json.loads(given), streams))
        for stream in streams:
            os.close(stream)
        _child, how = os.waitpid(child, 0)
        asked.sendall(str(os.waitstatus_to_exitcode(how)).encode())
        asked.close()


def _run(arguments: list[str], folder: str, streams: list[int]) -> int:
    for number, stream in enumerate(streams):
        os.dup2(stream, number)
    os.chdir(folder)
    sys.argv = arguments
    try:
        from config.command_line import main

        return main()
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        traceback.print_exc()
        return 1
    finally:
        sys.stdout.flush()
        sys.stderr.flush()


if __name__ == "__main__":
    answer(sys.argv[1])
