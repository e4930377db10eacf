"""`manage.py serve`: the server for a bench or a small club."""

import signal
import socket
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.core.management.base import CommandError, CommandParser, OutputWrapper
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from inventory.installation import leave_cleanly, tighten
from inventory.management.helped import Helped
from inventory.pages.entrance import first_word
from repairs.webhooks.sending import Sender


class Command(Helped):
    requires_system_checks = "__all__"
    help = (
        "Serve the bench pages and the API.\n\nExample:\n"
        "  python3 manage.py serve --host 0.0.0.0 --port 8000 --workers 8\n\n"
        "Anyone who can reach the address can try to sign in: keep it on a network you trust."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on (127.0.0.1)")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on (8000)")
        parser.add_argument("--workers", type=int, default=8, help="requests answered at the same time (8)")

    def handle(self, *args: Any, **options: Any) -> None:
        if not 1 <= options["port"] <= 65535:
            raise CommandError(f"port {options['port']}: expected 1 to 65535")
        if not 1 <= options["workers"] <= 64:
            raise CommandError(f"{options['workers']} workers: expected 1 to 64")
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            raise CommandError(f"the database is not up to date: run {settings.PROGRAM} migrate first")
        tighten()
        serve(options["host"], options["port"], options["workers"], self.stdout)


def serve(host: str, port: int, workers: int, out: OutputWrapper) -> None:
    """Answer requests until interrupted; CommandError where the address cannot be had."""
    import waitress

    from config.wsgi import application

    try:
        server = waitress.create_server(
            application,
            host=host,
            port=port,
            threads=workers,
            ident="Rehome",
            max_request_body_size=32 * 1024 * 1024,
            # A connection costs a file, and no thread before its request is whole: many may wait or be slow.
            connection_limit=room_for_connections(),
            backlog=1024,
            channel_timeout=60,
            cleanup_interval=10,
            asyncore_use_poll=True,
            clear_untrusted_proxy_headers=False,  # `inventory.watching` hears only the proxies that are named
        )
    except (OSError, socket.gaierror, ValueError) as error:
        raise CommandError(f"cannot listen on {host}:{port}: {error}") from None
    here = "localhost" if host in ("127.0.0.1", "0.0.0.0") else host
    out.write(f"serving at http://{here}:{port}/ and, for programs, http://{here}:{port}/api/v1/docs/")
    if not User.objects.exists():
        out.write(
            f"nobody can sign in yet: open http://{here}:{port}/first/ and make the bench yours\n"
            f"with the setup code {first_word()}\n"
            f"(with no browser at hand: {settings.PROGRAM} people add NAME --role owner)"
        )
    out.write("press Ctrl-C to stop")
    out.flush()  # a log or a pipe has it now, not when the server ends
    sender = Sender()
    try:
        sender.start()
        signal.signal(signal.SIGTERM, _end)
        server.run()  # lets go at once of who waits, and finishes what was begun
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
        sender.stop()
        leave_cleanly()


MAX_CONNECTIONS = 2000


def room_for_connections() -> int:
    """How many connections may be open at once: as many as this process may have files, within reason."""
    try:
        import resource
    except ImportError:  # not on Windows
        return 500
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = MAX_CONNECTIONS + 200
    if soft != resource.RLIM_INFINITY and soft < wanted:
        soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    return MAX_CONNECTIONS if soft == resource.RLIM_INFINITY else min(MAX_CONNECTIONS, soft - 200)


def _end(_signal: int, _frame: object) -> None:
    raise KeyboardInterrupt
