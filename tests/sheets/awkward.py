"""Lists as people have them, each awkward in its own way, with what each must become.

Of each row that is a part: what it is read as (`*` stands for words that do not matter), how many, its
references, its place; a row with a problem ends in `!` and what is asked.  All are of our own making.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from io import BytesIO
from pathlib import Path

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

LISTS = Path(__file__).parent / "lists"
"""Old workbooks and OpenDocument sheets, as an office program saved them."""


@dataclass(frozen=True)
class Awkward:
    """A file and what its rows must become."""

    name: str
    data: bytes
    becomes: tuple[str, ...]


def text(name: str, lines: str, *becomes: str, encoding: str = "utf-8") -> Awkward:
    return Awkward(f"{name}.csv", lines.strip("\n").encode(encoding), becomes)


def book(
    name: str,
    rows: Sequence[Sequence[object]],
    *becomes: str,
    merge: Sequence[str] = (),
    more: Callable[[Workbook], None] | None = None,
) -> Awkward:
    made = Workbook()
    sheet = made.active
    for row in rows:
        sheet.append(list(row))
    for cells in merge:
        sheet.merge_cells(cells)
    for column in range(1, sheet.max_column + 1):
        sheet.column_dimensions[get_column_letter(column)].width = 12
    if more:
        more(made)
    file = BytesIO()
    made.save(file)
    return Awkward(f"{name}.xlsx", file.getvalue(), becomes)


def _another(made: Workbook) -> None:
    another = made.create_sheet("More")
    another.append(["Stück", "Teil"])
    another.append([4, "1N4007"])


def _hidden(made: Workbook) -> None:
    hidden = made.create_sheet("Old")
    hidden.append(["Part", "Qty"])
    hidden.append(["10k", 1])
    hidden.sheet_state = "hidden"


def saved(name: str, *becomes: str) -> Awkward:
    return Awkward(name, (LISTS / name).read_bytes(), becomes)


AWKWARD = [
    text("parts list of an editor", """
Reference(s),Value,Footprint,Qty
"C1, C3",100n,C_Disc_P5.00mm,2
R1 R2 R3,4k7,R_Axial_0207,3
U1,LM324N,DIP-14,1
Q1,BC547B,TO-92,1
""", "100n capacitor, radial, 5 mm, disc | 2 | C1 C3", "4k7 resistor, axial, 0207 | 3 | R1 R2 R3",
         "LM324 *IC, DIP-14* | 1 | U1", "BC547B *transistor, TO-92 | 1 | Q1"),
    text("one column of words", """
Bauteil
10uF 16V
BC547B
4k7 1/4W 5%
""", "10µ 16 V capacitor | 1", "BC547B *transistor | 1", "4k7 5 % 0.25 W resistor | 1"),
    text("no headings at all", """
10uF 16V
BC547B
2,2k 1%
1N4148
""", "10µ 16 V capacitor | 1", "BC547B *transistor | 1", "2k2 1 % resistor | 1", "1N4148 *diode | 1"),
    text("no headings, two columns", """
30;10uF 16V
12;BC547B
5;4k7
""", "10µ 16 V capacitor | 30", "BC547B *transistor | 12", "4k7 resistor | 5"),
    text("German, semicolons, decimal comma", """
Anzahl;Wert;Bauform;Lagerort;Preis
ca. 20;2,2k;0207;Schublade 3;0,05
30 Stk;4,7k;0207;Schublade 3;0,05
5;100n;0805;Kiste 1;0,10
Summe;;;;0,20
""", "2k2 resistor, 0207 | 20 | | Schublade 3", "4k7 resistor, 0207 | 30 | | Schublade 3",
         "100n capacitor, SMD, 0805 | 5 | | Kiste 1"),
    text("thousands with a point", """
Art;Wert;Stück
Widerstand;2.200;5
Widerstand;1.000;6
Widerstand;0,47;7
""", "2k2 resistor | 5", "1k resistor | 6", "R47 resistor | 7"),
    text("thousands with a comma", """
