"""Taking a backup while people work: the database as it is at one moment, and the pictures it shows."""

import json
import os
import re
from datetime import datetime
from importlib.metadata import version
from pathlib import Path
from zipfile import ZIP_STORED, ZipFile, ZipInfo

from django.conf import settings
from django.db import connection
from django.utils import timezone

from inventory import attachments
from inventory.backups import tables
from inventory.backups.archive import FORMAT, MANIFEST, opened, writing
from inventory.installation import applied_migrations, private
from inventory.snapshot import one_moment

LAST = "last-backup.json"
"""The file under HOME that says when the last good backup was taken."""
KEPT_FILES = ("secret-key", "demo-password")
SECRET = ("REHOME_HOME", "REHOME_SECRET_KEY")
"""Settings of the environment that no backup holds."""
_PICTURE = re.compile(r"[0-9a-f]{64}\.jpg")
_ATTACHMENT = re.compile(r"[0-9a-f]{64}")


def write(path: Path) -> Path | None:
    """Write a backup, open it again and check it; where an earlier file of that name is kept now, if one was.

    Raises OSError where the disk will not have it, BadBackup where it reads back otherwise.
    """
    with writing(path) as archive, one_moment():
        _fill(archive)
        earlier = _make_way(path)
    with opened(path) as backup:
        record = {"at": backup.manifest["made_at"], "file": str(path)}
    if not path.name.startswith("before-"):
        (Path(settings.HOME) / LAST).write_text(json.dumps(record))
        private(Path(settings.HOME) / LAST)
    return earlier


def picture_files() -> list[Path]:
    """The pictures themselves, without the smaller ones that are made of them."""
    folder = Path(settings.MEDIA_ROOT)
    return sorted(path for path in folder.glob("??/*.jpg") if _PICTURE.fullmatch(path.name))


def attachment_files() -> list[Path]:
    return sorted(path for path in attachments.folder().glob("??/*") if _ATTACHMENT.fullmatch(path.name))


def _fill(archive: ZipFile) -> None:
    kept_by_content = [("pictures", path) for path in picture_files()]
    kept_by_content += [("attachments", path) for path in attachment_files()]
    for folder, path in kept_by_content:
        name = f"{folder}/{path.parent.name}/{path.name}"
        try:
            archive.writestr(_stored(name), path.read_bytes())
        except FileNotFoundError:
            continue  # removed since the folder was read
    for name in KEPT_FILES:
        kept = Path(settings.HOME) / name
        if kept.exists():
            archive.writestr(_stored(name), kept.read_bytes())
    present = tables.present()
    contents = {}
    for table in present:
        with archive.open(f"tables/{table._meta.db_table}.jsonl", "w", force_zip64=True) as out:
            contents[table._meta.db_table] = tables.write_table(table, out)
    manifest = {
        "format": FORMAT,
        "rehome": version("rehome"),
        "made_at": timezone.now().isoformat(timespec="seconds"),
        "database": connection.vendor,
        "migrations": applied_migrations(),
        "tables": contents,
        "last_ids": tables.last_ids(present),
        "settings": {
            name: value
            for name, value in sorted(os.environ.items())
            if name.startswith("REHOME_") and name not in SECRET
        },
    }
    archive.writestr(MANIFEST, json.dumps(manifest, indent=1))


def _stored(name: str) -> ZipInfo:
    """A member that is written as it is: pictures and data sheets get no smaller."""
    member = ZipInfo(name, datetime.now().timetuple()[:6])
    member.compress_type, member.external_attr = ZIP_STORED, 0o600 << 16
    return member


def _make_way(path: Path) -> Path | None:
    """Give an earlier file of this name another, by the time at which it was written."""
    if not path.exists():
        return None
    written = datetime.fromtimestamp(path.stat().st_mtime)
    earlier = path.with_name(f"{path.stem}-{written:%Y%m%dT%H%M%S}{path.suffix}")
    count = 1
    while earlier.exists():
        count += 1
        earlier = path.with_name(f"{path.stem}-{written:%Y%m%dT%H%M%S}-{count}{path.suffix}")
    path.rename(earlier)
    return earlier
