"""`manage.py import_sheet`: a spreadsheet into the workshop."""

import json
import shlex
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from inventory import sheets
from inventory.ledger import Refused
from inventory.management.helped import Helped
from inventory.sheets import free
from inventory.tables import stream_of


class Command(Helped):
    help = (
        "Import a spreadsheet (xlsx or csv): stock, a design's parts list, a survey of donor boards, or the\n"
        "buy list with its lines marked ordered or received.\n"
        "It is kept whole or not at all; bad cells are all named, and the exit status is 1 then.\n\n"
        "Example:\n"
        "  python3 manage.py export_sheet stock empty.xlsx --empty\n"
        "  python3 manage.py import_sheet drawers.xlsx --as stock --dry-run\n"
        "  python3 manage.py import_sheet buy.xlsx --as buy\n"
        "A list as you have it (also xls, ods), each row read, what is doubtful said:\n"
        "  python3 manage.py import_sheet shed.ods --any --dry-run\n"
        "  python3 manage.py import_sheet shed.ods --any --map Wert=value --place 'Box 3'\n"
        "  python3 manage.py import_sheet shed.ods --any --decimal Wert=, --unit Wert=ohm --place 'Box 3'"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="an .xlsx or .csv file; with --any also .xls and .ods")
        parser.add_argument("--as", dest="kind", choices=list(sheets.IMPORTS), help="what is in it")
        parser.add_argument("--any", action="store_true", help="a list in any form, as stock or as design")
        parser.add_argument(
            "--map",
            action="append",
            default=[],
            metavar="HEADING=MEANING",
            help=f"with --any, what a column holds: {', '.join(free.MEANINGS)}, or nothing",
        )
        parser.add_argument(
            "--decimal",
            action="append",
            default=[],
            metavar="HEADING=SIGN",
            help="with --any, the decimal sign of a column in which 1.000 could be a thousand: , or .",
        )
        parser.add_argument(
            "--unit",
            action="append",
            default=[],
            metavar="HEADING=UNIT",
            help="with --any, what the figures of a column without a unit are: "
            + ", ".join(free.UNITS_OF_FIGURES),
        )
        parser.add_argument(
            "--corrections",
            type=Path,
            metavar="FILE",
            help="with --any, JSON as `imports/` of the API takes it",
        )
        parser.add_argument("--place", default="", help="with --any, where rows go that name no place")
        parser.add_argument("--design", default="", help="with --any --as design, its name")
        parser.add_argument("--revision", default="", help="with --any --as design, its revision")
        parser.add_argument("--dry-run", action="store_true", help="only show what it would do")
        parser.add_argument("--json", action="store_true", help="print the report, or the bad cells, as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            report = self._any(path, options) if options["any"] else self._ours(path, options)
        except OSError as error:
            raise CommandError(f"{error.filename or path}: {error.strerror or error}") from None
        except (sheets.BadOption, UnicodeDecodeError) as refused:
            raise CommandError(str(refused)) from None
        except (sheets.UnreadableFile, Refused) as refused:
            raise CommandError(f"{path}: {refused}") from None
        except sheets.BadRows as bad:
            self._name(bad, as_json=options["json"])
            raise SystemExit(1) from None
        if report:
            self._print_report(report, as_json=options["json"])

    def _ours(self, path: Path, options: dict[str, Any]) -> sheets.Report:
        """A sheet of ours, imported whole or, as a dry run, not at all."""
        if not options["kind"]:
            raise CommandError("expected --as with what is in it, or --any for a list in any form")
        with path.open("rb") as file, self._bar() as bar:
            task = bar.add_task("reading", total=None)

            def progress(stage: str, done: int) -> None:
                bar.update(task, description=stage, completed=done)

            sheet = sheets.read_sheet(file, name=path.name, kind=options["kind"], progress=progress)
            bar.update(task, total=sheet.found.count)
            if options["dry_run"]:
                return sheets.import_read(sheet, by=None, dry_run=True, progress=progress)
            with sheets.prepared(sheet, by=None, progress=progress) as import_now:
                return import_now()

    def _any(self, path: Path, options: dict[str, Any]) -> sheets.Report | None:
        """A list in any form, imported; shown, and None, as a dry run."""
        kind = options["kind"] or "stock"
        if kind not in free.TABLES:
            raise CommandError(f"with --any expected --as one of {', '.join(free.TABLES)}")
        if kind == "design" and not options["design"] and not options["dry_run"]:
            raise CommandError("expected --design with the name of the design")
        target = free.ImportTarget(kind, **{name: options[name] for name in ("place", "design", "revision")})
        mapping = free.read_mapping(json.dumps(dict(_pair("map", each) for each in options["map"])))
        corrections: Path | None = options["corrections"]
        changes = free.read_corrections(corrections.read_text(encoding="utf-8")) if corrections else []
        of_columns = [
            {"column": heading, name: said}
            for name in ("decimal", "unit")
            for heading, said in (_pair(name, each) for each in options[name])
        ]
        changes += free.read_corrections(json.dumps(of_columns))
        with path.open("rb") as file:
            parts = free.read_list(file, path.name, mapping=mapping, corrections=changes)
        if options["dry_run"]:
            self._show(parts, as_json=options["json"])
            return None
        return free.import_list(parts, target, by=None)

    def _show(self, parts: free.FreeList, *, as_json: bool) -> None:
        """What each row is read as, beside what was typed."""
        preview = parts.as_dict()
        if as_json:
            self.stdout.write(json.dumps(preview, ensure_ascii=False))
            return
        for table in preview["tables"]:
            columns = ", ".join(
                f"{heading}: {meaning or 'not read'}" for heading, meaning in table["mapping"].items()
            )
            self.stdout.write(f"{table['sheet']}, headings in row {table['first_row']}: {columns}")
            for heading, convention in table["conventions"].items():
                self.stdout.write(f"  {heading}: {convention}")
            for row in table["rows"]:
                count = "?" if row["quantity"] is None else row["quantity"]
                where = f", {row['place']}" if row["place"] else ""
                self.stdout.write(f"  {row['row']}: {row['typed']}")
                self.stdout.write(f"      {count} x {row['spec_text'] or 'nothing known'}{where}")
                for line in (*row["doubt"], *(f"TO SETTLE: {each}" for each in row["problem"])):
                    self.stdout.write(f"      {line}")
                for choice in row["choices"]:
                    self.stdout.write(f"        {choice['why']}: {choice['spec_text']}")
            for question in table["questions"]:
                asks = question["asks"]
                unit = "in what are figures without a unit, such as " if asks == "unit" else "what is "
                self.stdout.write(f"  {question['column']}: {unit}{question['example']}?")
                for choice in question["choices"]:
                    answer = shlex.quote(f"{question['column']}={choice[asks]}")
                    self.stdout.write(f"    --{asks} {answer}  {choice['means']}")
        for note in preview["notes"]:
            self.stdout.write(note)
        self.stdout.write(f"{preview['rows']} rows, {preview['to_settle']} to settle. Nothing is kept.")

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

    def _print_report(self, report: sheets.Report, *, as_json: bool) -> None:
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


def _pair(name: str, text: str) -> tuple[str, str]:
    """`Wert=value` as heading and meaning.  CommandError where there is no equals sign."""
    heading, sign, meaning = text.rpartition("=")
    if not sign or not (heading or name == "map"):
        expected = {"map": "MEANING", "decimal": "SIGN", "unit": "UNIT"}[name]
        raise CommandError(f"--{name} {text[:60]}: expected HEADING={expected}")
    return heading, meaning
