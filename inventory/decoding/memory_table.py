"""Memories by number: organisation, pins, rails, and what each maker calls them.

From memory of the makers' data books, the dynamic ones checked against two published lists (see
tests/decoding/test_semiconductors.py).
"""

from __future__ import annotations

from typing import Final, NamedTuple

from .logic_table import makers_of


class Memory(NamedTuple):
    function: str  # the trait's word
    organisation: str
    pins: int  # 0 where packages differ
    rails: tuple[str, ...] = ("5",)
    half: bool = False  # a half-good part of twice the size
    older: bool = False  # NMOS: access times of hundreds of ns


THREE_RAILS: Final = ("12", "5", "-5")

# Industry number -> what it is. Rails only where the type is known for having more than one.
MEMORIES: Final[dict[str, Memory]] = {
    "2104": Memory("dram", "4Kx1", 16, THREE_RAILS, older=True),
    "4027": Memory("dram", "4Kx1", 16, THREE_RAILS, older=True),
    "4096": Memory("dram", "4Kx1", 16, THREE_RAILS, older=True),
    "4116": Memory("dram", "16Kx1", 16, THREE_RAILS, older=True),
    "4108": Memory("dram", "8Kx1", 16, THREE_RAILS, half=True, older=True),
    "2118": Memory("dram", "16Kx1", 16, older=True),
    "4517": Memory("dram", "16Kx1", 16, older=True),
    "4164": Memory("dram", "64Kx1", 16, older=True),
    "4532": Memory("dram", "32Kx1", 16, half=True, older=True),
    "3732": Memory("dram", "32Kx1", 16, half=True, older=True),
    "4416": Memory("dram", "16Kx4", 18, older=True),
    "41256": Memory("dram", "256Kx1", 16),
    "41464": Memory("dram", "64Kx4", 18),
    "411000": Memory("dram", "1Mx1", 18),
    "44256": Memory("dram", "256Kx4", 20),
    "44400": Memory("dram", "1Mx4", 0),
    "44100": Memory("dram", "4Mx1", 0),
    "41257": Memory("dram", "256Kx1", 16),
    "41258": Memory("dram", "256Kx1", 16),
    "514260": Memory("dram", "256Kx16", 40),
    "6632": Memory("dram", "32Kx1", 16, half=True, older=True),
    "1103": Memory("dram", "1Kx1", 18, (), older=True),
    "TMS4050": Memory("dram", "4Kx1", 18, THREE_RAILS, older=True),
    "TMS4060": Memory("dram", "4Kx1", 22, THREE_RAILS, older=True),
    "4104": Memory("sram", "4Kx1", 18, older=True),
    "4118": Memory("sram", "1Kx8", 24, older=True),
    "4801": Memory("sram", "1Kx8", 24, older=True),
    "4802": Memory("sram", "2Kx8", 24, older=True),
    "8570": Memory("sram", "256x8", 8),
    "2101": Memory("sram", "256x4", 22, older=True),
    "2102": Memory("sram", "1Kx1", 16, older=True),
    "2111": Memory("sram", "256x4", 18, older=True),
    "2112": Memory("sram", "256x4", 16, older=True),
    "2114": Memory("sram", "1Kx4", 18, older=True),
    "6810": Memory("sram", "128x8", 24, older=True),
    "5101": Memory("sram", "256x4", 22, older=True),
    "6514": Memory("sram", "1Kx4", 18, older=True),
    "2147": Memory("sram", "4Kx1", 18),
    "2148": Memory("sram", "1Kx4", 18),
    "2149": Memory("sram", "1Kx4", 18),
    "6147": Memory("sram", "4Kx1", 18),
    "6167": Memory("sram", "16Kx1", 20),
    "6168": Memory("sram", "4Kx4", 20),
    "2016": Memory("sram", "2Kx8", 24),
    "6116": Memory("sram", "2Kx8", 24),
    "6264": Memory("sram", "8Kx8", 28),
    "62256": Memory("sram", "32Kx8", 28),
    "628128": Memory("sram", "128Kx8", 32),
    "628512": Memory("sram", "512Kx8", 32),
    "1702": Memory("eprom", "256x8", 24, (), older=True),
    "2708": Memory("eprom", "1Kx8", 24, THREE_RAILS, older=True),
    "2758": Memory("eprom", "1Kx8", 24, older=True),
    "2716": Memory("eprom", "2Kx8", 24, older=True),
    "2732": Memory("eprom", "4Kx8", 24, older=True),
    "2532": Memory("eprom", "4Kx8", 24, older=True),
    "2564": Memory("eprom", "8Kx8", 28, older=True),
    "2764": Memory("eprom", "8Kx8", 28, older=True),
    "27128": Memory("eprom", "16Kx8", 28, older=True),
    "27256": Memory("eprom", "32Kx8", 28, older=True),
    "27512": Memory("eprom", "64Kx8", 28, older=True),
    "27C16": Memory("eprom", "2Kx8", 24),
    "27C32": Memory("eprom", "4Kx8", 24),
    "27C64": Memory("eprom", "8Kx8", 28),
    "27C128": Memory("eprom", "16Kx8", 28),
    "27C256": Memory("eprom", "32Kx8", 28),
    "27C512": Memory("eprom", "64Kx8", 28),
    "27C010": Memory("eprom", "128Kx8", 32),
    "27C1001": Memory("eprom", "128Kx8", 32),
    "27C020": Memory("eprom", "256Kx8", 32),
    "27C2001": Memory("eprom", "256Kx8", 32),
    "27C040": Memory("eprom", "512Kx8", 32),
    "27C4001": Memory("eprom", "512Kx8", 32),
    "27C080": Memory("eprom", "1Mx8", 32),
    "27C801": Memory("eprom", "1Mx8", 32),
    "27C1024": Memory("eprom", "64Kx16", 40),
    "27C210": Memory("eprom", "64Kx16", 40),
    "68764": Memory("eprom", "8Kx8", 24, older=True),
    "68766": Memory("eprom", "8Kx8", 24, older=True),
    "27C400": Memory("eprom", "256Kx16", 40),
    "27C800": Memory("eprom", "512Kx16", 42),
    "27C160": Memory("eprom", "1Mx16", 42),
    "27C322": Memory("eprom", "2Mx16", 42),
    "27C220": Memory("eprom", "128Kx16", 40),
    "27C4096": Memory("eprom", "256Kx16", 40),
    "2816": Memory("eeprom", "2Kx8", 24),
    "28C16": Memory("eeprom", "2Kx8", 24),
    "28C64": Memory("eeprom", "8Kx8", 28),
    "28C256": Memory("eeprom", "32Kx8", 28),
    "2804": Memory("eeprom", "512x8", 24),
    "2817": Memory("eeprom", "2Kx8", 28),
    "28C17": Memory("eeprom", "2Kx8", 28),
    "2864": Memory("eeprom", "8Kx8", 28),
    "28C010": Memory("eeprom", "128Kx8", 32),
    "9306": Memory("eeprom", "16x16", 8),
    "9346": Memory("eeprom", "64x16", 8),
    "93C06": Memory("eeprom", "16x16", 8),
    "93C46": Memory("eeprom", "64x16", 8),
    "93C56": Memory("eeprom", "128x16", 8),
    "93C66": Memory("eeprom", "256x16", 8),
    "24C01": Memory("eeprom", "128x8", 8),
    "24C02": Memory("eeprom", "256x8", 8),
    "24C04": Memory("eeprom", "512x8", 8),
    "24C08": Memory("eeprom", "1Kx8", 8),
    "24C16": Memory("eeprom", "2Kx8", 8),
    "24C32": Memory("eeprom", "4Kx8", 8),
    "24C64": Memory("eeprom", "8Kx8", 8),
    "24C128": Memory("eeprom", "16Kx8", 8),
    "24C256": Memory("eeprom", "32Kx8", 8),
    "24C512": Memory("eeprom", "64Kx8", 8),
    "PCF8582": Memory("eeprom", "256x8", 8),
    "29C256": Memory("flash", "32Kx8", 28),
    "29C512": Memory("flash", "64Kx8", 32),
    "29C010": Memory("flash", "128Kx8", 32),
    "29C020": Memory("flash", "256Kx8", 32),
    "29C040": Memory("flash", "512Kx8", 32),
    "29EE010": Memory("flash", "128Kx8", 32),
    "29F002": Memory("flash", "256Kx8", 32),
    "27SF512": Memory("flash", "64Kx8", 28),
    "28F020": Memory("flash", "256Kx8", 32),
    "39SF010": Memory("flash", "128Kx8", 32),
    "39SF020": Memory("flash", "256Kx8", 32),
    "39SF040": Memory("flash", "512Kx8", 32),
    "28F256": Memory("flash", "32Kx8", 32),
    "28F512": Memory("flash", "64Kx8", 32),
    "28F010": Memory("flash", "128Kx8", 32),
    "29F010": Memory("flash", "128Kx8", 32),
    "29F040": Memory("flash", "512Kx8", 32),
    "2316": Memory("rom", "2Kx8", 24, older=True),
    "2332": Memory("rom", "4Kx8", 24, older=True),
    "2364": Memory("rom", "8Kx8", 0, older=True),
    "23128": Memory("rom", "16Kx8", 28, older=True),
    "23256": Memory("rom", "32Kx8", 28, older=True),
    "23512": Memory("rom", "64Kx8", 28, older=True),
    "82S23": Memory("prom", "32x8", 16),
    "82S123": Memory("prom", "32x8", 16),
    "82S126": Memory("prom", "256x4", 16),
    "82S129": Memory("prom", "256x4", 16),
    "82S131": Memory("prom", "512x4", 16),
    "82S137": Memory("prom", "1Kx4", 18),
    "82S147": Memory("prom", "512x8", 20),
    "82S181": Memory("prom", "1Kx8", 24),
    "82S185": Memory("prom", "2Kx4", 18),
    "82S191": Memory("prom", "2Kx8", 24),
    "82S115": Memory("prom", "512x8", 24),
    "82S130": Memory("prom", "512x4", 16),
    "82S136": Memory("prom", "1Kx4", 18),
    "82S180": Memory("prom", "1Kx8", 24),
    "82S190": Memory("prom", "2Kx8", 24),
    "63S081": Memory("prom", "32x8", 16),
    "63S141": Memory("prom", "256x4", 16),
    "63S241": Memory("prom", "512x4", 16),
    "63S441": Memory("prom", "1Kx4", 18),
    "63S281": Memory("prom", "256x8", 20),
    "18S030": Memory("prom", "32x8", 16),
    "24S10": Memory("prom", "256x4", 16),
    "24S41": Memory("prom", "1Kx4", 18),
    "28L22": Memory("prom", "256x8", 20),
    "28S42": Memory("prom", "512x8", 20),
    "27S19": Memory("prom", "32x8", 16),
    "27S21": Memory("prom", "256x4", 16),
    "27S13": Memory("prom", "512x4", 16),
    "27S29": Memory("prom", "512x8", 20),
    "27S33": Memory("prom", "1Kx4", 18),
    "27S181": Memory("prom", "1Kx8", 24),
    "27S191": Memory("prom", "2Kx8", 24),
    "MMI6331": Memory("prom", "32x8", 16),
    "MMI6301": Memory("prom", "256x4", 16),
    "HM7603": Memory("prom", "32x8", 16),
    "HM7611": Memory("prom", "256x4", 16),
    "74S471": Memory("prom", "256x8", 20),
    "74S472": Memory("prom", "512x8", 20),
    "74S570": Memory("prom", "512x4", 16),
    "74S573": Memory("prom", "1Kx4", 18),
    "74S188": Memory("prom", "32x8", 16),
    "74S287": Memory("prom", "256x4", 16),
    "74S288": Memory("prom", "32x8", 16),
    "74S387": Memory("prom", "256x4", 16),
    "74S571": Memory("prom", "512x4", 16),
}

