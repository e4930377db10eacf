"""What published type lists say behind a number: logic functions, memories, linear parts, makers' prefixes.

From memory of the makers' data books (54/74 TTL and high-speed CMOS, 4000 CMOS, memory and linear), checked
against the lists named in tests/decoding/test_semiconductors.py where one was found. A number that is not
here is still read by its naming system; only its function and pin count stay unsaid.
"""

from __future__ import annotations

from typing import Final, NamedTuple


class Function(NamedTuple):
    words: str
    pins: int
    open_collector: bool = False


class Memory(NamedTuple):
    function: str  # the trait's word
    organisation: str
    pins: int  # 0 where packages differ
    rails: tuple[str, ...] = ("5",)
    half: bool = False  # a half-good part of twice the size
    older: bool = False  # NMOS: access times of hundreds of ns


class Linear(NamedTuple):
    function: str
    words: str
    pins: int


def _functions(table: str) -> dict[str, Function]:
    """`number pins words`, one a line; a trailing * is an open-collector (open-drain) output."""
    found = {}
    for row in table.strip().splitlines():
        numbers, pins, words = row.split(maxsplit=2)
        for number in numbers.split(","):
            found[number] = Function(words.removesuffix("*").rstrip(), int(pins), words.endswith("*"))
    return found


def _makers(table: str) -> dict[str, str]:
    """`prefix,prefix… maker`, one a line; no prefix, no maker."""
    found = {"": ""}
    for row in table.strip().splitlines():
        prefixes, maker = row.split(maxsplit=1)
        found.update(dict.fromkeys(prefixes.split(","), maker))
    return found


