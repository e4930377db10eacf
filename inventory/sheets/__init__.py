"""Spreadsheets in and out.  Import here; the modules beside are the working parts.

- in: `import_sheet`, or `read_sheet` and then `land`: a `Report`; or `UnreadableFile`; or `BadRows` with each
  bad cell;
- out: `EXPORTS` by name (other apps add theirs), `export`, and the empty `template` of each kind.
"""

from inventory.sheets.grid import LIMITS, Limits, UnreadableFile
from inventory.sheets.importing import IMPORTS, ReadSheet, import_sheet, land, read_sheet
from inventory.sheets.report import BadCell, BadRows, Report

__all__ = [
    "IMPORTS",
    "LIMITS",
    "BadCell",
    "BadRows",
    "Limits",
    "ReadSheet",
    "Report",
    "UnreadableFile",
    "import_sheet",
    "land",
    "read_sheet",
]