# Industry number, then what makers print for it where that differs.
MEMORY_NAMES: dict[str, str] = {
    name: number
    for number, *names in map(
        str.split,
        """
4116 UPD416 MB8116 HM4716 TMM416 MM5290 AM9016 MSM3716 F16K 2117
4517 MCM4517 MCM4516
2118 MB8118
4164 MB8264 MB8265 HM4864 MK4564 MSM3764 M3764 MCM6665 MCM6664 LH2164 MT4264 HYB4164 M5K4164 IMS2600
4164 D2164 P2164 C2164 U2164
3732 MSM3732 M3732
4532 TMS4532
6632 MCM6632
41256 MB81256 HM50256 HM51256 MCM6256 TMS4256 MT1259 MT1256 M5M4256 LH21256 TC51256 HY53C256
41256 GM71C256 MI1256
41257 MB81257 HM50257 HM51257 MCM6257 TMS4257 M5M4257 LH21257 TC51257
41258 MB81258 HM51258 LH21258 TC51258
41464 TMS4464 HM50464 MB81464 M5M4464 MT4067 LH2464
4416 HM48416 MB81416
411000 HM511000 MB81C1000 TC511000 M5M41000 UPD421000 TMS4C1024 MT4C1024 MCM511000 HYB511000
411000 MSM511000 GM71C1000 KM41C1000
44256 HM514256 TC514256 MB81C4256 M5M44C256 M5M44256 UPD424256 MCM514256 HYB514256 MSM514256
44256 TMS44C256 KM44C256 MT4C4256 GM71C4256
44400 HM514400 TC514400 HYB514400 KM44C1000 MT4C4001 MSM514400 GM71C4400 MCM54400 M5M44400
44400 UPD424400 MB814400
44100 HM514100 TC514100 HYB514100 KM41C4000 MT4C1004 MSM514100 GM71C4100 UPD424100
514260 HM514260 TC514260 KM416C256 MT4C16257
TMS4050 TMS4050
TMS4060 TMS4060
1103 P1103 C1103
2114 HM472114 UPD2114 TMM314 AM9114 MSM2114 P2114 TMS4045 MB8114 MCM21L14
6514 TC5514 UPD444 HM4334
2102 21L02
5101 TC5501 HM435101
6810 HD46810 HM46810 MC6810 EF6810 HD6810 S6810
2016 TMM2016 UPD4016 TMS4016 MSM2128 MB8128 AM9128 M58725
6116 TC5516 TC5517 UPD446 MSM5128 LC3517 LC3516 LH5116 CXK5816 MB8416 SRM2016
6264 UPD4364 TC5564 TC5565 LC3664 MB8464 CXK5864 LH5164 M5M5165 IDT7164 GM76C88 SRM2264 MSM5165
6264 CY7C185 W2465
62256 CXK58256 UPD43256 TC55257 MB84256 CXK58257 M5M5256 LH52256 KM62256 GM76C256 IDT71256 IS61C256 IS62C256
62256 AS6C62256 AS7C256 CY7C199 UM61256 W24256 W24257 W24258 MSM51257 SRM20256 LC36256 BS62LV256
628128 KM681000 TC551001 UPD431000 AS6C1008 CXK581000 HY628100 M5M51008 SRM20100 GM76C8128 IS62C1024
628512 KM684000 TC554001 AS6C4008 CXK584000 M5M5408 HY628400 UPD434000 BS62LV4006
2147 MBM2147 TMM315
2716 HN462716 TMS2516 TMM323
2732 HN462732 HN482732
2764 HN482764
27128 HN4827128
68764 MCM68764
68766 MCM68766
27C010 HN27C101 TC571000
28C64 HN58C65
2816 X2816
9306 NMC9306
PCF8582 PCF8582
MMI6331 MMI6331
MMI6301 MMI6301
HM7603 HM7603
HM7611 HM7611
""".strip().splitlines(),
    )
    for name in names
}

# NEC prints D for µPD; a D behind which any other number stands is Intel's, for its ceramic package.
MEMORY_NAMES |= {f"D{name[3:]}": number for name, number in MEMORY_NAMES.items() if name.startswith("UPD")}

# A Texas 2716 is the older three-rail part; everybody else's is single-rail (the same for 2708 everywhere).
THREE_RAIL_2716: Final = "TMS2716"

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
