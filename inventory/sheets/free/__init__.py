"""Lists as people have them: any spreadsheet, its tables found, its columns guessed, its rows read.

`read_list` reads a file and writes nothing; `import_list` imports what was read, whole or not at all.
"""

from inventory.sheets.free.choices import LABELS as UNITS_OF_FIGURES
from inventory.sheets.free.corrections import (
    Correction,
    NothingToCorrect,
    read_corrections,
    read_mapping,
)
from inventory.sheets.free.headings import MEANINGS
from inventory.sheets.free.importing import (
    TABLES,
    FreeList,
    ImportTarget,
    as_sheet,
    import_list,
    prepared_list,
    read_list,
)

__all__ = [
    "MEANINGS",
    "TABLES",
    "UNITS_OF_FIGURES",
    "Correction",
    "FreeList",
    "ImportTarget",
    "NothingToCorrect",
    "as_sheet",
    "import_list",
    "prepared_list",
    "read_corrections",
    "read_list",
    "read_mapping",
]
