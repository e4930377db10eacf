"""Whether a row of a list is a position that is not to be fitted: `DNP`, `nicht bestückt`.  Pure."""

import re
from collections.abc import Mapping

from inventory.part_words.kind_words import plainly
from inventory.sheets.free.tables import FreeTable

_CODE = re.compile(r"(?<![\w.-])(?:dn[pfi]|d\.n\.[pfi])(?![\w-])")
"""Do not populate, do not fit, do not install (common practice, no source)."""
_WORDS = re.compile(
    r"""(?<!\w)(?:
    do \s not \s (?:fit|populate|place|install|mount|stuff|assemble)
    | not \s (?:fitted|populated|placed|installed|mounted|stuffed|assembled)
    | nicht \s best(?:u|ue)ck(?:t|en) | unbest(?:u|ue)ckt
    | non \s (?:montee?|implantee?) | ne \s pas \s (?:monter|implanter)
    | no \s mont(?:ar|ado|ada) | sin \s montar | nao \s mont(?:ar|ado|ada)
    | non \s mont(?:are|at[oaie])
    | nie \s montowac | nie \s?montowan[yae]
    | niet \s (?:plaatsen|geplaatst|monteren|gemonteerd)
    | ikke \s mont(?:eret|ert) | monteres \s ikke | ej \s monterad | monteras \s (?:ej|inte)
    | neosazovat | neosazen[oyae]? | nu \s se \s monteaza | не \s устанавливать
    )(?!\w|\s(?:with|mit|avec|con|too|over|until|before|near|next)\b)""",
    re.VERBOSE,
)
_NOT_PUT_ON = re.compile(r"(?:^|.*[\s;,])n\. ?b|nb")
"""`n.b.` for `nicht bestückt` at the end of a cell, where nothing follows that one should note well."""
_NO = frozenset(
    ("no", "n", "0", "false", "nein", "non", "nej", "nei", "nie", "nee", "nao", "ne", "nem", "ei", "-", "–")
)


def not_fitted(table: FreeTable, cells: Mapping[str, str]) -> str:
    """The cell that says that the position is not to be fitted; blank where none does.

    Words count beside references alone: `not fitted` of a part in a drawer says that it is new.
    """
    has_refs = any(column.meaning == "refs" and cells[column.heading] for column in table.columns)
    for column in table.columns:
        cell = cells[column.heading]
        word = plainly(cell.strip())
        if column.meaning == "not_fitted":
            says = bool(word) and word not in _NO
        elif column.meaning == "fitted" and word in _NO:
            says = True
        else:
            says = has_refs and _says_so(word)
        if says:
            return cell[:60]
    return ""


def _says_so(word: str) -> bool:
    return bool(_CODE.search(word) or _WORDS.search(word) or _NOT_PUT_ON.fullmatch(word))
