"""`manage.py doctor`: what is wrong with this installation, and how to mend it."""

from typing import Any

from django.core.management.base import CommandParser

from inventory.answers import as_json
from inventory.management.readable import Readable
from repairs.doctor import Health, diagnose


class Command(Readable):
    help = (
        "Say what is wrong with this installation and how to mend it: folder, modes, free space, clock,\n"
        "versions, database, pictures, secret key, hosts, last backup, audit.  Exit status 1 if any is.\n\n"
        "Example:\n  python3 manage.py doctor"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="print them as the API answers them")

    def handle(self, *args: Any, **options: Any) -> None:
        findings = diagnose()
        wrong = [finding for finding in findings if finding.wrong]
        if options["json"]:
            self.print_json(as_json(Health.of(findings)))
        else:
            for finding in findings:
                self.stdout.write(
                    f"{'WRONG' if finding.wrong else 'note '}  {finding.check}: {finding.detail}\n"
                    f"       to mend it: {finding.mend}"
                )
            count = "1 thing is" if len(wrong) == 1 else f"{len(wrong)} things are"
            self.stdout.write(f"{count} wrong" if wrong else "all is well")
        if wrong:
            raise SystemExit(1)
