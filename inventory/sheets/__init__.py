"""Spreadsheets in and out.  Import here; the modules beside are the working parts.

- in: `import_sheet`, or `read_sheet` and then `prepared` or, to try it, `import_read`: a `Report`; or
  `UnreadableFile`; or `BadRows` with each bad cell;
- before it is imported: `as_seen` shows the sheet with its bad cells, after `import_read` has tried it;
- out: `EXPORTS` by name, `export`, and the empty `template` of each kind.

Other apps add to both, `IMPORTS` and `EXPORTS`.
"""

from inventory.sheets.as_seen import SheetsAsSeen, as_seen
from inventory.sheets.exports import EXPORTS, FORMS, Export, Option, export
from inventory.sheets.grid import LIMITS, ColumnOut, Limits, SheetOut, UnreadableFile
from inventory.sheets.importing import (
    IMPORTS,
    Import,
    ReadSheet,
    import_read,
    import_sheet,
    main_table,
    prepared,
    read_sheet,
)
from inventory.sheets.report import BadCell, BadOption, BadRows, Report
from inventory.sheets.templates import template

__all__ = [
    "EXPORTS",
    "FORMS",
    "IMPORTS",
    "LIMITS",
    "BadCell",
    "BadOption",
    "BadRows",
    "ColumnOut",
    "Export",
    "Import",
    "Limits",
    "Option",
    "ReadSheet",
    "Report",
    "SheetsAsSeen",
    "SheetOut",
    "UnreadableFile",
    "as_seen",
    "export",
    "import_sheet",
    "import_read",
    "main_table",
    "prepared",
    "read_sheet",
    "template",
]
