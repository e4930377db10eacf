"""Linear, interface and processor types, regulators, optocouplers, and makers' letters before them.

Letters and series are from memory of the makers' data books.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from inventory.type_numbers.logic_table import makers_of
from inventory.type_numbers.tables import rows


class Linear(NamedTuple):
    function: str
    words: str
    pins: int


LINEARS: Final[dict[str, Linear]] = {}
OPTOCOUPLERS: Final[dict[str, str]] = {}
"""Optocoupler by any of its names -> what it is, in words."""
COUPLER_OUTPUTS: Final = {
    "phototransistor": "transistor",
    "photodarlington": "darlington",
    "phototriac": "triac",
    "photodiode and Schmitt trigger": "logic",
    "photodiode and transistor": "transistor",
    "photodiode and logic gate": "logic",
}
"""What an optocoupler is, behind the comma in its words -> its output, where it is one."""
OPTOCOUPLER_NAMES: Final[dict[str, str]] = {}
"""A second source's own letters before the same number -> the number that is listed."""
LINEAR_NAMES: Final[dict[str, str]] = {}
"""Makers' own numbers: Hitachi sets 17, Texas 72, Motorola and NEC 1 before the industry's."""
SELDOM: Final[set[str]] = set()
"""Names that are not among those that a partly unreadable print most likely stands for."""
for _row in rows("chips"):
    _number, _also = _row["number"], _row.get("also", "").split()
    if "seldom" in _row:
        SELDOM.update((_number, *_also))
    if _row["function"] == "optocoupler":
        OPTOCOUPLERS.update(dict.fromkeys((_number, *_also), _row["words"]))
        OPTOCOUPLER_NAMES.update(dict.fromkeys(_also, _number))
    else:
        LINEARS[_number] = Linear(_row["function"], _row["words"], int(_row.get("pins", "0")))
        LINEAR_NAMES.update(dict.fromkeys(_also, _number))

# A maker's own letters before an industry number: LM741, UA741 and RC741 are one type. Letters that others
# print too (LM, MC, NE, TL) say nothing of the maker.
_LINEAR_MAKERS = """
LM MC RC RM CA NE SE SA XR RV U R SYP SYB UM AM P D C I ID L TMS JRC M5L M5W CO NS INS AT SCN CDP S T
"""
OWN_LETTERS: Final = makers_of("""
UA Fairchild
UPC,UPD NEC
NJM,JRC JRC
KA,KS Samsung
TA,TD,TMP Toshiba
D780 NEC
HA,HD Hitachi
AN,MN Matsushita
SG Silicon General
LA Sanyo
IL,MSM Oki
GL,GD Goldstar
BA Rohm
KIA KEC
SY Synertek
UM UMC
MOS Commodore or MOS Technology
MB Fujitsu
EF Thomson
WD,FD Western Digital
N Signetics
AM AMD
M5L,M5W Mitsubishi
AT Atmel
LH Sharp
MK Mostek
INS,NS National Semiconductor
""")
# Letters that second sources print as they are.
SECOND_SOURCED: Final = frozenset(("AM", "N", "UA"))
LINEAR_MAKERS: Final = frozenset(_LINEAR_MAKERS.split()) | OWN_LETTERS.keys()
# Grades of one chip that stand inside its number.
LINEAR_NAMES.update(
    {
        **{
            f"Z80{grade}{name}": f"Z80{name}"
            for grade in ("", "A", "B", "H")
            for name in ("PIO", "CTC", "SIO", "DMA", "DART")
        },
        **{f"Z80{grade}CPU": "Z80" for grade in ("", "A", "B", "H")},
        **{f"68{speed}{digits}": f"68{digits}" for speed in "AB"
           for digits in ("00", "02", "09", "21", "40", "45", "50")},
        **{f"Z084{number}": name for number, name in
           {"00": "Z80", "10": "Z80DMA", "20": "Z80PIO", "30": "Z80CTC", "40": "Z80SIO"}.items()},
        **{f"HD63{speed}{digits}": f"68{digits}" for speed in ("", "A", "B")
           for digits in ("21", "40", "50")},
    }
)  # fmt: skip
CMOS_OF: Final = {"ICM7555": "555", "TLC555": "555", "ICM7556": "556", "TLC556": "556"}
BY_DIGITS: Final = {name.removeprefix("LM"): name for name in LINEARS if name.removeprefix("LM").isdigit()}

