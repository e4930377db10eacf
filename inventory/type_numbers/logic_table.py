"""What published lists say behind a logic number: functions, families, packages, makers' prefixes.

Prefixes and packages are from memory of the makers' data books. A number that is not in the tables is still
read by its naming system; only its function and pin count stay unsaid.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from inventory.type_numbers.tables import rows


class Function(NamedTuple):
    words: str
    pins: int
    open_collector: bool = False


def _functions(table: str) -> dict[str, Function]:
    return {
        row["number"]: Function(row["words"], int(row["pins"]), "open_collector" in row)
        for row in rows(table)
    }


def makers_of(table: str) -> dict[str, str]:
    """`prefix,prefix… maker`, one a line; no prefix, no maker."""
    found = {"": ""}
    for row in table.strip().splitlines():
        prefixes, maker = row.split(maxsplit=1)
        found.update(dict.fromkeys(prefixes.split(","), maker))
    return found


LOGIC: Final = _functions("logic")
CMOS_4000: Final = _functions("cmos")

# Family letters between the series number and the function -> the trait's word.
FAMILIES: Final = {
    letters: letters.lower() or "std"
    for letters in (
        "", "L", "H", "S", "LS", "AS", "ALS", "F", "C", "HC", "HCT", "HCU", "AC", "ACT", "ACQ", "ACTQ",
        "AHC", "AHCT", "VHC", "VHCT", "FCT", "BCT", "ABT", "LV", "LVC", "LVT", "LVX", "ALVC", "AUC", "CBT",
    )
}  # fmt: skip

LOGIC_MAKERS: Final = makers_of("""
SN,SNJ Texas Instruments
MH Tesla
UCY Cemi
DM,MM National Semiconductor
MC Motorola
HD Hitachi
N,S Signetics
M Mitsubishi or SGS
T,HCF,HCC SGS
TC,TD Toshiba
CD RCA
PC,PCF,HEF Philips
UPD,UPB NEC
MB Fujitsu
MSM Oki
BU Rohm
GD Goldstar
KS Samsung
F Fairchild
LR Sharp
IDT Integrated Device Technology
LC Sanyo
MN Matsushita
FLH Siemens
ITT ITT
SCL Solid State Scientific
HBF,HBC SGS
""")

# Maker ("-": most of them), package, and the suffixes that say so. The longest suffix that fits counts.
PACKAGES: Final[dict[str, dict[str, str]]] = {}
for _row in """
-|plastic dual in line|N P E BE AE UBE CN
-|ceramic dual in line|J BF
-|narrow plastic dual in line|NT
-|small outline|D M NS
-|wide small outline|DW WM
-|shrink small outline|DB
-|thin shrink small outline|PW
-|flat pack|W FP
-|leadless chip carrier|FK
RCA|plastic dual in line|E
RCA|ceramic dual in line|F D
Motorola|plastic dual in line|P CP BCP
Motorola|ceramic dual in line|L BCL BAL
Philips|plastic dual in line|P BP
Philips|ceramic dual in line|BD
Philips|small outline|D T BT
SGS|plastic dual in line|B1 B1R BE BEY
SGS|small outline|M1 M1R
Signetics|ceramic dual in line|F
Toshiba|plastic dual in line|P AP BP
Toshiba|small outline|F AF BF
NEC|plastic dual in line|C
NEC|ceramic dual in line|D
NEC|small outline|G
""".strip().splitlines():
    _maker, _package, _suffixes = _row.split("|")
    for _suffix in _suffixes.split():
        PACKAGES.setdefault(_maker.strip("-"), {})[_suffix] = _package
