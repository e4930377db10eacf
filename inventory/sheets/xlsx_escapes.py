"""Text that XML cannot hold, in a workbook.

ECMA-376 part 1, 22.9.2.19: such a character is written _xHHHH_, and so is a `_` that would start one.
"""

import re

_UNWRITABLE = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")


def escaped(text: str) -> str:
    """Text as XML can hold it.

    >>> escaped("a\\rb_x0041_")
    'a_x000D_b_x005F_x0041_'
    """
    return _UNWRITABLE.sub(lambda found: f"_x{ord(found[0]):04X}_", text)


def unescaped(text: str) -> str:
    """What `escaped` was given."""
    return _ESCAPE.sub(_character, text) if "_x" in text else text


def _character(found: re.Match[str]) -> str:
    code = int(found[1], 16)
    return found[0] if 0xD800 <= code < 0xE000 else chr(code)
