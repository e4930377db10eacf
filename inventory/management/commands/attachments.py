"""`manage.py attachments`: data sheets and other files with parts and designs."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.db.models import QuerySet

from inventory import attachments
from inventory.api.attachments import AttachmentSerializer
from inventory.management.arguments import design_named, read_file
from inventory.management.readable import Readable, replace_file
from inventory.models import Attachment, Part
from inventory.tables import show, stream_of
from inventory.whole_numbers import whole_number

HEADINGS = ("number", "name", "with", "type", "bytes")


class Command(Readable):
    help = (
        "List the files that are kept with parts and designs; `add` keeps one, `get` writes it out,\n"
        "`rename` and `take_off` change it.  What is taken off is kept, and listed with `--loose`.\n\n"
        "Examples:\n"
        "  python3 manage.py attachments\n"
        '  python3 manage.py attachments add bc547.pdf --part "BC547B"\n'
        '  python3 manage.py attachments add schematic.pdf --design "Tern TR6 main board C"\n'
        "  python3 manage.py attachments get 1 bc547.pdf"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        self._add_owner(parser)
        parser.add_argument("--loose", action="store_true", help="only those that were taken off")
        self.add_forms(parser)
        what = parser.add_subparsers(dest="what", metavar="add | get | rename | take_off")
        adding = what.add_parser("add", help="keep a file: PDF, JPEG, PNG, WebP or UTF-8 text")
        adding.add_argument("file", type=Path)
        adding.add_argument("--name", default="", help="another name than that of the file")
        self._add_owner(adding)
        getting = what.add_parser("get", help="write one out")
        renaming = what.add_parser("rename", help="give one another name")
        taking = what.add_parser("take_off", help="take one off what it is with; the file is kept")
        for each in (getting, renaming, taking):
            each.add_argument("row", metavar="NUMBER", help="its number, as listed")
        getting.add_argument("out", type=Path, metavar="FILE", help="where to; a file there is replaced")
        renaming.add_argument("name", help="the new name")

    def _add_owner(self, parser: CommandParser) -> None:
        parser.add_argument("--part", metavar="PART", help="with this part, by number, name or type number")
        parser.add_argument("--design", metavar="DESIGN", help="with this design")

    def handle(self, *args: Any, **options: Any) -> None:
        rows = getattr(self, options["what"] or "found")(options)
        if options["json"]:
            self.print_json({"results": AttachmentSerializer(rows, many=True).data})
            return
        cells = [
            (str(row.pk), row.name, str(row.part or row.design or "nothing"), row.type, str(row.size))
            for row in rows
        ]
        show(stream_of(self.stdout), "Files", HEADINGS, cells)

    def found(self, options: dict[str, Any]) -> QuerySet[Attachment]:
        rows = Attachment.objects.select_related("part", "design", "by").order_by("id")
        if options["part"]:
            rows = rows.filter(part=part_named(options["part"]))
        if options["design"]:
            rows = rows.filter(design=design_named(options["design"]))
        return rows.filter(part=None, design=None) if options["loose"] else rows

    def add(self, options: dict[str, Any]) -> list[Attachment]:
        if bool(options["part"]) == bool(options["design"]):
            raise CommandError("say the part with --part, or the design with --design")
        owner = part_named(options["part"]) if options["part"] else design_named(options["design"])
        path = options["file"]
        data = read_file(path, attachments.MAX_BYTES + 1)
        return [attachments.keep(data, options["name"] or path.name, to=owner, by=None)]

    def get(self, options: dict[str, Any]) -> list[Attachment]:
        row = self.row(options)
        try:
            data = attachments.file_of(row).read_bytes()
        except attachments.AttachmentLost as lost:
            raise CommandError(str(lost)) from None
        replace_file(options["out"], iter([data]))
        return [row]

    def rename(self, options: dict[str, Any]) -> list[Attachment]:
        row = self.row(options)
        attachments.rename(row, options["name"])
        return [self.row(options)]

    def take_off(self, options: dict[str, Any]) -> list[Attachment]:
        attachments.take_off(self.row(options))
        return [self.row(options)]

    def row(self, options: dict[str, Any]) -> Attachment:
        number = whole_number(options["row"])
        rows = Attachment.objects.select_related("part", "design", "by")
        row = rows.filter(pk=number).first() if number is not None else None
        if row is None:
            raise CommandError(f"no file has the number {options['row']}")
        return row


def part_named(text: str) -> Part:
    """The part of that number or name, or the only one of that type number.  CommandError otherwise."""
    if (number := whole_number(text)) is not None and (part := Part.objects.filter(pk=number).first()):
        return part
    for found in (Part.objects.filter(name=text), Part.objects.filter(spec__number__iexact=text)):
        match list(found.order_by("id")[:11]):
            case [part]:
                return part
            case []:
                continue
            case several:
                listed = "; ".join(f"{each.pk} {each}" for each in several[:10])
                raise CommandError(f"{text} is several parts: {listed}; say which by its number")
    raise CommandError(f"no part is named {text}; `find {text}` looks for it")
