"""More lists as people have them, of our own making; see `awkward`."""

from datetime import date

from tests.sheets.awkward import book, text

MORE = [
    text("cells between single quotes", """
'Qty';'Description';'Location'
'3';'Res., 4k7; 5%';'Tin ''A'''
'2';'Cap 2,2 µF 100 V MKT';'Tin B'
""", "4k7 5 % resistor | 3 | | Tin 'A'",
         "2µ2 100 V polyester | 2 | | Tin B"),
    text("a separator that is declared", "sep=|\n4k7 5%, or so; maybe|12\n10k 5%|3\n",
         "4k7 5 % resistor | 12", "10k 5 % resistor | 3"),
    text("a comma in one line of many", """
2x 10k
box 3, 10uF 16V
BC547
1N4148
LM317T
""", "10k resistor | 2", "10µ 16 V capacitor | 1 | | box 3", "BC547 *transistor | 1", "1N4148 *diode | 1",
         "LM317 *regulator | 1"),
    book("formulas without their results",
         [("Part", "Qty", "Each", "Drawer", "Remark"), ("4k7 5%", "=2*10", 0.02, "A", None),
          ("=A2", 7, None, "A", None),
          ("10k", 3, None, "=D2", None), ("100n 63V", 3, "=C2", "B", "=E2"),
          ("=A9", "=B9", None, None, None)],
         "4k7 5 % resistor | | | A ! Qty: a formula without", "- | 7 | | A ! Part: a formula without",
         "10k resistor | 3 ! Drawer: a formula without", "100n 63 V capacitor | 3 | | B",
         "- | ! Part: a formula without"),
    book("days beside parts", [("Part", "Qty", "Remark"), ("4k7", 3, date(2026, 3, 4))], "4k7 resistor | 3"),
    text("days that a spreadsheet made in a text table", """
Value;Qty;Drawer
3,00E+03;4;A
02. Jan;5;1-4
2-Jan;6;1-5
Mrz 26;6;1-6
4k7;7;03. Feb
4k7;8;2026-02-03
4k7;9;1-3
""", "- | 4 | | A ! Value: a number in powers",
         "- | 5 | | 1-4 ! Value: a date", "- | 6 | | 1-5 ! Value: a date",
         "- | 6 | | 1-6 ! Value: a date", "4k7 resistor | 7 | | 03. Feb ! Drawer: a date",
         "4k7 resistor | 8 | | 2026-02-03 ! Drawer: a date", "4k7 resistor | 9 | | 1-3"),
    text("figures beside how many", "Part,Qty\n1k 5%,2 x 10\n2k2 5%,1 dozen\n3k3 5%,½ reel\n4k7 5%,5 / 10\n",
         "1k 5 % resistor | ! how many: 2 x 10 is not", "2k2 5 % resistor | 12",
         "3k3 5 % resistor | ! how many: ½ reel is not", "4k7 5 % resistor | ! how many: 5 / 10 is not"),
    text("lines counted under Item", """
Item,Reference,Value,Qty
1,R1-R4,4k7,4
2,"C1, C2",100n,2
3,U1,74HC595,1
""", "4k7 resistor | 4 | R1 R2 R3 R4", "100n capacitor | 2 | C1 C2", "74HC595 *IC | 1 | U1"),
    text("what a line comes to, under Gesamt", """
Bauteil;Wert;Menge;Preis;Gesamt
Widerstand;2.200;1.000;0,012 €;12,00 €
Elko;4.700 µF 16 V;5;1.250,00 €;6.250,00 €
Summe;;1.005;;6.262,00 €
""", "2k2 resistor | 1000", "4700µ 16 V aluminium | 5"),
    text("totals among words", """
Teil;Anzahl;Ort
Widerstände:;;
4k7;20;Fach 1
10k;13;Fach 1
Zwischensumme Widerstände;33;
BC547B;6;Fach 2
Zwischensumme: 46 Stück;;
Gesamt 79 Teile;;
""", "4k7 resistor | 20 | | Fach 1", "10k resistor | 13 | | Fach 1", "BC547B *transistor | 6 | | Fach 2"),
    book("a cabinet and a drawer of it",
         [("Bauteil", "Stück", "Regal", "Fach"), ("4k7 5%", 20, "Nord", "R1"), ("100nF", 8, "Nord", "C1"),
          ("BC547B", 6, None, "T4")],
         "4k7 5 % resistor | 20 | | Nord / R1", "100n capacitor | 8 | | Nord / C1",
         "BC547B *transistor | 6 | | T4"),
    book("two lists beside each other and one below",
         [("Resistors", None, None, None, "Semiconductors"),
          ("Value", "Qty", "Drawer", None, "Type", "Case", "Qty", "Drawer"),
          ("4k7", 10, "A1", None, "BC547", "TO-92", 4, "B1"), ("330R", 3, "A2"), ("Capacitors",),
          ("Value", "Volts", "Qty", "Drawer"), ("100n", 63, 5, "C1")],
         "4k7 resistor | 10 | | A1", "330R resistor | 3 | | A2", "BC547 *transistor, TO-92 | 4 | | B1",
         "100n 63 V capacitor | 5 | | C1"),
    text("ranges in several spellings", """
Refs;Value;Count
R5..R7;10k;3
C1 to C3;100n;3
C4/C5;10n;2
C6+C7;22p;2
D1...D3;1N4148;3
R8 bis R9 und R11;1k;3
Q1 à Q2;BC547;2
""", "10k resistor | 3 | R5 R6 R7", "100n capacitor | 3 | C1 C2 C3", "10n capacitor | 2 | C4 C5",
         "22p capacitor | 2 | C6 C7", "1N4148 *diode | 3 | D1 D2 D3", "1k resistor | 3 | R8 R9 R11",
         "BC547 *transistor | 2 | Q1 Q2"),
    text("place and part in one column", """
drawer 12 BC547
drawer 12: 1N4148 x 20
Schublade 4: 4k7 1/4W
shelf B2 - LM317T
BC557 (drawer 7)
2N3055 in tray 5
top drawer 10k
box 9
BC337
""", "BC547 *transistor | 1 | | drawer 12", "1N4148 *diode | 20 | | drawer 12",
         "4k7 0.25 W resistor | 1 | | Schublade 4", "LM317 *regulator | 1 | | shelf B2",
         "BC557 *transistor | 1 | | drawer 7", "2N3055 *transistor | 1 | | tray 5",
         "10k resistor | 1 | | top drawer",
         "BC337 *transistor | 1 | | box 9"),
    text("Finnish", "Määrä;Arvo;Kuvaus;Lokero\n12 kpl;4k7;vastus 1/4W 5%;L3\n5 kpl;100n;kondensaattori 63V;"
         "L4\n3 kpl;BC557;transistori;L5\n", "4k7 5 % 0.25 W resistor | 12 | | L3",
         "100n 63 V capacitor | 5 | | L4", "BC557 *transistor | 3 | | L5", encoding="cp1252"),
    text("Hungarian", "Darab\tÉrték\tMegnevezés\tFiók\n12\t4k7\tellenállás 5%\tF3\n"
         "5 db\t100n\tkondenzátor 63V\tF4\n"
         "7\t1N4148\tdióda\tF5\n", "4k7 5 % resistor | 12 | | F3", "100n 63 V capacitor | 5 | | F4",
         "1N4148 *diode | 7 | | F5", encoding="iso8859_2"),
    text("Romanian", "Cantitate,Valoare,Denumire,Sertar\n12 buc,4k7,rezistență 5%,S3\n"
         "5 buc,100n,condensator 63V,S4\n"
         "3 buc,BC557,tranzistor,S5\n", "4k7 5 % resistor | 12 | | S3", "100n 63 V capacitor | 5 | | S4",
         "BC557 *transistor | 3 | | S5", encoding="utf-8-sig"),
    text("Russian", "Наименование;Номинал;Кол-во;Ящик\nрезистор;4,7 кОм;12 шт;Я-3\n"
         "конденсатор;0,1 мкФ;5 шт;Я-4\n"
         "транзистор;КТ315Б;3;Я-4\n", "4k7 resistor | 12 | | Я-3", "100n capacitor | 5 | | Я-4",
         "КТ315Б *transistor | 3 | | Я-4", encoding="cp1251"),
    text("headings in a language that is not known here",
         "Ilo;Kiom;Kie\n4k7 5%;12;TR-B\nBC557;3;TR-C\n10uF 16V;8;TR-C\n",
         "4k7 5 % resistor | 12", "BC557 *transistor | 3", "10µ 16 V capacitor | 8"),
]  # fmt: skip
