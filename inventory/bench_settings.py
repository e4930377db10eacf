"""What is set once for the whole bench: its name, the era that parts are of, label sheets, its address,
which backups are kept."""

import re
from collections.abc import Mapping
from urllib.parse import urlsplit

from django.db import transaction

from inventory.backups.dated import rule_of
from inventory.labels import STOCKS
from inventory.models import BenchSettings

ONLY = 1
SETTINGS = ("name", "era", "labels", "address", "backups")


class BadSettings(Exception):
    """What cannot be set: the reason, by the name of each setting."""

    def __init__(self, problems: Mapping[str, str]) -> None:
        super().__init__("; ".join(f"{name}: {detail}" for name, detail in problems.items()))
        self.problems = dict(problems)


def settings_of_bench() -> BenchSettings:
    """The one row; as it is before anybody set anything where there is none."""
    return BenchSettings.objects.filter(pk=ONLY).first() or BenchSettings(pk=ONLY)


@transaction.atomic
def set_bench(given: Mapping[str, str]) -> BenchSettings:
    """Set what is given, all of it or nothing; the rest stays.  BadSettings says what cannot be set."""
    texts = {name: text.strip() for name, text in given.items()}
    if "address" in texts:
        texts["address"] = texts["address"].rstrip("/")
    problems = {name: wrong for name, text in texts.items() if (wrong := _wrong(name, text))}
    if problems:
        raise BadSettings(problems)
    row, _made = BenchSettings.objects.select_for_update().get_or_create(pk=ONLY)
    changed = [name for name, text in texts.items() if getattr(row, name) != text]
    for name in changed:
        setattr(row, name, texts[name])
    if changed:
        row.version += 1
        row.save(update_fields=[*changed, "version"])
    return row


def _wrong(name: str, text: str) -> str:
    """Why this cannot be set; blank where it can, and an empty text always can."""
    if name not in SETTINGS:
        return f"there is no such setting; there are {', '.join(SETTINGS)}"
    if not text.isprintable():
        return "expected one line of printable characters"
    longest: int | None = getattr(BenchSettings._meta.get_field(name), "max_length", None)
    if longest is not None and len(text) > longest:
        return f"expected at most {longest} characters"
    if name == "era" and text and not re.fullmatch(r"(19|20)[0-9][0-9]", text):
        return "expected a year, as 1984"
    if name == "labels" and text and text not in STOCKS:
        return f"expected one of {', '.join(STOCKS)}"
    if name == "backups" and text:
        try:
            rule_of(text)
        except ValueError as wrong:
            return str(wrong)
    if name == "address" and text and not _is_address(text):
        return "expected an address such as http://10.0.0.7:8000"
    return ""


def _is_address(text: str) -> bool:
    try:
        parts = urlsplit(text)
        return parts.scheme in ("http", "https") and bool(parts.hostname) and not set(text) & set(' "<>')
    except ValueError:
        return False