LOGIC: Final = _functions("""
00 14 quad 2-input NAND gate
01 14 quad 2-input NAND gate *
02 14 quad 2-input NOR gate
03 14 quad 2-input NAND gate *
04 14 hex inverter
05 14 hex inverter *
06 14 hex inverter, high-voltage outputs *
07 14 hex buffer, high-voltage outputs *
08 14 quad 2-input AND gate
09 14 quad 2-input AND gate *
10 14 triple 3-input NAND gate
11 14 triple 3-input AND gate
12 14 triple 3-input NAND gate *
13 14 dual 4-input NAND Schmitt trigger
14 14 hex inverting Schmitt trigger
15 14 triple 3-input AND gate *
16 14 hex inverter, 15 V outputs *
17 14 hex buffer, 15 V outputs *
20 14 dual 4-input NAND gate
21 14 dual 4-input AND gate
22 14 dual 4-input NAND gate *
25 14 dual 4-input NOR gate with strobe
26 14 quad 2-input NAND gate, 15 V outputs *
27 14 triple 3-input NOR gate
28 14 quad 2-input NOR buffer
30 14 8-input NAND gate
32 14 quad 2-input OR gate
33 14 quad 2-input NOR buffer *
37 14 quad 2-input NAND buffer
38 14 quad 2-input NAND buffer *
40 14 dual 4-input NAND buffer
42 16 BCD to decimal decoder
45 16 BCD to decimal decoder and driver *
46,47 16 BCD to 7-segment decoder and driver *
48 16 BCD to 7-segment decoder
51 14 dual AND-OR-invert gate
54 14 AND-OR-invert gate
64 14 4-2-3-2 input AND-OR-invert gate
73 14 dual JK flip-flop with clear
74 14 dual D flip-flop with preset and clear
75 16 4-bit bistable latch
76 16 dual JK flip-flop with preset and clear
83 16 4-bit binary full adder
85 16 4-bit magnitude comparator
86 14 quad 2-input exclusive-OR gate
89 16 64-bit random-access memory *
90 14 decade counter
91 14 8-bit shift register
92 14 divide-by-12 counter
93 14 4-bit binary counter
95 14 4-bit shift register
107 14 dual JK flip-flop with clear
109 16 dual JK positive-edge flip-flop
112 16 dual JK negative-edge flip-flop
113 14 dual JK negative-edge flip-flop with preset
121 14 monostable multivibrator
122 14 retriggerable monostable multivibrator
123 16 dual retriggerable monostable multivibrator
124 16 dual voltage-controlled oscillator
125,126 14 quad bus buffer, three-state
132 14 quad 2-input NAND Schmitt trigger
133 16 13-input NAND gate
136 14 quad 2-input exclusive-OR gate *
138 16 3 to 8 line decoder
139 16 dual 2 to 4 line decoder
145 16 BCD to decimal decoder and driver *
147 16 10 to 4 line priority encoder
148 16 8 to 3 line priority encoder
150 24 1 of 16 data selector
151 16 1 of 8 data selector
153 16 dual 1 of 4 data selector
154 24 4 to 16 line decoder
155 16 dual 2 to 4 line decoder
156 16 dual 2 to 4 line decoder *
157 16 quad 1 of 2 data selector
158 16 quad 1 of 2 data selector, inverting
160 16 synchronous decade counter, asynchronous clear
161 16 synchronous 4-bit counter, asynchronous clear
162 16 synchronous decade counter, synchronous clear
163 16 synchronous 4-bit counter, synchronous clear
164 14 8-bit shift register, parallel out
165 16 8-bit shift register, parallel in
166 16 8-bit shift register, parallel in
169 16 synchronous 4-bit up/down counter
170 16 4 by 4 register file *
173 16 quad D register, three-state
174 16 hex D flip-flop
175 16 quad D flip-flop
180 14 9-bit parity generator
181 24 4-bit arithmetic logic unit
182 16 look-ahead carry generator
189 16 64-bit random-access memory, three-state
190 16 up/down decade counter
191 16 up/down 4-bit counter
192 16 up/down decade counter, two clocks
193 16 up/down 4-bit counter, two clocks
194 16 4-bit bidirectional shift register
195 16 4-bit shift register
196 14 presettable decade counter
197 14 presettable 4-bit counter
221 16 dual monostable multivibrator
237 16 3 to 8 line decoder with latch
238 16 3 to 8 line decoder, active high
240 20 octal buffer, inverting, three-state
241 20 octal buffer, three-state
242 14 quad bus transceiver, inverting
243 14 quad bus transceiver
244 20 octal buffer, three-state
245 20 octal bus transceiver
247 16 BCD to 7-segment decoder and driver *
251 16 1 of 8 data selector, three-state
253 16 dual 1 of 4 data selector, three-state
257 16 quad 1 of 2 data selector, three-state
258 16 quad 1 of 2 data selector, inverting, three-state
259 16 8-bit addressable latch
260 14 dual 5-input NOR gate
266 14 quad 2-input exclusive-NOR gate *
273 20 octal D flip-flop with clear
279 16 quad set-reset latch
280 14 9-bit parity generator
283 16 4-bit binary full adder
290 14 decade counter
293 14 4-bit binary counter
295 14 4-bit shift register, three-state
298 16 quad 2-input multiplexer with storage
299 20 8-bit universal shift register
322 20 8-bit shift register with sign extend
323 20 8-bit universal shift register
348 16 8 to 3 line priority encoder, three-state
352 16 dual 1 of 4 data selector, inverting
353 16 dual 1 of 4 data selector, inverting, three-state
365 16 hex buffer, three-state
366 16 hex inverter, three-state
367 16 hex buffer, three-state, two enables
368 16 hex inverter, three-state, two enables
373 20 octal latch, three-state
374 20 octal D flip-flop, three-state
375 16 4-bit latch
377 20 octal D flip-flop with enable
378 16 hex D flip-flop with enable
379 16 quad D flip-flop with enable
390 16 dual decade counter
393 14 dual 4-bit counter
399 16 quad 2-input multiplexer with storage
490 16 dual decade counter
521 20 8-bit identity comparator
533 20 octal latch, inverting, three-state
534 20 octal D flip-flop, inverting, three-state
540 20 octal buffer, inverting, three-state
541 20 octal buffer, three-state
563 20 octal latch, inverting, three-state
564 20 octal D flip-flop, inverting, three-state
573 20 octal latch, three-state
574 20 octal D flip-flop, three-state
590 16 8-bit counter with output register
595 16 8-bit shift register with output latch
597 16 8-bit shift register with input latch
612 40 memory mapper
629 16 dual voltage-controlled oscillator
640 20 octal bus transceiver, inverting
641 20 octal bus transceiver *
645 20 octal bus transceiver
646 24 octal bus transceiver and register
651 24 octal bus transceiver and register, inverting
652 24 octal bus transceiver and register
670 16 4 by 4 register file, three-state
682 20 8-bit magnitude comparator
688 20 8-bit identity comparator
""")

