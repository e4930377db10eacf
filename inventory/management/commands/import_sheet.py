"""`manage.py import_sheet`: a spreadsheet into the workshop."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from inventory import sheets
from inventory.ledger import Refused
from inventory.management.helped import Helped
from inventory.tables import stream_of


class Command(Helped):
    help = (
        "Import a spreadsheet (xlsx or csv): stock, a design's parts list, a survey of donor boards, or the\n"
        "buy list with its lines marked ordered or received.\n"
        "It is kept whole or not at all; bad cells are all named, and the exit status is 1 then.\n\n"
        "Example:\n"
        "  python3 manage.py export_sheet stock empty.xlsx --empty\n"
        "  python3 manage.py import_sheet drawers.xlsx --as stock --dry-run\n"
        "  python3 manage.py import_sheet buy.xlsx --as buy"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="an .xlsx or .csv file")
        parser.add_argument(
            "--as", dest="kind", choices=list(sheets.IMPORTS), required=True, help="what is in it"
        )
        parser.add_argument("--dry-run", action="store_true", help="do it, report it, and take it back")
        parser.add_argument("--json", action="store_true", help="print the report, or the bad cells, as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            with path.open("rb") as file, self._bar() as bar:
                task = bar.add_task("reading", total=None)

                def progress(stage: str, done: int) -> None:
                    bar.update(task, description=stage, completed=done)

                sheet = sheets.read_sheet(file, name=path.name, kind=options["kind"], progress=progress)
                bar.update(task, total=sheet.found.count)
                report = sheets.land(sheet, by=None, dry_run=options["dry_run"], progress=progress)
        except OSError as error:
            raise CommandError(f"{path}: {error.strerror or error}") from None
        except (sheets.UnreadableFile, Refused) as refused:
            raise CommandError(f"{path}: {refused}") from None
        except sheets.BadRows as bad:
            self._name(bad, as_json=options["json"])
            raise SystemExit(1) from None
        self._tell(report, as_json=options["json"])

    def _bar(self) -> Progress:
        """A bar on a terminal; nothing elsewhere."""
        terminal = Console(file=stream_of(self.stderr))
        columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
        return Progress(*columns, console=terminal, transient=True, disable=not terminal.is_terminal)

    def _name(self, bad: sheets.BadRows, *, as_json: bool) -> None:
        if as_json:
            cells = [cell.as_dict() for cell in bad.errors]
            self.stdout.write(json.dumps({"errors": cells, "errors_total": bad.total}, ensure_ascii=False))
            return
        for cell in bad.errors:
            self.stderr.write(str(cell), style_func=str)
        unnamed = bad.total - len(bad.errors)
        if unnamed:
            self.stderr.write(f"and {unnamed} more", style_func=str)
        self.stderr.write(str(bad))

    def _tell(self, report: sheets.Report, *, as_json: bool) -> None:
        if as_json:
            self.stdout.write(json.dumps(report.as_dict(), ensure_ascii=False))
            return
        would = "would be " if report.dry_run else ""
        self.stdout.write(
            f"{report.rows} rows: {report.created} {would}created, {report.updated} {would}updated, "
            f"{report.unchanged} unchanged"
        )
        if report.unknown_columns:
            self.stdout.write(f"Columns that were not read: {', '.join(report.unknown_columns)}")
        for note in report.notes:
            self.stdout.write(note)
        if report.dry_run:
            self.stdout.write("This was a preview: nothing is kept.")
