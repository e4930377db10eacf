"""`manage.py migrate`: Django's own, which begins a workshop and backs one up before it changes."""

from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser
from django.core.management.commands import migrate
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from inventory import backups, changes, installation
from inventory.backups.dated import folder_of_before, forget_earlier, stamp

KEPT = 5
"""Backups from before earlier migrations that are kept."""


class Command(migrate.Command):
    help = (
        "Begin a workshop where there is none, or bring the database of one up to date with this Rehome; "
        "a backup is taken before."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--no-backup", action="store_true", help="take no backup first")

    def execute(self, *args: Any, **options: Any) -> str | None:
        only_looks = options["plan"] or options["check_unapplied"]
        try:
            if installation.is_begun():
                installation.refuse_newer()
            if not only_looks:
                if installation.begin():
                    self.stderr.write(f"a new workshop in {settings.HOME}")
                elif not options.get("no_backup") and self.changes_something(options):
                    self.back_up()
        except installation.Unfit as unfit:
            raise CommandError(unfit.detail) from None
        if not only_looks and self.changes_something(options):
            changes.stop_watching()
        output = super().execute(*args, **options)
        if not only_looks:
            if self.is_whole():
                changes.watch()
            installation.tighten()
        return output

    def is_whole(self) -> bool:
        """Whether every migration is applied: else tables may be lacking."""
        executor = MigrationExecutor(connection)
        return not executor.migration_plan(executor.loader.graph.leaf_nodes())

    def changes_something(self, options: dict[str, Any]) -> bool:
        """Whether there is a database with rows that this would change."""
        if options.get("fake") or not installation.applied_migrations():
            return False
        executor = MigrationExecutor(connection)
        named = bool(options.get("app_label"))
        return named or bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))

    def back_up(self) -> None:
        path = folder_of_before() / f"before-migration-{stamp()}.backup"
        try:
            backups.write(path)
        except (OSError, backups.BadBackup) as error:
            raise CommandError(
                f"no backup can be taken, so nothing was changed ({error}); --no-backup goes on without one"
            ) from None
        self.stderr.write(f"as it was before, it is kept in {path}")
        forget_earlier("before-migration-*.backup", KEPT)