Kind,Value,Qty
resistor,"2,200",5
resistor,4.7,6
""", "2k2 resistor | 5", "4R7 resistor | 6"),
    text("nobody can say", """
Kind,Value,Qty
resistor,2.200,5
resistor,1.000,6
""", "- | 5 ! Value: 2.200 could be 2200 or 2.200", "- | 6 ! Value: 1.000 could be"),
    text("the other column says it", """
Part;Value;Price
resistor;2.200;0,05
resistor;4700;0,10
""", "2k2 resistor | 1", "4k7 resistor | 1"),
    text("thousands among words", """
Bauteil;Anzahl
2.200;5
1.000;6
0,47;7
4,7k;3
Widerstand 1.500;2
3.300 Ohm;4
""", "- | 5 ! Bauteil: 2200 has no unit: say which it is of 2k2 resistor, 2n2 capacitor",
         "- | 6 ! Bauteil: 1000 has no unit: say which it is of 1k resistor, 1n capacitor",
         "- | 7 ! Bauteil: 0,47 has no unit: say which it is of R47 resistor", "4k7 resistor | 3",
         "1k5 resistor | 2", "3k3 resistor | 4"),
    text("words of which nobody can say", """
Bauteil;Anzahl
2.200;5
1.000 pF;6
0,5W Widerstand 3k3;2
01.02.1988;
4.7k;1
""", "- | 5 ! Bauteil: 2.200 could be 2200 or 2.200",
         "- | 6 ! Bauteil: 1.000 pF could be 1000 pF or 1.000 pF",
         "3k3 0.5 W resistor | 2", "4k7 resistor | 1"),
    text("a figure of several signs in a column that shows both", """
Part;Qty
1.234,5 ohm;1
4.7k;2
1.000.000 ohm;3
""", "1k2345 resistor | 1", "4k7 resistor | 2", "1M resistor | 3"),
    text("a copied point among decimal commas", """
Part;Qty;Price
2.200 ohm;5;1,50
4.7k;2;0,10
""", "- | 5 ! Part: 2.200 ohm could be 2200 ohm or 2.200 ohm", "4k7 resistor | 2"),
    text("letters of references for the type", """
Type;Value;Qty
R;470;5
R;2200;1
C;100n;4
C;2200;2
L;10uH;3
D;1N4148;6
Q;BC547;7
""", "470R resistor | 5", "2k2 resistor | 1", "100n capacitor | 4",
         "- | 2 ! Value: 2200 has no unit: say which it is of 2n2 capacitor", "10µH inductor | 3",
         "1N4148 *diode | 6", "BC547 *transistor | 7"),
    text("letters of references among words for the part", """
Part;Value;Qty
R;470;5
C;100n;2
Widerstand;2k2;1
BC547;;4
""", "470R resistor | 5", "100n capacitor | 2", "2k2 resistor | 1", "BC547 *transistor | 4"),
    text("letters of references before the value", """
Part;Qty
R 470;5
R 2200;1
C 100n;2
C 2200;3
""", "470R resistor | 5", "2k2 resistor | 1", "100n capacitor | 2",
         "- | 3 ! Part: 2200 has no unit: say which it is of 2n2 capacitor"),
    text("numbers of references without their letters", """
Ref;Part
"R1,2,5";4k7
"C1,2";100n
""", "4k7 resistor | 3 | R1 R2 R5", "100n capacitor | 2 | C1 C2"),
    text("packages in two spellings", """
Part;Package;Qty
BC547 TO92;TO-92_Inline;5
BC547 TO-92;TO92;1
1N4007 DO-41;DO 41;2
""", "BC547 *transistor, TO-92 | 5", "BC547 *transistor, TO-92 | 1", "1N4007 *diode, DO-41 | 2"),
    text("a date shows no decimal sign", """
Part;Qty
resistor 2.200;5
lamp 6V 01.02.1988;1
""", "- | 5 ! Part: resistor 2.200 could be resistor 2200 or resistor 2.200", "6 V lamp | 1"),
    text("references show no decimal sign", """
