"""What published lists say behind a logic number: functions, families, packages, makers' prefixes.

From memory of the makers' data books (54/74 TTL and high-speed CMOS, 4000 CMOS), checked against the lists
named in tests/decoding/test_semiconductors.py where one was found. A number that is not here is still read by
its naming system; only its function and pin count stay unsaid.
"""

from __future__ import annotations

from typing import Final, NamedTuple


class Function(NamedTuple):
    words: str
    pins: int
    open_collector: bool = False


def _functions(table: str) -> dict[str, Function]:
    """`number pins words`, one a line; a trailing * is an open-collector (open-drain) output."""
    found = {}
    for row in table.strip().splitlines():
        numbers, pins, words = row.split(maxsplit=2)
        for number in numbers.split(","):
            found[number] = Function(words.removesuffix("*").rstrip(), int(pins), words.endswith("*"))
    return found


def makers_of(table: str) -> dict[str, str]:
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
18 14 dual 4-input NAND Schmitt trigger
19 14 hex inverting Schmitt trigger
23 16 expandable dual 4-input NOR gate with strobe
43 16 excess-3 to decimal decoder
44 16 Gray to decimal decoder
49 14 BCD to 7-segment decoder *
50 14 dual expandable AND-OR-invert gate
53 14 expandable AND-OR-invert gate
55 14 2-wide 4-input AND-OR-invert gate
60 14 dual 4-input expander
70 14 JK flip-flop, gated
72 14 JK flip-flop, gated
78 14 dual JK flip-flop, common clock
80 14 gated full adder
81 14 16-bit random-access memory *
82 14 2-bit full adder
94 16 4-bit shift register
96 16 5-bit shift register
97 16 6-bit binary rate multiplier
100 24 8-bit bistable latch
114 14 dual JK negative-edge flip-flop, common clock
116 24 dual 4-bit latch
128 14 quad 2-input NOR line driver
134 16 12-input NAND gate, three-state
135 16 quad exclusive-OR/NOR gate
137 16 3 to 8 line decoder with latch
140 14 dual 4-input NAND line driver
141 16 BCD to decimal decoder and cold-cathode tube driver *
142 16 counter, latch, decoder and cold-cathode tube driver *
143,144 24 decade counter, latch and 7-segment driver *
152 14 1 of 8 data selector
159 24 4 to 16 line decoder *
167 16 decade rate multiplier
168 16 synchronous up/down decade counter
172 24 8 by 2 register file, three-state
176 14 presettable decade counter
177 14 presettable 4-bit counter
178 14 4-bit shift register
179 16 4-bit shift register
183 14 dual full adder
184 16 BCD to binary converter *
185 16 binary to BCD converter *
198 24 8-bit bidirectional shift register
199 24 8-bit shift register
246 16 BCD to 7-segment decoder and driver, 30 V outputs *
248,249 16 BCD to 7-segment decoder
265 16 quad complementary-output elements
276 20 quad JK flip-flop
278 14 4-bit cascadable priority register
292 16 programmable frequency divider
294 16 programmable frequency divider
297 16 digital phase-locked loop
324 14 voltage-controlled oscillator
354 20 1 of 8 data selector with latch, three-state
356 20 1 of 8 data selector with register, three-state
381 20 4-bit arithmetic logic unit
385 20 quad serial adder and subtractor
386 14 quad 2-input exclusive-OR gate
395 16 4-bit shift register, three-state
398 20 quad 2-input multiplexer with storage
422 14 retriggerable monostable multivibrator
423 16 dual retriggerable monostable multivibrator
425,426 14 quad bus buffer, three-state
465 20 octal buffer, three-state
466 20 octal buffer, inverting, three-state
518,519 20 8-bit identity comparator
520 20 8-bit identity comparator
543 24 octal registered transceiver
568 20 decade up/down counter, three-state
569 20 4-bit up/down counter, three-state
575 24 octal D flip-flop with clear, three-state
576 20 octal D flip-flop, inverting, three-state
580 20 octal latch, inverting, three-state
592 16 8-bit counter with input register
593 20 8-bit counter with input register, three-state
594 16 8-bit shift register with output register
596 16 8-bit shift register with output latch *
598 20 8-bit shift register with input latch, three-state
620 20 octal bus transceiver, inverting
621 20 octal bus transceiver *
623 20 octal bus transceiver
624 14 voltage-controlled oscillator
625,626,627 16 dual voltage-controlled oscillator
628 14 voltage-controlled oscillator
638 20 octal bus transceiver, inverting
639 20 octal bus transceiver
642 20 octal bus transceiver, inverting *
643 20 octal bus transceiver, true and inverting
648 24 octal bus transceiver and register, inverting
669 16 synchronous 4-bit up/down counter
673 24 16-bit shift register
674 24 16-bit shift register
684 20 8-bit magnitude comparator
686 24 8-bit magnitude comparator
689 20 8-bit identity comparator *
697 20 4-bit up/down counter with output register, three-state
760 20 octal buffer *
804 20 hex 2-input NAND driver
821 24 10-bit bus register, three-state
827 24 10-bit buffer, three-state
841 24 10-bit bus latch, three-state
922 18 16-key encoder
923 20 20-key encoder
925 16 4-digit counter with multiplexed 7-segment drivers
926 18 4-digit counter with multiplexed 7-segment drivers
4316 16 quad analogue switch with separate supply
4351 20 8-channel analogue multiplexer with latch
7266 14 quad 2-input exclusive-NOR gate
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
4032 16 triple serial adder
4034 24 8-stage bidirectional bus register
4038 16 triple serial adder, negative logic
4045 16 21-stage counter
4055 16 BCD to 7-segment display driver
4056 16 BCD to 7-segment latch and display driver
4059 24 programmable divide-by-n counter
4085 14 dual 2-wide AND-OR-invert gate
4086 14 expandable 4-wide AND-OR-invert gate
4089 16 binary rate multiplier
4095,4096 14 gated JK flip-flop
4097 24 dual 8-channel analogue multiplexer
4501 16 triple gate
4506 16 dual AND-OR-invert gate, expandable
4513 18 BCD to 7-segment latch, decoder and driver
4517 16 dual 64-stage shift register
4530 16 dual 5-input majority gate
4531 16 12-bit parity tree
4534 24 five-decade counter
4536 16 programmable timer
4539 16 dual 4-channel data selector
4551 16 quad 2-channel analogue multiplexer
4553 16 three-digit BCD counter
4557 16 1 to 64 stage shift register
4560 16 BCD adder
4561 14 nines complementer
4566 16 time base generator
4568 16 phase comparator and programmable counters
4569 16 dual programmable down counter
4572 16 hex gate
4581 24 4-bit arithmetic logic unit
4582 16 look-ahead carry generator
4583 16 dual Schmitt trigger
4599 18 8-bit addressable latch
40098 16 hex inverting buffer, three-state
40102 16 two-decade down counter
40103 16 8-bit down counter
40105 16 4-bit by 16 first-in first-out register
40107 8 dual 2-input NAND driver *
40109 16 quad low-to-high level shifter
40110 16 decade up/down counter, latch and 7-segment driver
40147 16 10 to 4 line priority encoder
40161,40163 16 4-bit counter
40160,40162 16 decade counter
40192 16 up/down decade counter
40194 16 4-bit bidirectional shift register
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

LOGIC_MAKERS: Final = makers_of("""
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
