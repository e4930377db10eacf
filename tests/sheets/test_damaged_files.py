"""Damaged files are refused with a reason, whatever is broken in them; nothing else comes out of reading."""

import random
import zipfile
from io import BytesIO

import pytest

from inventory.sheets.grid import UnreadableFile
from inventory.sheets.opening import open_book
from tests.sheets.books import text_table, with_shared_strings, workbook

LINES = [
    ["Kind", "Value", "Quantity", "Place"],
    *(["resistor", f"{n}k", n, f"Drawer {n % 7}"] for n in range(60)),
]
TEXT = "\n".join(",".join(map(str, line)) for line in LINES)


def broken(data: bytes, chance: random.Random) -> bytes:
    """Cut, overwritten, doubled or shuffled somewhere."""
    spoilt = bytearray(data)
    for _ in range(chance.choice((1, 1, 3, 20))):
        at = chance.randrange(len(spoilt))
        length = chance.choice((1, 2, 8, 64))
        match chance.randrange(4):
            case 0:
                del spoilt[at : at + length]
            case 1:
                spoilt[at : at + length] = chance.randbytes(length)
            case 2:
                spoilt[at:at] = spoilt[at : at + length]
            case _:
                spoilt[at] ^= 1 << chance.randrange(8)
    return bytes(spoilt[: chance.randrange(1, len(spoilt))] if chance.random() < 0.2 else spoilt)


def broken_inside(data: bytes, chance: random.Random) -> bytes:
    """A proper zip in which one part is broken: the XML reader meets the damage, not the zip's sums."""
    out = BytesIO()
    with zipfile.ZipFile(BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        names = old.namelist()
        spoilt = chance.choice(names)
        for name in names:
            new.writestr(name, broken(old.read(name), chance) if name == spoilt else old.read(name))
    return out.getvalue()


def read_all(data: bytes) -> int:
    cells = 0
    for sheet in open_book(BytesIO(data), "damaged").sheets:
        for number, texts in sheet.rows:
            assert number >= 1
            assert all(isinstance(text, str) for text in texts)
            cells += len(texts)
    return cells


WHOLE = {
    "workbook": workbook(LINES).getvalue(),
    "workbook with shared strings": with_shared_strings(workbook(LINES)).getvalue(),
    "text": text_table(TEXT).getvalue(),
    "text in UTF-16": text_table(TEXT, "utf-16").getvalue(),
}
WAYS = {
    "workbook": (broken, broken_inside),
    "workbook with shared strings": (broken_inside,),
    "text": (broken,),
    "text in UTF-16": (broken,),
}


@pytest.mark.parametrize("kind", WHOLE)
def test_the_whole_file_is_read(kind: str) -> None:
    assert read_all(WHOLE[kind]) == 61 * 4


@pytest.mark.parametrize(("kind", "way"), [(kind, way) for kind in WHOLE for way in WAYS[kind]])
def test_a_damaged_file_is_read_or_refused(kind: str, way: object) -> None:
    assert callable(way)
    refusals = []
    for seed in range(120):
        try:
            read_all(way(WHOLE[kind], random.Random(f"{kind}{seed}")))
        except UnreadableFile as refusal:
            refusals.append(refusal)
    assert refusals
    assert {refusal.status for refusal in refusals} <= {413, 415, 422}
    assert all(refusal.detail for refusal in refusals)