Part;Qty
resistor 2.200;5
C1,2 100n;2
""", "- | 5 ! Part: resistor 2.200 could be", "* | 2 | C1*"),
    text("three figures after the point", """
Part,Qty
resistor 1.000,5
resistor 0.470,6
""", "1R resistor | 5", "R47 resistor | 6"),
    text("thousands with a space", """
Désignation;Quantité
résistance 2 200;1 500
10 000 Ohm;2
condensateur 1\u00a0000 pF;3
4\u202f700 µF 25V;4
""", "2k2 resistor | 1500", "10k resistor | 2",
         "1n capacitor | 3", "4700µ 25 V capacitor | 4"),
    text("thousands with an apostrophe", """
Bauteil;Anzahl
Widerstand 2'200;5
Kondensator 1’000 pF;6
""", "2k2 resistor | 5", "1n capacitor | 6"),
    text("thousands or how many", """
Part
5 100 ohm
12 x 100n
""", "*5 100 ohm could be 5100 ohm, or 5 of 100 ohm", "100n capacitor | 12"),
    text("codes or values", """
Part,Qty
2200,3
103,4
7805,5
NE555,6
47 16V,7
""", "- | 3 ! Part: 2200 has no unit: say which it is of 2k2 resistor,*220R 1 % resistor",
         "- | 4 ! Part: 103 has no unit: *10k 5 % resistor, 10n capacitor", "7805 *regulator | 5",
         "*555* | 6",
         "- | 7 ! Part: 47 has no unit: *47µ 16 V capacitor"),
    text("values that are all of resistors", """
Value,Qty
4k7,3
100,4
1M,2
""", "4k7 resistor | 3", "100R resistor | 4", "1M resistor | 2"),
    text("values of several kinds", """
Value,Qty
4k7,3
100n,4
100,2
""", "4k7 resistor | 3", "100n capacitor | 4", "- | 2 ! Value: 100 has no unit: say which it is of 100R"),
    text("values and nothing else", """
Wert;Stück
47;3
1.000;4
0,22;2
""", "- | 3 ! Wert: 47 has no unit", "- | 4 ! Wert: 1000 has no unit", "- | 2 ! Wert: 0,22 has no unit"),
    text("bare electrolytics", """
Typ;Wert;Stück
Elko;2.200;4
Elko;0,47 µF;2
""", "- | 4 ! Wert: 2200 has no unit: *2200µ aluminium", "470n aluminium | 2"),
    text("both signs in a column", """
Part;Qty
2,2k;3
4.7k;4
resistor 1.000;5
""", "2k2 resistor | 3", "4k7 resistor | 4", "- | 5 ! Part: resistor 1.000 could be"),
    text("footprints beside what the words say", """
Ref;Part;Footprint
U1;LM358 DIP;Package_DIP:DIP-8_W7.62mm
U2;LM358 DIP-8;DIP
U3;LM358 DIP-14;Package_DIP:DIP-8_W7.62mm
U4;LM358;DIP, dip, N
C1;10uF 16V radial;CP_Radial_D5.0mm_P2.00mm
""", "LM358 *IC, DIP-8 | 1 | U1", "LM358 *IC, DIP-8 | 1 | U2", "LM358 *IC, DIP-8 | 1 | U3",
         "LM358 *IC, DIP | 1 | U4", "10µ 16 V capacitor, radial, 2 mm, D5.0mm | 1 | C1"),
    text("headings in row 14", "Parts of the shed\nCounted in May\n" + "\n" * 11 + """Part,Qty,Where
10uF 16V,3,Tin on the sill
""", "10µ 16 V capacitor | 3 | | Tin on the sill"),
    text("sections and a total", """
Part,Qty
Resistors,
4k7,10
Capacitors,
100,5
Total,15
""", "4k7 resistor | 10", "- | 5 ! Part: 100 has no unit: say which it is of 100p capacitor"),
    text("rows under the wrong heading", """
