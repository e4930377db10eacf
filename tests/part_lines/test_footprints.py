"""Names of packages and footprints: from memory of how layout programs and makers name them."""

import pytest

from inventory.part_words.footprints import package_facts
from inventory.spec import Spec

NAMES = """
DIP-8                                          dip8 dip
Package_DIP:DIP-8_W7.62mm                      dip8 dip
Package_DIP:DIP-16_W7.62mm_Socket              dip16 dip
DIP-40_W15.24mm                                dip40 dip
CERDIP-24                                      dip24 dip
PDIP-28                                        dip28 dip
DIL14                                          dip14 dip
DIP,dip,N                                      dip dip
Package_SO:SOIC-8_3.9x4.9mm_P1.27mm            SOIC-8
SOIC-16W                                       SOIC-16W
TSSOP-14                                       TSSOP-14
Package_QFP:LQFP-48_7x7mm_P0.5mm               LQFP-48
PLCC-44                                        PLCC-44
Package_TO_SOT_SMD:SOT-23                      SOT-23 smd
Package_TO_SOT_SMD:SOT-23-5                    SOT-23-5 smd
Package_TO_SOT_THT:TO-92_Inline                TO-92
Package_TO_SOT_THT:TO-220-3_Vertical           TO-220
TO-220-5                                       TO-220-5
TO-247-3                                       TO-247
R_0805                                         0805 smd
Resistor_SMD:R_1206_3216Metric_HandSolder      1206 smd
C_0603_1608Metric                              0603 smd
C1206                                          1206 smd
RES-0805                                       0805 smd
0207                                           0207
Axial_DIN0207                                  0207 axial
R_Axial_0207                                   0207 axial
R_Axial_DIN0207_L6.3mm_D2.5mm_P10.16mm_Horizontal 0207 axial 10.16
CP_Radial_D5.0mm                               D5.0mm radial
Capacitor_THT:CP_Radial_D5.0mm_P2.00mm         D5.0mm radial 2.00
C_Disc_P5.00mm                                 disc radial 5.00
C_Rect_L7.0mm_W2.5mm_P5.00mm                   L7.0mm,W2.5mm radial 5.00
CP_Axial_L18.0mm_D6.5mm_P25.00mm_Horizontal    L18.0mm,D6.5mm axial 25.00
CP_Elec_6.3x5.4                                6.3x5.4 smd
CP_EIA-3528-21_Kemet-B                         EIA-3528-21 smd
D_DO-41                                        DO-41
Diode_THT:D_DO-41_SOD81_P10.16mm_Horizontal    DO-41 10.16
Diode_SMD:D_SOD-123                            SOD-123 smd
D_MiniMELF                                     MINIMELF
Crystal:Crystal_HC49-U_Vertical                HC-49/U
HC-49/U                                        HC-49/U
RM5                                            5
RM7,5                                          7.5
5,08mm                                         5.08
C_Disc_P7,5mm                                  disc radial 7.5
CP_Radial_D6,3mm_P2,5mm                        D6.3mm radial 2.5
Package_DFN_QFN:QFN-16-1EP_3x3mm_P0.5mm        QFN-16
DFN-8-1EP_2x2mm_P0.5mm                         DFN-8
VQFN-20                                        VQFN-20
TSOP-I-48_18.4x12mm_P0.5mm                     TSOP-I-48
TSOT-23-5                                      TSOT-23-5
SC-70-5                                        SC-70-5
BGA-256                                        BGA-256
HTSSOP-16-1EP_4.4x5mm_P0.65mm                  HTSSOP-16
Pin_Header_1x03_P2.54mm                        Pin,Header,1x03 2.54
Inductor_SMD:L_7.3x7.3mm_H4.5mm                7.3x7.3mm smd
LED_THT:LED_D5.0mm                             5,mm
"""


@pytest.mark.parametrize("row", NAMES.strip().splitlines(), ids=lambda row: row.split()[0])
def test_a_name_says_package_leads_and_pitch(row: str) -> None:
    name, *says = row.split()
    facts = package_facts(name)
    assert [fact.replace(" ", ",") for fact in _in_order(facts)] == says
    Spec(kind="ic", **{key: fact for key, fact in facts.items() if key != "pitch_mm"})


@pytest.mark.parametrize(("name", "pitch"), [("RM 7,5", "7.5"), ("RM 5", "5"), ("radial 2,5 mm", "2.5")])
def test_a_pitch_in_words_is_read(name: str, pitch: str) -> None:
    assert package_facts(name)["pitch_mm"] == pitch


def test_a_comma_between_names_is_no_decimal_comma() -> None:
    assert package_facts("DIP-8,DIP-14") == package_facts("DIP-8 DIP-14")
    assert package_facts("0805,0603") == package_facts("0805")


def _in_order(facts: dict[str, str]) -> list[str]:
    return [facts[name] for name in ("package", "lead_style", "pitch_mm") if name in facts]


@pytest.mark.parametrize("name", ["", "N", "Horizontal", "see note", "_:_"])
def test_a_name_of_nothing_known_says_nothing(name: str) -> None:
    assert package_facts(name) == {}


@pytest.mark.parametrize(
    ("package", "text"),
    [("dip8", "IC, DIP-8"), ("dip", "IC, DIP"), ("", "IC, DIP"), ("SO-8", "IC, DIP, SO-8")],
)
def test_the_leads_are_not_said_again_where_the_package_says_them(package: str, text: str) -> None:
    assert Spec(kind="ic", package=package, lead_style="dip").text == text
