"""One type has one number, whoever made it and in whatever package.

Sources, where a row names none: makers' data books, from memory. JIS C 7012 and Pro Electron: as named in
tests/decoding/test_semiconductors.py.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.spec import KINDS, Spec, fits
from inventory.type_numbers import TypeNumber, facts_of, memory_of, type_number

DIP, CERDIP = "plastic dual in line", "ceramic dual in line"


@pytest.mark.parametrize(
    ("kind", "numbers"),
    [
        ("ic", "LM324 LM324N LM224J LM124 UPC324C HA17324 MC3403P"),
        ("ic", "555 NE555P LM555CN SE555 UA555TC MC1455P1 UPC1555C HA17555"),
        ("ic", "741 LM741CN UA741CP MC1741CP1 SN72741P HA17741"),
        ("ic", "6502 R6502P SY6502A MOS6502"),
        ("ic", "6850 MC6850P MC68B50P HD6850P EF6850P"),
        ("ic", "8255 P8255A-5 D8255AC-2 UPD8255AC-5 M5L8255AP-5"),
        ("ic", "Z80 Z80ACPU Z0840004PSC MK3880N UPD780C LH0080"),
        ("ic", "74LS00 SN74LS00N DM74LS00N HD74LS00P SN54LS00J 74LS00D"),
        ("ic", "7404 SN7404N M53204P DM7404N"),
        ("ic", "4011 CD4011BE HEF4011BP MC14011BCP HD14011BP TC4011BP HCF4011BEY"),
        ("ic", "4164 TMS4164-15NL HM4864-2 MCM6665AL20 MB8264-15 4864"),
        ("ic", "ULN2003 ULN2003AN TD62003AP"),
        ("ic", "UC3842 UC3842AN KA3842"),
        ("regulator", "7805 L7805CV LM7805CT UA7805UC MC7805CT LM340T-5 LM340-5"),
        ("regulator", "LM317 LM317T LM117K UA317"),
        ("regulator", "LM723 UA723CN MC1723CP"),
        ("regulator", "LM1117-3.3 LD1117V33 AMS1117-3.3"),
        ("transistor", "BC547 BC547B bc547c BC547-B"),
        ("transistor", "2SC1815 2SC1815-GR C1815GR C1815"),
        ("transistor", "2N2222 2N2222A JAN2N2222A"),
        ("transistor", "BD139 BD139-16"),
        ("transistor", "9013 S9013 SS9013H C9013"),
        ("diode", "1N4007 1N4007G 1N4007-T"),
        ("diode", "BZX79-5V1 BZX79-C5V1 BZX79C5V1 BZX79-B5V1"),
    ],
)
def test_one_type_under_the_numbers_of_its_makers(kind: str, numbers: str) -> None:
    bases = {type_number(kind, number).base for number in numbers.split()}
    assert bases == {numbers.split()[0]}


@pytest.mark.parametrize(
    ("kind", "one", "other"),
    [
        ("ic", "TL072", "TL082"),
        ("ic", "TL072", "TL074"),
        ("ic", "LM358", "LM324"),
        ("ic", "74LS00", "74HC00"),
        ("ic", "CD4016BE", "TMS4016"),  # a switch and a static memory
        ("ic", "2716", "TMS2716"),  # three rails
        ("ic", "2716", "2732"),
        ("ic", "4164", "MCM6664"),  # refresh on pin 1
        ("ic", "6502", "6510"),
        ("ic", "6802", "6800"),
        ("ic", "65C816", "65C02"),
        ("regulator", "7805", "78L05"),
        ("regulator", "7805", "7905"),
        ("regulator", "LM317", "LM337"),
        ("regulator", "LM2940-5", "LM2940-12"),
        ("transistor", "2SC1815", "2SC945"),
        ("transistor", "S8050", "SS8050"),  # 0.5 A and 1.5 A
        ("transistor", "STP55NF06", "STP55NF06L"),  # logic level
        ("diode", "1N4001", "1N4007"),
        ("diode", "BZX79-5V1", "BZX85-5V1"),
        ("diode", "BY229-200", "BY229-600"),
    ],
)
def test_types_that_look_alike_stay_apart(kind: str, one: str, other: str) -> None:
    assert type_number(kind, one).base != type_number(kind, other).base


@pytest.mark.parametrize(
    ("kind", "number", "make", "package", "grade"),
    [
        ("ic", "SN74LS00N", "Texas Instruments", DIP, ""),
        ("ic", "DM74LS221N", "National Semiconductor", DIP, ""),
        ("ic", "SN54LS00J", "Texas Instruments", CERDIP, "54"),
        ("ic", "LM324AN", "", DIP, "A"),  # LM is printed by all who make it
        ("ic", "R6502P", "Rockwell", DIP, ""),
        ("ic", "MC68B50P", "Motorola", DIP, "B"),
        ("ic", "TMS4164-15NL", "Texas Instruments", "", "15"),
        ("ic", "CD4069UBE", "RCA", DIP, "UB"),
        ("ic", "JRC4558D", "JRC", DIP, ""),
        ("ic", "MAX232CPE", "", DIP, ""),
        ("regulator", "L7805CV", "", "TO-220", ""),
        ("regulator", "UA7805KC", "Fairchild", "TO-3", ""),
        ("regulator", "UA78L05ACLP", "Fairchild", "TO-92", "A"),
        ("transistor", "BC547B", "", "", "B"),
        ("transistor", "TIP31C", "", "", "C"),
    ],
)
def test_what_stands_round_the_number(kind: str, number: str, make: str, package: str, grade: str) -> None:
    assert type_number(kind, number)[1:4] == (make, package, grade)


@pytest.mark.parametrize(
    ("kind", "cmos", "elder"),
    [
        ("ic", "82C55A", "8255"),
        ("ic", "R65C02P2", "6502"),
        ("ic", "Z84C0006PEC", "Z80"),
        ("ic", "HD63B50P", "6850"),
        ("ic", "80C31", "8031"),
        ("ic", "TLC555CP", "555"),
        ("ic", "27C256", "27256"),
    ],
)
def test_a_cmos_version_says_so_and_names_its_elder(kind: str, cmos: str, elder: str) -> None:
    found = type_number(kind, cmos)
    assert (found.base, found.cmos) == (elder, True)
    assert not type_number(kind, elder).cmos


def test_a_number_of_no_system_is_its_own_base() -> None:
    assert type_number("ic", "Frob-77/x") == TypeNumber("FROB77X")
    assert type_number("relay", "G2R-1") == TypeNumber("G2R1")


@given(st.sampled_from(KINDS), st.text(max_size=60))
def test_any_text_is_taken_apart_and_its_base_stays_what_it_is(kind: str, number: str) -> None:
    found = type_number(kind, number)
    assert type_number(kind, number.lower()).base == type_number(kind, number.upper()).base
    assert facts_of(kind, number) is not None
    assert found.base or not any(map(str.isalnum, number))


def test_the_half_that_works_is_in_the_number() -> None:
    """3 and 4 of Texas, H and L of Oki (data books, from memory)."""
    for number, half in (("TMS4532-20NL4", "4"), ("TMS4532-20NL3", "3"), ("MSM3732H-20", "h")):
        assert facts_of("ic", number)["half"] == half
    assert "half" not in facts_of("ic", "TMS4532-20")


def test_a_memory_is_found_under_any_of_its_numbers() -> None:
    sizes = {(memory.organisation, memory.rails) for n in ("4164", "HM4864-2") if (memory := memory_of(n))}
    assert sizes == {("64Kx1", ("5",))}
    three_rails = memory_of("TMS2716")
    assert three_rails is not None
    assert three_rails.rails == ("12", "5", "-5")
    assert memory_of("74LS00") is None


def test_a_soviet_number_is_one_type_in_either_alphabet() -> None:
    """KR142EN5A, by sound, is КР142ЕН5А and K155LA3 is К155ЛА3 (ГОСТ 10862, from memory)."""
    assert type_number("regulator", "KR142EN5A").base == type_number("regulator", "КР142ЕН5А").base
    assert type_number("ic", "K155LA3").base == type_number("ic", "К155ЛА3").base
    assert type_number("regulator", "КР142ЕН5А").base != type_number("regulator", "КР142ЕН5Б").base


@pytest.mark.parametrize("numbers", ["KT315 KT315G KT315B КТ315 КТ315Б КТ315Г", "МП42Б MP42B МП42",
                                     "КТ3102Е KT3102E KT3102"])  # fmt: skip
def test_a_soviet_device_has_one_base_and_its_letter_is_the_group(numbers: str) -> None:
    """ГОСТ 10862, from memory."""
    assert len({type_number("transistor", number).base for number in numbers.split()}) == 1


@pytest.mark.parametrize(("asked", "found"), [("KT315", "KT315G"), ("KT315", "КТ315Б"), ("КТ315Г", "KT315G")])
def test_any_group_of_a_soviet_device_serves_where_none_is_asked(asked: str, found: str) -> None:
    """As of a BC547: fits() asks for the order of the pins, which was made two ways, and nothing else."""
    verdict = fits(Spec(kind="transistor", number=asked), Spec(kind="transistor", number=found))
    assert {reason.property for reason in verdict.reasons} == {"pin_order"}


def test_groups_that_a_list_tells_apart_are_types_of_their_own() -> None:
    """Д814А is of 8 V, Д814Б of 9 V (handbooks, from memory)."""
    assert type_number("diode", "Д814А").base != type_number("diode", "Д814Б").base