Teil;Anzahl;Wert
Widerstände;;
;3;4k7
Elko;5;10µF 16V
;9;BC547B
""", "4k7 resistor | 3", "10µ 16 V aluminium | 5", "BC547B *transistor | 9"),
    text("sections are drawers", """
Teil;Menge
Schublade 7;
BC337;4
Schublade 8;
1N4007;9
""", "BC337 *transistor | 4 | | Schublade 7", "1N4007 *diode | 9 | | Schublade 8"),
    text("a second table beside", """
Part,Qty,,Part,Qty
4k7,10,,BC547,3
10k,20,,1N4148,7
""", "4k7 resistor | 10", "10k resistor | 20", "BC547 *transistor | 3", "1N4148 *diode | 7"),
    text("a second table below", """
Part,Qty
4k7,10

Ref,Value,Footprint
R1,10k,0805
C2,10n,0805
""", "4k7 resistor | 10", "10k resistor, SMD, 0805 | 1 | R1", "10n capacitor, SMD, 0805 | 1 | C2"),
    text("headings again on each page", """
Part,Qty
4k7,10
Part,Qty
10k,20
""", "4k7 resistor | 10", "10k resistor | 20"),
    text("a few of them", """
Part,Qty
4k7,a few
BC547,~15
LM358,20+
""", "4k7 resistor | ! how many: a few is not a number of pieces", "BC547 *transistor | 15",
         "LM358 *IC | 20"),
    text("what nobody knows", """
Part,Qty
thingummy,3
4k7,1
""", "- | 3 ! nothing in the row says which part this is", "4k7 resistor | 1"),
    text("French", """
Désignation;Quantité;Tiroir;Remarque
condensateur 10µF 25V électrolytique;4;Tiroir 2;gonflé
résistance 4,7k 5%;12;Tiroir 1;
""", "10µ 25 V aluminium | 4 | | Tiroir 2", "4k7 5 % resistor | 12 | | Tiroir 1"),
    text("Spanish", """
Descripción;Cantidad;Ubicación
resistencia 1k 1%;30;Cajón 4
condensador 100n 63V;8;Cajón 5
""", "1k 1 % resistor | 30 | | Cajón 4", "100n 63 V capacitor | 8 | | Cajón 5"),
    text("Italian", """
Componente;Quantità;Posizione;Tensione
condensatore 10u;6;Cassetto 3;25 V
diodo 1N4148;50;Cassetto 1;
""", "10µ 25 V capacitor | 6 | | Cassetto 3", "1N4148 *diode | 50 | | Cassetto 1"),
    text("Polish, in an encoding of its own", """
Nazwa;Ilość;Szuflada;Uwagi
rezystor 4k7 5%;25;Szuflada żółta;półka łatwa do znalezienia, używać ostrożnie
kondensator 100n;10;Szuflada żółta;jeśli braknie, zamówić więcej
""", "4k7 5 % resistor | 25 | | Szuflada żółta", "100n capacitor | 10 | | Szuflada żółta", encoding="cp1250"),
    text("Western letters", """
Bauteil;Stück;Ort
Elko 10µF 16V;4;Schublade für Kleines
Folie 100nF 63V;9;Schublade für Größeres
""", "10µ 16 V aluminium | 4 | | Schublade für Kleines", "100n 63 V film | 9 | | Schublade für Größeres",
         encoding="cp1252"),
    text("western letters of which there are few", """
Bauteil;Wert;Stück;Fach
Kondensator;0,1µF;30;Kasten 3
Elko;10µF 25V;ca. 20;Kasten 4
""", "100n capacitor | 30 | | Kasten 3", "10µ 25 V aluminium | 20 | | Kasten 4", encoding="cp1252"),
    text("how many, in brackets", "Part\n1N4007 (20)\nBC547B (5)\n22uF 35V (4)\n",
         "1N4007 *diode | 20", "BC547B *transistor | 5", "22µ 35 V capacitor | 4"),
    text("sixteen bits a letter", "Part\tQty\n4k7\t3\n", "4k7 resistor | 3", encoding="utf-16"),
    text("strokes between", "Part|Qty\n4k7 5%|3\nBC547|8\n", "4k7 5 % resistor | 3", "BC547 *transistor | 8"),
    text("ratings in columns", """
