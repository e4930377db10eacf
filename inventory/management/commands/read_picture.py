"""`manage.py read_picture`: what pictures of one part may say, in print or in coloured bands."""

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.decoding import Question
from inventory.management.arguments import read_file
from inventory.management.commands.decode import add_evidence, asked, print_readings
from inventory.management.helped import Helped
from inventory.pictures.along_body import BadLine
from inventory.pictures.combining import MAX_PICTURES
from inventory.pictures.enlarging import BadEnlargement
from inventory.pictures.reading import bands_answer, print_answer, read_bands, read_print
from inventory.pictures.recogniser import OcrNotInstalled
from inventory.pictures.taking_in import MAX_BYTES, PictureError, take_in
from inventory.tables import stream_of

Pictures = Sequence[bytes]


class Command(Helped):
    help = (
        "Propose what is printed on a part, or the colours of its bands, from pictures of it.\n"
        "Look whether it is right; nothing is kept.  Several pictures are of one part from the same spot,\n"
        "with light from other sides.\n\nExamples:\n"
        "  python3 manage.py read_picture disc.jpg --body disc\n"
        "  python3 manage.py read_picture board.jpg --box 410 220 300 120\n"
        "  python3 manage.py read_picture r7.jpg r7-lamp.jpg --ends 120 340 610 355"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "picture", nargs="+", type=Path, help=f"JPEG, PNG or WebP; at most {MAX_PICTURES}"
        )
        where = parser.add_mutually_exclusive_group()
        where.add_argument(
            "--box", nargs=4, type=int, metavar=("X", "Y", "W", "H"), help="the print in this box, in pixels"
        )
        where.add_argument(
            "--ends", nargs=4, type=int, metavar=("X1", "Y1", "X2", "Y2"),
            help="the bands between these ends of a body, in pixels",
        )  # fmt: skip
        add_evidence(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        paths: list[Path] = options["picture"]
        if len(paths) > MAX_PICTURES:
            raise CommandError(f"{len(paths)} pictures: at most {MAX_PICTURES} are taken together")
        pictures = [_taken_in(path) for path in paths]
        read = self._bands if options["ends"] else self._print
        try:
            read(pictures, options)
        except (OcrNotInstalled, BadLine, PictureError) as refused:
            raise CommandError(str(refused)) from None
        except BadEnlargement as refused:
            raise CommandError("; ".join(f"--box: {detail}" for _name, detail in refused.problems)) from None

    def _print(self, pictures: Pictures, options: dict[str, Any]) -> None:
        box = dict(zip("xywh", options["box"] or (), strict=False))
        found, meant = read_print(pictures, box, _question(options, "marking"))
        if options["json"]:
            self.stdout.write(json.dumps(print_answer(found, meant)))
            return
        for each, readings in zip(found.proposals, meant, strict=True):
            self.stdout.write(f"{each.text} ({each.confidence:.0%}, turned by {each.rotation} degrees)")
            print_readings(stream_of(self.stdout), readings, why=options["why"])
        for line in filter(None, (found.why_not, *found.what_to_try, *found.cautions)):
            self.stdout.write(line)

    def _bands(self, pictures: Pictures, options: dict[str, Any]) -> None:
        x1, y1, x2, y2 = options["ends"]
        seen, meant = read_bands(pictures, (x1, y1), (x2, y2), _question(options, "bands"))
        if options["json"]:
            self.stdout.write(json.dumps(bands_answer(seen, meant)))
            return
        self.stdout.write(seen.text or "no bands were found")
        print_readings(stream_of(self.stdout), meant, why=options["why"])
        for line in seen.cautions:
            self.stdout.write(line)


def _taken_in(path: Path) -> bytes:
    try:
        return take_in(read_file(path, MAX_BYTES + 1)).data
    except PictureError as refused:
        raise CommandError(f"{path}: {refused}") from None


def _question(options: dict[str, Any], name: str) -> Callable[[str], Question]:
    """What is asked of the text that a picture shows, with the rest of what is known."""
    rest = {**options, "marking": [], "bands": None}
    return lambda text: asked({**rest, name: [text] if name == "marking" else text})
