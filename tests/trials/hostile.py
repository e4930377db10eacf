"""Small files that would take much memory: each refused or taken within a bound, in its own process."""

import io
import json
import resource
import struct
import subprocess
import sys
import time
import zipfile
import zlib
from collections.abc import Callable

MEGABYTES = 400
SHEET = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"


def png(width: int, height: int, colour: int, whole: bool = True) -> bytes:
    """A PNG of one colour (its specification, ISO/IEC 15948), packed small; or its beginning alone."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    channels = {0: 1, 2: 3, 6: 4}[colour]
    pack, packed = zlib.compressobj(9), b""
    if whole:
        row = bytes(1 + width * channels)
        packed = b"".join(pack.compress(row) for _row in range(height)) + pack.flush()
    head = struct.pack(">IIBBBBB", width, height, 8, colour, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")


def jpeg(width: int, height: int, mode: str = "RGB") -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.new(mode, (width, height)).save(out, "JPEG", quality=50)
    return out.getvalue()


def workbook(texts: int, length: int) -> bytes:
    """A workbook whose one cell refers to one of very many shared strings (ECMA-376, part 1)."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as book:
        book.writestr(
            "[Content_Types].xml",
            '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
            '<Default Extension="xml" ContentType="application/xml"/></Types>',
        )
        book.writestr(
            "_rels/.rels",
            f'<Relationships xmlns="{PACKAGE}"><Relationship Id="r1" Type="{RELATIONS}/officeDocument" '
            'Target="xl/workbook.xml"/></Relationships>',
        )
        book.writestr(
            "xl/_rels/workbook.xml.rels",
            f'<Relationships xmlns="{PACKAGE}"><Relationship Id="r1" Type="{RELATIONS}/worksheet" '
            'Target="worksheets/sheet1.xml"/><Relationship Id="r2" '
            f'Type="{RELATIONS}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
        )
        book.writestr(
            "xl/workbook.xml",
            f'<workbook xmlns="{SHEET}" xmlns:r="{RELATIONS}"><sheets><sheet name="S" sheetId="1" r:id="r1"/>'
            "</sheets></workbook>",
        )
        book.writestr(
            "xl/worksheets/sheet1.xml",
            f'<worksheet xmlns="{SHEET}"><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c></row></sheetData>'
            "</worksheet>",
        )
        with book.open("xl/sharedStrings.xml", "w") as part:
            part.write(f'<sst xmlns="{SHEET}">'.encode())
            for start in range(0, texts, 10_000):
                part.write(
                    "".join(
                        f"<si><t>{number:x}{number * 2654435761 % 2**32:x}{'x' * length}</t></si>"
                        for number in range(start, min(texts, start + 10_000))
                    ).encode()
                )
            part.write(b"</sst>")
    return out.getvalue()


PICTURES: dict[str, Callable[[], bytes]] = {
    "a column of 64 million pixels": lambda: png(1, 64_000_000, 0, whole=False),
    "a row of 64 million pixels": lambda: png(64_000_000, 1, 0, whole=False),
    "16 million pixels with alpha": lambda: png(5000, 3200, 6),
    "a JPEG of 64 million pixels": lambda: jpeg(8000, 8000),
    "a four-colour JPEG of 64 million pixels": lambda: jpeg(8000, 8000, "CMYK"),
}
WORKBOOKS: dict[str, Callable[[], bytes]] = {
    "two million shared texts": lambda: workbook(1_990_000, 2),
    "long shared texts": lambda: workbook(8_000, 30_000),
}


def _take(kind: str, name: str) -> None:
    """In a process of its own: take the file in, and print what came of it and the most memory it took."""
    files = PICTURES if kind == "picture" else WORKBOOKS
    data = files[name]()
    made = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    sys.stdout.write(json.dumps({"bytes": len(data), "made": made}) + "\n")
    path = sys.argv[3]
    with open(path, "wb") as out:
        out.write(data)


def _measure(kind: str, path: str) -> None:
    from tests.benchmarks import start_django

    start_django()
    from concurrent.futures import ThreadPoolExecutor

    with open(path, "rb") as file:
        data = file.read()

    def one(_number: int) -> str:
        from inventory import sheets
        from inventory.pictures.taking_in import PictureError, take_in

        try:
            if kind == "picture":
                taken = take_in(data)
                return f"taken as {taken.width} x {taken.height}"
            sheets.import_sheet(io.BytesIO(data), name="a.xlsx", kind="stock", by=None)
            return "taken"
        except PictureError as refused:
            return f"refused: {refused}"
        except Exception as refused:
            return f"refused: {type(refused).__name__}: {str(refused)[:80]}"

    start = time.monotonic()
    with ThreadPoolExecutor(3) as three:
        answers = set(three.map(one, range(3 if kind == "picture" else 1)))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    seconds = round(time.monotonic() - start, 1)
    print(json.dumps({"answers": sorted(answers), "MB": round(peak), "s": seconds}))


def run(*, long: bool, seed: int) -> list[str]:
    """What exceeded its bound; pictures are sent three at once."""
    import os
    import tempfile

    wrong = []
    with tempfile.TemporaryDirectory() as home:
        environment = {**os.environ, "REHOME_HOME": home}
        for kind, files in (("picture", PICTURES), ("workbook", WORKBOOKS)):
            for name in files:
                path = os.path.join(home, "hostile")
                again = [sys.executable, "-m", "tests.trials.hostile"]
                made = subprocess.run([*again, kind, name, path], capture_output=True, text=True, check=True)
                size = json.loads(made.stdout)["bytes"]
                output = subprocess.run(
                    [*again, kind, path], capture_output=True, text=True, env=environment, check=True
                ).stdout.splitlines()[-1]
                found = json.loads(output)
                print(
                    f"  {name}: {size:,} bytes, {found['MB']} MB, {found['s']} s, {found['answers']}",
                    flush=True,
                )
                if found["MB"] > MEGABYTES:
                    wrong.append(f"{name} took {found['MB']} MB")
    return wrong


if __name__ == "__main__":
    if len(sys.argv) == 4:
        _take(sys.argv[1], sys.argv[2])
    else:
        _measure(sys.argv[1], sys.argv[2])