Type of part,Value,Tol,Voltage,Power,Dielectric,Qty
resistor,47k,5%,,1/4 W,,10
capacitor,220n,10%,275 V,,film,4
""", "47k 5 % 0.25 W resistor | 10", "220n 10 % 275 V film | 4"),
    text("a transistor or a transformer", """
Ref,Part
T1,BC109
TR2,2N3055
""", "BC109 *transistor | 1 | T1", "2N3055 *transistor | 1 | TR2"),
    text("references that do not add up", """
Designator,Value,Quantity
"R1,R2,R5-R7",10k,4
""", "10k resistor | 4 | R1 R2 R5 R6 R7"),
    text("lines are numbered", """
No,Part,Qty
1,4k7,5
2,10k,6
3,100n,7
""", "4k7 resistor | 5", "10k resistor | 6", "100n capacitor | 7"),
    text("numbered under Pos", """
Pos;Bauteil;Anzahl
1;BC337;5
2;1N4148;6
3;LM358;7
""", "BC337 *transistor | 5", "1N4148 *diode | 6", "LM358 *IC | 7"),
    text("counts among the words", """
Part
12 x 4k7 5%
30 pcs BC547B
1N4148 x 5
""", "4k7 5 % resistor | 12", "BC547B *transistor | 30", "1N4148 *diode | 5"),
    text("quotes and an end of line in a cell",
         'Part,Qty,Note\n"4k7\n5%",3,"the ""good"" ones"\n', "4k7 5 % resistor | 3"),
    text("bare figures beside references", """
Refs,Value
R1,100
R2,4700
C1,10n
""", "100R resistor | 1 | R1", "4k7 resistor | 1 | R2", "10n capacitor | 1 | C1"),
    text("chips that nobody knows", """
Ref,Value,Package
U7,ZQX9931,DIP-8
""", "ZQX9931 IC, DIP-8 | 1 | U7"),
    text("a type that nobody knows", "Part,Qty\nZQX9931,3\n",
         "ZQX9931 IC | 3 ! ZQX9931 is a type that is not known here: say what kind"),
    text("a formula in words", "Part,Qty\n'=4k7,3\n", "- | 3 ! nothing in the row says which part this is"),
    book("place in a merged cell",
         [("Place", "Part", "Qty"), ("Tin", "4k7", 3), (None, "10k", 4), ("Box", "22k", 5)],
         "4k7 resistor | 3 | | Tin", "10k resistor | 4 | | Tin", "22k resistor | 5 | | Box", merge=["A2:A3"]),
    book("title in a merged cell", [("Parts of the shed",), (), ("Part", "Qty", "Price"), ("BC547", 3, 0.05)],
         "BC547 *transistor | 3", merge=["A1:C1"]),
    book("figures are numbers", [("Kind", "Value", "Qty"), ("resistor", 2200, 3), ("resistor", 4.7, 2.0)],
         "2k2 resistor | 3", "4R7 resistor | 2"),
    book("a marking made a date", [("Part", "Qty"), (date(2026, 3, 4), 2), ("4k7", 1)],
         "- | 2 ! Part: a date or time", "4k7 resistor | 1"),
    book("several sheets", [("Part", "Qty"), ("4k7", 3)], "4k7 resistor | 3", "1N4007 *diode | 4",
         more=_another),
    saved("old workbook.xls", "4k7 5 % resistor | 10 | | Tin", "BC547 *transistor | 4 | | Tin",
          "100n 63 V capacitor | 7 | | Box"),
    saved("open document.ods", "4k7 5 % resistor | 10 | | Tin", "BC547 *transistor | 4 | | Tin",
          "100n 63 V capacitor | 7 | | Box"),
    book("a hidden sheet", [("Part", "Qty"), ("4k7", 3)], "4k7 resistor | 3", more=_hidden),
    book("blank columns and rows", [(), (None, None, "Part", None, "Qty"), (), (None, None, "4k7", None, 3)],
         "4k7 resistor | 3"),
    text("a schematic editor that calls values comments", """
