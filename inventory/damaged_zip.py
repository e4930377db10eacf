"""What zipfile raises on an archive that is damaged, locked, or made by a program that packs otherwise."""

import zlib
from zipfile import BadZipFile

DAMAGED_ZIP = (
    BadZipFile,
    EOFError,
    KeyError,  # no member of that name
    OSError,
    RuntimeError,  # locked; as NotImplementedError, packed in an unknown way
    ValueError,
    zlib.error,
)
