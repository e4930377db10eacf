"""Backups: one file with everything that a workshop is, from either database and onto either.

`write` takes one while people work; `opened` checks one; `restore` puts one in the place of what is there and
keeps that.  A backup that is damaged or newer than this Rehome is a BadBackup.
"""

from inventory.backups.archive import Backup, BadBackup, opened
from inventory.backups.dated import USUAL_RULE, Dated, age, dated, folder, last_good, take_dated
from inventory.backups.restoring import Restored, restore
from inventory.backups.taking import write

__all__ = [
    "USUAL_RULE", "Backup", "BadBackup", "Dated", "Restored", "age", "dated", "folder", "last_good", "opened",
    "restore", "take_dated", "write",
]  # fmt: skip
