"""Memories by number: organisation, pins, rails, and what each maker calls them."""

from __future__ import annotations

from typing import Final, NamedTuple

from inventory.type_numbers.logic_table import makers_of
from inventory.type_numbers.tables import rows


class Memory(NamedTuple):
    function: str  # the trait's word
    organisation: str
    pins: int  # 0 where packages differ
    rails: tuple[str, ...] = ("5",)
    half: bool = False  # a half-good part of twice the size
    older: bool = False  # NMOS: access times of hundreds of ns
    socket: str = ""  # of one socket larger ones differ only in the address pins that they add


THREE_RAILS: Final = ("12", "5", "-5")

MEMORIES: Final[dict[str, Memory]] = {}
"""Industry number -> what it is. Rails only where the type is known for having more than one."""
MEMORY_NAMES: Final[dict[str, str]] = {}
"""What makers print for an industry number where that differs -> that number."""
for _row in rows("memories"):
    MEMORIES[_row["number"]] = Memory(
        _row["function"],
        _row["organisation"],
        int(_row.get("pins", "0")),
        tuple(_row["rails"].split("/")) if "rails" in _row else (),
        "half" in _row,
        "older" in _row,
        _row.get("socket", ""),
    )
    MEMORY_NAMES.update(dict.fromkeys(_row.get("also", "").split(), _row["number"]))

GRADES: Final = {
    (_row["make"], _row["number"], _row["grade"]): _row["access_ns"] for _row in rows("memory_grades")
}
"""One figure behind the dash, as that maker counts it -> ns."""

# NEC prints D for µPD; a D behind which any other number stands is Intel's, for its ceramic package.
MEMORY_NAMES.update(
    {f"D{name[3:]}": number for name, number in MEMORY_NAMES.items() if name.startswith("UPD")}
)

_FIGURES: Final = [("".join(filter(str.isdigit, name)), number) for name, number in MEMORY_NAMES.items()]
# The figures alone of makers' own numbers, where they are of one memory only.
BY_FIGURES: Final = {
    figures: number
    for figures, number in [*_FIGURES, *((number, number) for number in MEMORIES if number.isdigit())]
    if len(figures) > 3 and {other for same, other in _FIGURES if same == figures} <= {number}
}

# A Texas 2716 is the older three-rail part; everybody else's is single-rail (the same for 2708 everywhere).
THREE_RAIL_2716: Final = "TMS2716"
NOT_QUITE: Final = (THREE_RAIL_2716, "MCM6664")
"""Makers' numbers that do not serve for the industry's: other rails; refresh on pin 1 (from memory)."""

MEMORY_MAKERS: Final = makers_of("""
MK Mostek
TMS,SN,TBP Texas Instruments
TMM,TC Toshiba
HM,HN,HD Hitachi
UPD NEC
MB,MBM Fujitsu
MSM Oki
M5K,M5L,M5M Mitsubishi
MCM,MC Motorola
KM Samsung
MT Micron
MN Matsushita
HYB Siemens
HY Hyundai
GM Goldstar
LH Sharp
AM AMD
MM,NMC,DM National Semiconductor
IMS Inmos
ITT ITT
D,P,C,I Intel
M,ET SGS
N Signetics
AT Atmel
W Winbond
UM UMC
CY Cypress
IDT Integrated Device Technology
SRM Seiko Epson
CXK Sony
LC Sanyo
F Fairchild
NTE NTE
SY Synertek
EA EA
GTE GTE
WS Waferscale
CAT Catalyst
X Xicor
IS ISSI
AS Alliance Semiconductor
SST Silicon Storage Technology
CDM RCA
U VEB
EF Thomson
MMI Monolithic Memories
NM National Semiconductor
ST SGS
S AMI
BS Brilliance
""")

# These made nothing in tens of ns under two figures: -45 is 45 ns, -70 is 70 ns.
PLAIN_NANOSECONDS: Final = frozenset(
    [
        "Cypress",
        "Integrated Device Technology",
        "Winbond",
        "ISSI",
        "Alliance Semiconductor",
        "Silicon Storage Technology",
        "UMC",
    ]
)