CMOS_4000: Final = _functions("""
4000 14 dual 3-input NOR gate and inverter
4001 14 quad 2-input NOR gate
4002 14 dual 4-input NOR gate
4006 14 18-stage shift register
4007 14 dual complementary pair and inverter
4008 16 4-bit full adder
4009 16 hex inverting buffer
4010 16 hex buffer
4011 14 quad 2-input NAND gate
4012 14 dual 4-input NAND gate
4013 14 dual D flip-flop
4014 16 8-stage shift register
4015 16 dual 4-stage shift register
4016 14 quad bilateral switch
4017 16 decade counter with ten outputs
4018 16 presettable divide-by-n counter
4019 16 quad AND-OR select gate
4020 16 14-stage binary counter
4021 16 8-stage shift register
4022 16 octal counter with eight outputs
4023 14 triple 3-input NAND gate
4024 14 7-stage binary counter
4025 14 triple 3-input NOR gate
4026 16 decade counter with 7-segment outputs
4027 16 dual JK flip-flop
4028 16 BCD to decimal decoder
4029 16 presettable up/down counter
4030 14 quad exclusive-OR gate
4031 16 64-stage shift register
4033 16 decade counter with 7-segment outputs
4035 16 4-stage shift register
4040 16 12-stage binary counter
4041 14 quad true/complement buffer
4042 16 quad clocked D latch
4043 16 quad NOR set-reset latch
4044 16 quad NAND set-reset latch
4046 16 phase-locked loop
4047 14 monostable and astable multivibrator
4048 16 8-input gate
4049 16 hex inverting buffer
4050 16 hex buffer
4051 16 8-channel analogue multiplexer
4052 16 dual 4-channel analogue multiplexer
4053 16 triple 2-channel analogue multiplexer
4054 16 4-segment display driver
4060 16 14-stage counter and oscillator
4063 16 4-bit magnitude comparator
4066 14 quad bilateral switch
4067 24 16-channel analogue multiplexer
4068 14 8-input NAND/AND gate
4069 14 hex inverter
4070 14 quad exclusive-OR gate
4071 14 quad 2-input OR gate
4072 14 dual 4-input OR gate
4073 14 triple 3-input AND gate
4075 14 triple 3-input OR gate
4076 16 quad D register
4077 14 quad exclusive-NOR gate
4078 14 8-input NOR/OR gate
4081 14 quad 2-input AND gate
4082 14 dual 4-input AND gate
4093 14 quad 2-input NAND Schmitt trigger
4094 16 8-stage shift-and-store register
4098 16 dual monostable multivibrator
4099 16 8-bit addressable latch
40106 14 hex inverting Schmitt trigger
4502 16 strobed hex inverting buffer
4503 16 hex buffer, three-state
4504 16 hex level shifter
4508 24 dual 4-bit latch
4510 16 BCD up/down counter
4511 16 BCD to 7-segment latch, decoder and driver
4512 16 8-channel data selector
4514,4515 24 4 to 16 line decoder with latch
4516 16 binary up/down counter
4518 16 dual BCD counter
4519 16 4-bit AND/OR selector
4520 16 dual binary counter
4521 16 24-stage frequency divider
4522,4526 16 divide-by-n counter
4527 16 BCD rate multiplier
4528 16 dual monostable multivibrator
4532 16 8-bit priority encoder
4538 16 dual precision monostable multivibrator
4541 14 programmable timer
4543 16 BCD to 7-segment latch, decoder and driver
4555,4556 16 dual 1 of 4 decoder
4584 14 hex inverting Schmitt trigger
4585 16 4-bit magnitude comparator
40097 16 hex buffer, three-state
40174 16 hex D flip-flop
40175 16 quad D flip-flop
40193 16 up/down binary counter
""")

# Family letters between the series number and the function -> the trait's word.
FAMILIES: Final = {
    letters: letters.lower() or "std"
    for letters in (
        "", "L", "H", "S", "LS", "AS", "ALS", "F", "C", "HC", "HCT", "HCU", "AC", "ACT", "ACQ", "ACTQ",
        "AHC", "AHCT", "VHC", "VHCT", "FCT", "BCT", "ABT", "LV", "LVC", "LVT", "LVX", "ALVC", "AUC", "CBT",
    )
}  # fmt: skip

