"""`manage.py evidence`: what was found out here goes out in one file; what others found comes in, apart."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from inventory.answers import as_json
from inventory.management.arguments import read_file
from inventory.management.readable import Readable, replace_file
from inventory.tables import show, stream_of
from repairs.api.evidence import EvidenceBrought, EvidenceFiles, EvidenceFileWhole
from repairs.friends import evidence, findings
from repairs.friends.keys import signature_of
from repairs.management.named import person_named, row_named
from repairs.sharing_models import EvidenceTaken, Friend


class Command(Readable):
    help = (
        "Show how much was found out here and what others found; write your own into a file, import a\n"
        "file of another workshop.  What others found settles nothing here: it raises questions, and says\n"
        "whose word it is.  A file that is put away is kept, and has no effect.\n\nExamples:\n"
        "  python3 manage.py evidence\n"
        "  python3 manage.py evidence export evidence.json\n"
        '  python3 manage.py evidence import theirs.json --friend "Lantern Street" --dry-run\n'
        '  python3 manage.py evidence put-away "Lantern Street"\n'
        "  python3 manage.py evidence schema"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        self.add_forms(parser)
        what = parser.add_subparsers(
            dest="what", metavar="export | import | show | put-away | bring-out | delete | schema"
        )
        out = what.add_parser("export", help="write what was found here into a file")
        out.add_argument("file", type=Path, help="the file; what is there is replaced")
        out.add_argument("--others", action="store_true", help="also what others found, with whose it is")
        into = what.add_parser("import", help="import another workshop's file")
        into.add_argument("file", type=Path, help="the file")
        into.add_argument("--friend", metavar="FRIEND", help="whose it is: a friend's name or number")
        into.add_argument(
            "--source", default="", metavar="NAME", help="whose it is, where it is none of the friends"
        )
        into.add_argument("--dry-run", action="store_true", help="only show what it would bring")
        into.add_argument("--by", metavar="NAME", help="who imports it")
        for name, words in (
            ("show", "print all that a file says"), ("put-away", "keep a file without any effect"),
            ("bring-out", "let a file that was put away have its effect again"), ("delete", "delete a file"),
        ):  # fmt: skip
            of_one = what.add_parser(name, help=words)
            of_one.add_argument("source", metavar="SOURCE", help="whose file: its name or number")
        what.add_parser("schema", help="print the JSON Schema of such a file")

    def handle(self, *args: Any, **options: Any) -> None:
        match options["what"]:
            case "export":
                made = findings.evidence_document(others=options["others"])
                replace_file(options["file"], iter([evidence.as_text(made, signature_of)]))
                self.stdout.write(f"{options['file']} written")
            case "import":
                self.bring(options)
            case "schema":
                self.stdout.write(json.dumps(evidence.schema(), indent=2))
            case "show" | "put-away" | "bring-out" | "delete":
                self.of_one(options)
            case _:
                self.print_all(options)

    def bring(self, options: dict[str, Any]) -> None:
        data = read_file(options["file"])
        named = options["friend"]
        friend = row_named(Friend.objects.all(), named, "friend") if named else None
        read, taken = evidence.read_evidence(data), None
        if options["dry_run"]:
            seen = findings.look(read, options["source"], friend)
        else:
            by = person_named(options["by"])
            taken, seen = findings.take(read, options["source"], friend, by=by)
        answer = EvidenceBrought.of(seen, taken)
        if options["json"]:
            self.print_json(as_json(answer))
            return
        self.print_lines(answer.lines, f"Evidence of {answer.source}, {answer.made}")
        if answer.before is not None:
            self.stdout.write(f"it replaces that of {answer.before}, with {answer.entries_before} entries")
        self.stdout.write(f"signed by {answer.signed_by}" if answer.signed_by else "not signed")
        still = ", put away as the last file was" if taken is not None and taken.put_away else ""
        self.stdout.write("nothing was changed" if taken is None else f"taken in: number {taken.pk}{still}")

    def of_one(self, options: dict[str, Any]) -> None:
        taken: EvidenceTaken = row_named(EvidenceTaken.objects.all(), options["source"], "file", "source")
        match options["what"]:
            case "put-away":
                findings.put_away(taken, True)
                self.stdout.write(f"{taken} is put away: it has no effect")
            case "bring-out":
                findings.put_away(taken, False)
                self.stdout.write(f"{taken} holds again")
            case "delete":
                taken.delete()
                self.stdout.write(f"{taken} is deleted")
            case _:
                whole = EvidenceFileWhole.of(taken)
                if options["json"]:
                    self.print_json(as_json(whole))
                else:
                    self.print_lines(whole.lines, f"Evidence of {taken.source}, {taken.made}")

    def print_lines(self, lines: list[findings.EvidenceLine], title: str) -> None:
        rows = [(each.what, each.state, each.text, each.mine) for each in lines]
        show(stream_of(self.stdout), title, ("what", "state", "theirs", "mine"), rows)

    def print_all(self, options: dict[str, Any]) -> None:
        answer = EvidenceFiles.now()
        if options["json"]:
            self.print_json(as_json(answer))
            return
        self.stdout.write(
            f"found here: {answer.substitutions} substitutions, {answer.readings} readings of markings, "
            f"{answer.windows} trials"
        )
        rows = [
            (
                str(each.id), each.source, str(each.made), str(each.substitutions), str(each.readings),
                str(each.windows), "put away" if each.put_away else "",
            )
            for each in answer.taken
        ]  # fmt: skip
        headings = ("number", "whose", "made", "substitutions", "readings", "trials", "")
        show(stream_of(self.stdout), "Found by others", headings, rows)
