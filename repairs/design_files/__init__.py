"""A design in one file, from one workshop to another: `document` is the format, `archive` the zip, `merging`
lays a file beside what is there, `keeping` writes one and brings one in."""

from repairs.design_files.archive import MAX_FILE, Opened, read
from repairs.design_files.document import SECTIONS, Credit, DesignDocument, schema
from repairs.design_files.keeping import (
    LEAVABLE,
    document_of,
    file_of,
    files_named,
    import_design,
    named_as,
    preview,
    records_of,
    set_credits,
    undo,
)
from repairs.design_files.merging import (
    BOTH,
    DIFFERS,
    MINE,
    NEW,
    ONLY_MINE,
    SAME,
    STATES,
    TAKES,
    THEIRS,
    Merged,
    MergeLine,
)

__all__ = [
    "BOTH", "DIFFERS", "LEAVABLE", "MAX_FILE", "MINE", "NEW", "ONLY_MINE", "SAME", "SECTIONS", "STATES",
    "TAKES", "THEIRS", "Credit", "DesignDocument", "MergeLine", "Merged", "Opened", "document_of",
    "file_of", "files_named", "import_design", "named_as", "preview", "read", "schema", "set_credits",
    "records_of", "undo",
]  # fmt: skip