LOGIC_MAKERS: Final = _makers("""
SN,SNJ Texas Instruments
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
    "27C4096": Memory("eprom", "256Kx16", 40),
    "2816": Memory("eeprom", "2Kx8", 24),
    "28C16": Memory("eeprom", "2Kx8", 24),
    "28C64": Memory("eeprom", "8Kx8", 28),
    "28C256": Memory("eeprom", "32Kx8", 28),
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
    "74S188": Memory("prom", "32x8", 16),
    "74S287": Memory("prom", "256x4", 16),
    "74S288": Memory("prom", "32x8", 16),
    "74S387": Memory("prom", "256x4", 16),
    "74S571": Memory("prom", "512x4", 16),
}

# Industry number, then what makers print for it where that differs.
MEMORY_NAMES: Final = {
    name: number
    for number, *names in map(
        str.split,
        """
4116 UPD416 MB8116 HM4716 TMM416 MM5290 AM9016
4517 MCM4517 MCM4516
2118 MB8118
4164 MB8264 HM4864 MK4564 MSM3764 M3764 MCM6665 LH2164 MT4264 HYB4164 M5K4164
3732 MSM3732 M3732
4532 TMS4532
41256 MB81256 HM50256 HM51256 MCM6256 TMS4256 MT1259 MT1256 M5M4256 LH21256 TC51256 HY53C256
41256 GM71C256
41464 TMS4464 HM50464 MB81464 M5M4464 MT4067 LH2464
4416 HM48416 MB81416
411000 HM511000 MB81C1000 TC511000 M5M41000 UPD421000
44256 HM514256 TC514256 MB81C4256 M5M44C256 UPD424256
2114 HM472114 UPD2114 TMM314 AM9114 MSM2114 P2114
2016 TMM2016 UPD4016 TMS4016 MSM2128 MB8128 AM9128
6116 TC5517 UPD446 MSM5128 LC3517 LH5116 CXK5816
6264 UPD4364 TC5564 TC5565 LC3664 MB8464 CXK5864 LH5164 M5M5165
62256 UPD43256 TC55257 MB84256 CXK58257 M5M5256 LH52256 KM62256
2716 HN462716 TMS2516
2732 HN462732 HN482732
2764 HN482764
27128 HN4827128
""".strip().splitlines(),
    )
    for name in names
}

# A Texas 2716 is the older three-rail part; everybody else's is single-rail (the same for 2708 everywhere).
THREE_RAIL_2716: Final = "TMS2716"

MEMORY_MAKERS: Final = _makers("""
MK Mostek
TMS,SN,TBP Texas Instruments
TMM,TC Toshiba
HM,HN Hitachi
UPD NEC
MB,MBM Fujitsu
MSM Oki
M5K,M5L,M5M Mitsubishi
MCM Motorola
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
""")


def _linear(table: str) -> dict[str, Linear]:
    """`function pins number,number… words`, one a line."""
    found = {}
    for row in table.strip().splitlines():
        function, pins, numbers, words = row.split(maxsplit=3)
        for number in numbers.split(","):
            found[number] = Linear(function, words, int(pins))
    return found


# Maker letters belong to the number where the digits alone would be ambiguous.
LINEARS: Final = _linear("""
op_amp 8 741,748,709,LM301,LM307,LM308,LM318,CA3130,CA3140,CA3160,LF351,LF356,LF357,LF411 single op-amp
op_amp 8 TL061,TL071,TL081,OP07,OP27,OP37,NE5534,SE5534,NE531,AD711,OPA134,TLC271 single op-amp
op_amp 8 LM358,LM2904,1458,4558,4559,4560,4580,LF353,LF412,NE5532,SE5532 dual op-amp
op_amp 8 TL062,TL072,TL082,TLC272,OPA2134,OPA2604 dual op-amp
op_amp 14 LM324,LM348,LM2902,LF347,TL064,TL074,TL084,TLC274,4136,OPA4134,4156 quad op-amp
op_amp 14 LM3900 quad current-differencing (Norton) amplifier
op_amp 14 747 dual op-amp
comparator 8 LM311 comparator
comparator 8 LM393,LM2903 dual comparator
comparator 14 LM339,LM2901 quad comparator
comparator 14 LM319 dual comparator
timer 8 555,ICM7555,TLC555 timer
timer 14 556,ICM7556,TLC556 dual timer
ota 16 LM13700,LM13600 dual transconductance amplifier
ota 8 CA3080 transconductance amplifier
audio_amp 8 LM386,TBA820M audio amplifier
audio_amp 14 LM380,LM384 audio amplifier
audio_amp 5 TDA2003,TDA2030,TDA2040,TDA2050,LM1875 audio power amplifier
driver 14 MC1488,DS1488,SN75188,LM1488 quad RS-232 line driver
receiver 14 MC1489,DS1489,SN75189,LM1489 quad RS-232 line receiver
transceiver 16 MAX232,ICL232,HIN232,ST232 dual RS-232 driver and receiver
transceiver 8 SN75176,MAX485,LTC485 RS-485 transceiver
array 16 ULN2001,ULN2002,ULN2003,ULN2004,MC1413 seven Darlington drivers
array 18 ULN2803,ULN2804 eight Darlington drivers
array 14 CA3046,LM3046,CA3086,LM3086 transistor array
pll 14 NE565,LM565 phase-locked loop
tone_decoder 8 LM567,NE567 tone decoder
switching_controller 16 TL494,SG3524,SG3525,KA7500 switching supply controller
switching_controller 8 UC3842,UC3843,UC3844,UC3845,KA3842 switching supply controller
charge_pump 8 ICL7660,MAX660,LMC7660 voltage converter
cpu 40 Z80,6502,65C02,6510,6800,6802,6809,8080,8085,8086,8088 processor
cpu 64 68000 processor
cpu 40 8031,8039,8048,8049,8051 microcontroller
interface 40 6520,6522,6526,6532,6821,8255 parallel interface
interface 28 6551,8251 serial interface
interface 24 6850 serial interface
interface 40 8250 serial interface
interface 24 8253,8254 interval timer
interface 28 6840 interval timer
interface 28 8259 interrupt controller
interface 40 8237 direct memory access controller
interface 40 6845,6545 display controller
interface 40 765,8272,1771,1793,2793 floppy disk controller
sound 40 AY-3-8910 sound generator
sound 28 AY-3-8912 sound generator
sound 16 SN76489 sound generator
sound 28 6581,8580 sound generator
""")

# A maker's own letters before an industry number: LM741, UA741 and RC741 are one type.
_LINEAR_MAKERS = """
LM UA MC RC RM CA NE SE SA UPC NJM KA TA HA AN SG XR RV LA IL GL BA KIA U R SY SYP SYB MOS UM UPD HD AM P D C
MB EF TMP MSM TMS N I ID WD FD L
"""
LINEAR_MAKERS: Final = frozenset(_LINEAR_MAKERS.split())
# Where a maker's number differs from the industry's.
LINEAR_NAMES: Final = {"MC1741": "741", "MC1709": "709", "MC1455": "555", "MC3456": "556", "MC3403": "LM324"}
BY_DIGITS: Final = {name.removeprefix("LM"): name for name in LINEARS if name.removeprefix("LM").isdigit()}

# Letters that begin a maker's chips of some kind: they say that much, and no more (from memory of data books;
# the T.A, S.A letters are Pro Electron's for analogue and for digital circuits).
CHIP_SERIES: Final = _makers("""
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
KA,KB Samsung circuit
KIA KEC circuit
NJM,NJU JRC circuit
TAA,TBA,TCA,TDA,TEA analogue circuit
SAA,SAB,SAF,SAS digital circuit
LM,LF,LH,DS,MM,DP National Semiconductor circuit
CA,CD RCA circuit
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

# Makers' own transistor series: the letters say that it is one, and no more.
TRANSISTOR_SERIES: Final = frozenset(
    [
        "TIP",
        "MJ",
        "MJE",
        "MJF",
        "MPS",
        "MPSA",
        "MPSH",
        "PN",
        "ZTX",
        "MPF",
        "KSC",
        "KSA",
        "KSD",
        "KSB",
        "KTC",
        "KTA",
    ]
)
MOSFET_SERIES: Final = frozenset(["IRF", "IRFZ", "IRFP", "IRFD", "IRFR", "IRL", "IRLZ", "MTP", "RFP", "VN"])
