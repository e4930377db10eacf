"""Linear, interface and processor types, regulators, optocouplers, and makers' letters before them.

From memory of the makers' data books.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from .logic_table import makers_of


class Linear(NamedTuple):
    function: str
    words: str
    pins: int


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
switching_controller 8 UC3842,UC3843,UC3844,UC3845 switching supply controller
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
interface 40 8279 keyboard and display interface
interface 40 8257 direct memory access controller
interface 40 8275 display controller
interface 40 8155,8156 memory, ports and timer
interface 40 8237 direct memory access controller
interface 40 6845,6545 display controller
interface 40 765,8272,1771,1793,2793 floppy disk controller
sound 40 AY-3-8910 sound generator
sound 28 AY-3-8912 sound generator
sound 16 SN76489 sound generator
sound 28 6581,8580 sound generator
sound 40 YM2149 sound generator
sound 28 SN76477 sound generator
op_amp 8 CA3240,AD712,TLE2072,RC4559 dual op-amp
op_amp 8 OPA604,AD817,LM6361,OP177 single op-amp
comparator 8 LM306 comparator
comparator 14 NE521,LM361 fast comparator
timer 8 NE566,LM566 voltage-controlled oscillator
driver 18 UDN2981 eight-channel source driver
driver 8 SN75450,SN75451,SN75452,SN75453,SN75454 dual peripheral driver
driver 16 AM26LS31 quad differential line driver
receiver 16 AM26LS32,SN75154 quad line receiver
bus_driver 16 8T26,8T28 quad bus transceiver
bus_driver 16 8T95,8T96,8T97,8T98,DM8095,DM8096,DM8097,DM8098 hex bus buffer, three-state
cpu 40 AM2901 4-bit processor slice
audio_amp 8 TDA2822,TDA7052,LM4871 audio amplifier
audio_amp 16 TBA810,TBA800 audio amplifier
audio_amp 9 TDA1514 audio power amplifier
display_driver 18 LM3914,LM3915,LM3916 bar display driver
display_driver 40 ICL7106,ICL7107,ICL7116,ICL7117 digital voltmeter
flasher 8 LM3909 lamp flasher
function_generator 16 XR2206 function generator
function_generator 14 ICL8038 function generator
modulator 14 MC1496,LM1496 balanced modulator
video_encoder 20 MC1377 colour encoder
video_encoder 18 LM1889 video modulator
video_sync 8 LM1881 sync separator
oscillator 14 MC1648 voltage-controlled oscillator
switching_controller 8 MC34063 switching supply controller
converter 20 ADC0801,ADC0802,ADC0803,ADC0804 8-bit analogue to digital converter
converter 28 ADC0808,ADC0809 8-channel analogue to digital converter
converter 16 DAC0800,DAC0808,DAC08,MC1408 8-bit digital to analogue converter
converter 18 ZN427 8-bit analogue to digital converter
converter 14 ZN426 8-bit digital to analogue converter
converter 8 TLC549,TLC548 8-bit analogue to digital converter
sensor 3 LM35,LM34 temperature sensor
cpu 40 65C816,6309,6803,8035,8748,8749,8051,8751,89C51,87C51,80C31,80C32,80C51 processor
cpu 64 68010 processor
cpu 40 6301,6303 processor
interface 40 Z80PIO parallel interface
interface 28 Z80CTC counter and timer
interface 40 Z80SIO,Z80DMA serial interface or direct memory access
interface 40 16450,16550,8256,Z8530 serial interface
interface 28 1772,1770 floppy disk controller
interface 40 6847 display generator
interface 40 TMS9918,TMS9928,TMS9929 display generator
interface 40 AY-3-1015,AY-5-1013 serial interface
clock 24 MC146818,DS1287 real-time clock
clock 24 MM58167 real-time clock
clock 8 PCF8583 real-time clock
cpu 40 MC146805 microcontroller
debouncer 16 MC14490 hex contact debouncer
""")

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
# Where a maker's number differs from the industry's: Hitachi sets 17, Texas 72, Motorola and NEC 1 before it.
LINEAR_NAMES: Final = {
    "MC1741": "741", "MC1709": "709", "MC1455": "555", "UPC1555": "555", "MC3456": "556", "MC3403": "LM324",
    "SN72741": "741", "SN72555": "555", "SN72709": "709", "HA17741": "741", "HA17555": "555",
    "HA17358": "LM358", "HA17324": "LM324", "HA17339": "LM339", "HA17393": "LM393", "KA3842": "UC3842",
    "KA3843": "UC3843", "NJM5532": "NE5532", "NJM5534": "NE5534", "NJM2904": "LM2904", "TD62003": "ULN2003",
    "TD62083": "ULN2803", "HD46821": "6821", "HD46505": "6845", "HD46850": "6850", "HD63C09": "6309",
    "HD63B09": "6309", "HD6309": "6309", "Z8400": "Z80", "Z84C00": "Z80", "D780C": "Z80", "UPD780": "Z80",
    "LH0080": "Z80", "MK3880": "Z80", "Z8420": "Z80PIO", "Z8430": "Z80CTC", "Z8440": "Z80SIO",
    **{
        f"Z80{grade}{name}": f"Z80{name}"
        for grade in ("", "A", "B", "H")
        for name in ("PIO", "CTC", "SIO", "DMA")
    },
    **{f"Z80{grade}CPU": "Z80" for grade in ("", "A", "B", "H")},
    **{f"68{speed}{digits}": f"68{digits}" for speed in "AB"
       for digits in ("00", "02", "09", "21", "40", "45", "50")},
    "MK3881": "Z80PIO", "MK3882": "Z80CTC", "LH0081": "Z80PIO", "LH0082": "Z80CTC",
}  # fmt: skip
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
FLH,FLJ,FLK Siemens TTL circuit
FJH,FJJ,FJK Philips TTL circuit
FCH,FCJ Philips DTL circuit
JRC JRC circuit
ICL,ICM Intersil circuit
LT,LTC Linear Technology circuit
MAX Maxim circuit
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

# Optocouplers by name: (what detects the light).
OPTOCOUPLERS: Final = makers_of("""
PC817,PC816,PC818,PC814,EL817,LTV817,PS2501,K1010 phototransistor
4N25,4N26,4N27,4N28,4N35,4N36,4N37,TIL111,TIL112,TIL117,MCT2,MCT2E phototransistor
TLP521,TLP621,TLP721,ILQ74,ILD74 phototransistor
4N29,4N30,4N31,4N32,4N33,TIL113,MCA230,6N138,6N139 photodarlington
H11L1,H11L2,H11L3 photodiode and Schmitt trigger
6N135,6N136,6N137,HCPL2601,HCPL2630,TLP2601 photodiode and transistor or gate
MOC3010,MOC3011,MOC3012,MOC3020,MOC3021,MOC3022,MOC3023,MOC3041,MOC3061,MOC3063,TLP3021 phototriac
H11A1,H11D1,CNY17,CNX35,CNX36,SFH600,SFH601,IL1,IL74,IL300 phototransistor or photodiode
""")
OPTOCOUPLER_MAKERS: Final = {
    "PC": "Sharp", "TLP": "Toshiba", "TIL": "Texas Instruments", "PS": "NEC", "EL": "Everlight",
    "LTV": "Lite-On", "HCPL": "Hewlett-Packard or Agilent", "SFH": "Siemens",
}  # fmt: skip
# A second source's own letters before the same number.
OPTOCOUPLER_NAMES: Final = {"EL817": "PC817", "LTV817": "PC817"}