Comment	Designator	Footprint	Quantity
10uF 16V	C4; C7	RAD-0.1	2
2k2	R3; R4	AXIAL-0.4	2
""", "10µ 16 V capacitor, RAD-0.1 | 2 | C4 C7", "2k2 resistor, AXIAL-0.4 | 2 | R3 R4"),
    text("an order with what each line comes to", """
Order 5512;;;;
Line;Description;Qty;Unit price;Line total
1;Resistor carbon film 4k7 0.25W 5%;100;0,012 €;1,20 €
2;Transistor NPN BC547B TO-92;25;0,041 €;1,03 €
;;;Postage;4,90 €
;;;Total;7,13 €
""", "4k7 5 % 0.25 W carbon film resistor | 100", "BC547B *transistor, TO-92 | 25"),
    text("Danish", "Antal;Værdi;Beskrivelse;Skuffe\n12 stk;4k7;modstand 1/4W 5%;A3\n3;BC557;transistor;B1\n",
         "4k7 5 % 0.25 W resistor | 12 | | A3", "BC557 *transistor | 3 | | B1", encoding="cp1252"),
    text("Dutch", "Aantal;Waarde;Omschrijving;Lade\n12;4k7;weerstand 1/4W 5%;A3\n5;100n;condensator 63V;A4\n",
         "4k7 5 % 0.25 W resistor | 12 | | A3", "100n 63 V capacitor | 5 | | A4"),
    text("Portuguese", "Quantidade;Valor;Descrição;Gaveta\n12;4k7;resistência 5%;A3\n5;100n;condensador;A4\n",
         "4k7 5 % resistor | 12 | | A3", "100n capacitor | 5 | | A4"),
    text("Swedish", "Antal;Värde;Benämning;Låda\n12;4k7;motstånd 1/4W 5%;A3\n5;100n;kondensator 63V;A4\n",
         "4k7 5 % 0.25 W resistor | 12 | | A3", "100n 63 V capacitor | 5 | | A4"),
    text("Czech", "Počet;Hodnota;Popis;Šuplík\n12 ks;4k7;rezistor 1/4W 5%;A3\n3 ks;BC557;tranzistor;B1\n",
         "4k7 5 % 0.25 W resistor | 12 | | A3", "BC557 *transistor | 3 | | B1", encoding="cp1250"),
    text("counts with a sign", "what,how many\n220u 16V electrolytic,6x\n", "220µ 16 V aluminium | 6"),
    book("two lists beside each other, headed by kinds",
         [("Qty", "Resistor", None, "Qty", "Capacitor"), (10, "4k7", None, 4, "100n"), (3, "330R")],
         "4k7 resistor | 10", "330R resistor | 3", "100n capacitor | 4"),
    text("units in the headings", "Resistance (ohm);Watts;Count\n4700;0.25;15\n47;0.5;9\n",
         "4k7 0.25 W resistor | 15", "47R 0.5 W resistor | 9"),
    text("thousands of ohms in the heading", "Resistance (kohm);Count\n4.7;15\n100;9\n",
         "4k7 resistor | 15", "100k resistor | 9"),
    text("thousands of ohms in the heading, and references", "Ref;Value (kohm)\nR1;4.7\nR2;100\nR3;10R\n",
         "4k7 resistor | 1 | R1", "100k resistor | 1 | R2", "10R resistor | 1 | R3"),
    text("a unit in brackets beside the kind", "Qty;Capacitance [nF]\n3;100\n4;4.7\n",
         "100n capacitor | 3", "4n7 capacitor | 4"),
    text("markings alone say the parts", "Marking,Qty,Bought\n104K,5,2020\n4k7,2,\n",
         "100n 10 % capacitor | 5", "4k7 resistor | 2"),
]  # fmt: skip