# Letters that begin a maker's chips of some kind: they say that much, and no more (from memory of data books;
# the T.A, S.A letters are Pro Electron's for analogue and for digital circuits).
CHIP_SERIES: Final = makers_of("""
UPC NEC linear circuit
UPD NEC MOS circuit
UPB NEC bipolar circuit
AN,DN Matsushita circuit
MN Matsushita MOS circuit
BA,BH Rohm circuit
HA Hitachi linear circuit
HD,HM,HN Hitachi digital circuit
LA,LB Sanyo circuit
LC Sanyo MOS circuit
STK,STR Sanyo or Sanken hybrid circuit
TA,TB Toshiba circuit
TC,TD,TMP Toshiba digital circuit
CX,CXA,CXB,CXD Sony circuit
KA,KB,KS Samsung circuit
KIA KEC circuit
NJM,NJU JRC circuit
TAA,TBA,TCA,TDA,TEA,UAA analogue circuit
SAA,SAB,SAF,SAS digital circuit
LM,LF,LH,DS,MM,DP National Semiconductor circuit
CA,CD,CDP RCA circuit
MC Motorola circuit
SN,TL,TLC,TMS Texas Instruments circuit
NE,SE Signetics linear circuit
XR Exar circuit
AY General Instrument circuit
SP,SL,ML Plessey circuit
ZN,ZNA Ferranti circuit
AD,OP Analog Devices circuit
MOS,CSG MOS Technology circuit
MB Fujitsu circuit
MSM Oki circuit
ULN,UDN Sprague circuit
FLH,FLJ,FLK Siemens TTL circuit
FJH,FJJ,FJK Philips TTL circuit
FCH,FCJ Philips DTL circuit
JRC JRC circuit
ICL,ICM Intersil circuit
LT,LTC Linear Technology circuit
MAX Maxim circuit
MT Mitel circuit
UC Unitrode linear circuit
CEM Curtis sound circuit
SSM Solid State Micro Technology sound circuit
HT Holtek circuit
PIC Microchip microcontroller
YM Yamaha sound circuit
""")

# 78xx and 79xx: what the two figures stand for where it is not whole volts.
REGULATOR_VOLTS: Final = {
    "05": "5", "06": "6", "08": "8", "09": "9", "10": "10", "12": "12", "15": "15", "18": "18", "20": "20",
    "24": "24", "33": "3.3", "62": "6.2", "82": "8.2", "85": "8.5",
}  # fmt: skip
REGULATOR_CURRENT: Final = {
    "": "1 A", "L": "100 mA", "M": "500 mA", "N": "300 mA", "S": "2 A", "T": "3 A", "H": "5 A"
}  # fmt: skip
# Adjustable regulators: digits -> sign of the output, what it is.
ADJUSTABLE: Final = {
    "317": ("positive", "adjustable regulator, 1.25 V reference"),
    "337": ("negative", "adjustable regulator, 1.25 V reference"),
    "338": ("positive", "adjustable regulator, 1.25 V reference, 5 A"),
    "350": ("positive", "adjustable regulator, 1.25 V reference, 3 A"),
    "723": ("positive", "adjustable regulator with its own reference"),
    "431": ("positive", "adjustable shunt reference, 2.5 V"),
}

# Fixed by a figure behind a dash or a V: name -> (sign of the output, what it is).
FIXED_BY_DASH: Final = {
    "LM2940": ("positive", "low-dropout regulator, 1 A"),
    "LM2930": ("positive", "low-dropout regulator, 150 mA"),
    "LM2931": ("positive", "low-dropout regulator, 100 mA"),
    "LM2936": ("positive", "low-dropout regulator, 50 mA"),
    "LM1117": ("positive", "low-dropout regulator, 800 mA"),
    "LM1084": ("positive", "low-dropout regulator, 5 A"),
    "LM1085": ("positive", "low-dropout regulator, 3 A"),
    "LM1086": ("positive", "low-dropout regulator, 1.5 A"),
    "LP2950": ("positive", "low-dropout regulator, 100 mA"),
    "LP2951": ("positive", "low-dropout regulator, 100 mA"),
    "LM2574": ("positive", "switching regulator, 500 mA"),
    "LM2575": ("positive", "switching regulator, 1 A"),
    "LM2576": ("positive", "switching regulator, 3 A"),
    "L4940": ("positive", "low-dropout regulator, 1.5 A"),
    "L4941": ("positive", "low-dropout regulator, 1 A"),
    "LT1086": ("positive", "low-dropout regulator, 1.5 A"),
    "LT1085": ("positive", "low-dropout regulator, 3 A"),
}
SAME_AS: Final = {"AMS1117": "LM1117", "LD1117": "LM1117", "LD1117A": "LM1117", "SPX1117": "LM1117"}
# One output each.
FIXED_ALONE: Final = {
    "LM309": ("5", "fixed positive regulator, 5 V, 1 A"),
    "LM323": ("5", "fixed positive regulator, 5 V, 3 A"),
    "BA05": ("5", "fixed positive regulator, 5 V"),
    "BA12": ("12", "fixed positive regulator, 12 V"),
}

OPTOCOUPLER_MAKERS: Final = {
    "PC": "Sharp", "TLP": "Toshiba", "TIL": "Texas Instruments", "PS": "NEC", "EL": "Everlight",
    "LTV": "Lite-On", "HCPL": "Hewlett-Packard or Agilent", "SFH": "Siemens",
}  # fmt: skip
