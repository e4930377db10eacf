"""What the columns of people's lists are called, as data: English, German, French, Spanish, Italian, Polish;
Danish, Norwegian, Swedish, Dutch, Portuguese, Czech; Finnish, Hungarian, Romanian, Russian.

From memory, and from lists as they are made; a heading is compared without case, accents, spaces and signs.
"""

from collections.abc import Mapping

from inventory.part_words.kind_words import plainly

_TABLE = """
refs: ref, refs, reference, references, reference(s), designator, designators, ref des, refdes
refs: part reference, position, positions, pos, bauteilnummer, bezeichner, referenz, referenzen, repere
refs: reperes, referencia, referencias, designador, riferimento, riferimenti, sigla, oznaczenie
refs: oznaczenia, referencja
quantity: qty, quantity, count, pieces, pcs, amount, in stock, on hand, stock, how many, no of
quantity: number of, anzahl, menge, stuck, stuckzahl, bestand, stk, qte, quantite, nombre, cantidad
quantity: cant, unidades, uds, existencias, quantita, qta, pezzi, pz, numero pezzi, ilosc, sztuk, szt
quantity: stan
value: value, val, nominal, nominal value, resistance, capacitance, inductance, wert, nennwert, valeur
value: valor, valore, wartosc
kind: kind, type of part, part kind, component type, category, family, class, art, bauteilart, kategorie
kind: bauform art, categorie, genre, categoria, clase, tipo di componente, rodzaj, kategoria
text: part, parts, description, item, component, components, name, part name, designation, what, article
text: bauteil, bauteile, bezeichnung, beschreibung, teil, teile, artikel, benennung, composant
text: composants, libelle, piece, pieza, piezas, componente, componentes, componenti, descripcion
text: descrizione, articolo, articulo, element, elementy, nazwa, opis, czesc, czesci
number: number, type number, type no, part number, part no, p/n, pn, mpn, device, type, model, typ
number: typnummer, typenbezeichnung, teilenummer, herstellernummer, numero de piece, modele
number: numero de parte, modelo, tipo, modello, codice, codigo, numer, oznaczenie typu
package: package, footprint, case, body, outline, housing, size, gehause, bauform, rastermass gehause
package: boitier, empreinte, encapsulado, huella, contenitore, involucro, impronta, obudowa
place: place, location, where, drawer, bin, box, shelf, storage, stored in, cabinet, ort, lagerort
place: lagerplatz, lager, schublade, fach, kiste, schachtel, regal, emplacement, lieu, tiroir, boite
place: casier, lugar, ubicacion, cajon, caja, estante, posizione, luogo, cassetto, scatola, scaffale
place: miejsce, lokalizacja, szuflada, pudelko, polka
tolerance_percent: tolerance, tol, tolerance percent, toleranz, tolerancia, tolleranza, tolerancja
tolerance_percent: precision
volts: volts, voltage, v, rated voltage, working voltage, wv, spannung, spannungsfestigkeit
volts: nennspannung, tension, tension nominale, voltaje, tensione, napiecie
watts: watts, power, w, rated power, wattage, leistung, belastbarkeit, puissance, potencia, potenza, moc
amps: amps, current, a, rated current, strom, nennstrom, courant, intensite, corriente, corrente, prad
dielectric: dielectric, dielectrique, dielektrikum, dielectrico, dielettrico, dielektryk
lead_style: mounting, mounting style, leads, lead style, montage, anschluss, montaje, montaggio, montaz
pitch_mm: pitch, lead pitch, lead spacing, raster, rastermass, rm, pas, paso, passo, rozstaw
make: make, maker, manufacturer, mfr, mfg, brand, hersteller, fabrikat, marke, fabricant, marque
make: fabricante, marca, produttore, costruttore, producent, marka
marking: marking, markings, marked, code, printed, top mark, aufdruck, kennzeichnung, marquage, marcado
marking: marcatura, nadruk
condition: condition, state, status, tested, zustand, getestet, etat, estado, stato, stan techniczny
price: price, unit price, price each, cost, unit cost, each price, preis, einzelpreis, stuckpreis, prix
price: prix unitaire, precio, precio unitario, prezzo, prezzo unitario, cena, cena jednostkowa
giver: supplier, seller, vendor, bought from, from, lieferant, handler, fournisseur, proveedor
giver: fornitore, dostawca
note: note, notes, comment, comments, remark, remarks, bemerkung, bemerkungen, notiz, kommentar
note: anmerkung, remarque, commentaire, nota, notas, observaciones, comentario, osservazioni, uwagi
note: uwaga, komentarz
number_in_list: no, nr, nr., #, line, item no, lfd nr, lfdnr, pos nr, num, n, lp, l.p.
refs: referens, referenser, referentie, referenties, referência
quantity: antal, antall, mængde, mängd, aantal, hoeveelheid, stuks, quantidade, qtd, qtde, počet, počet kusů
quantity: množství, kusů, ks, beholdning
value: værdi, verdi, värde, waarde, hodnota
kind: slags, sort, soort, druh, komponenttype, komponenttyp
text: beskrivelse, betegnelse, navn, del, dele, vare, beskrivning, benämning, beteckning, namn, komponent
text: komponenter, omschrijving, beschrijving, onderdeel, onderdelen, naam, descrição, nome, peça, peças
text: popis, název, součástka, součástky
number: typenummer, typebetegnelse, typnummer, typbeteckning, typové číslo
package: hus, kapsling, kapsel, hölje, behuizing, encapsulamento, invólucro, pouzdro
place: skuffe, plads, placering, lagerplads, kasse, hylde, skuff, plassering, hylle, låda, plats, placering
place: hylla, lade, plaats, locatie, doos, vak, gaveta, localização, local, caixa, prateleira, šuplík, zásuvka
place: umístění, místo, krabice, krabička
tolerance_percent: tolerans, toleranse, tolerantie, tolerância
volts: spænding, spenning, spänning, spanning, tensão, napětí
watts: effekt, vermogen, výkon
amps: strøm, ström, stroom, corrente, proud
lead_style: montering, montáž
make: producent, produsent, tillverkare, fabrikant, fabrikat, výrobce
marking: mærkning, merking, märkning, opdruk, marcação, potisk
condition: tilstand, skick, toestand, staat, stav
price: pris, stykpris, styckpris, prijs, stukprijs, preço, preço unitário, jednotková cena, each
giver: leverandør, leverantör, leverancier, fornecedor, dodavatel
note: bemærkning, bemærkninger, merknad, anmärkning, opmerking, opmerkingen, observação, observações, poznámka
place: platz, standort, aufbewahrung, behälter, kasten, dose, tin, jar, bag
quantity: määrä, kpl, kappalemäärä, lkm, darab, db, darabszám, mennyiség, cantitate, buc, bucăți, nr bucăți
quantity: количество, кол-во, шт
value: arvo, érték, valoare, номинал, значение
kind: tyyppi, laji, típus, fajta, tip, категория
text: kuvaus, nimi, nimike, komponentti, osa, megnevezés, leírás, alkatrész, név, denumire, descriere
text: componentă, piesă, наименование, описание, компонент, деталь, название
number: tyyppinumero, típusszám, cod, тип
package: kotelo, tok, tokozás, capsulă, корпус
place: lokero, laatikko, hylly, paikka, sijainti, fiók, doboz, polc, hely, sertar, cutie, raft, locație, ящик
place: место, коробка, полка
tolerance_percent: toleranssi, tűrés, toleranță, допуск
volts: jännite, feszültség, tensiune, напряжение
watts: teho, teljesítmény, putere, мощность
amps: virta, áramerősség, curent, ток
make: valmistaja, gyártó, producător, производитель
condition: kunto, állapot, stare, состояние
price: hinta, kappalehinta, ár, egységár, preț, preț unitar, цена
giver: toimittaja, szállító, furnizor, поставщик
note: huomautus, huom, megjegyzés, observații, notă, примечание, комментарий
refs: viite, viitteet, hivatkozás, referință, referințe, обозначение
not_fitted: dnp, dnf, dni, do not fit, do not populate, do not place, not fitted, not populated, no fit
not_fitted: nicht bestückt, unbestückt, non monté, no montar, non montare, nie montować, niet plaatsen
fitted: fitted, fit, populate, populated, mounted, mount, assembled, bestückt, bestücken, bestückung, monté
fitted: implanté, montado, montar, montato, montare, montowany, geplaatst, monteret, montert, monterad
fitted: osadit, osazeno
none: line total, line price, total price, extended price, amount due
none: gesamtpreis, prix total, precio total, prezzo totale, wartosc razem, samlet pris, totalpris, totaalprijs
none: preço total, cena celkem
"""

NONE = "none"
"""A column of the list's own that is not read, such as what a line comes to."""
NUMBER_IN_LIST = "number_in_list"
"""Counts the lines of a list and says nothing of the parts."""

PROPERTIES = (
    "tolerance_percent", "volts", "watts", "amps", "dielectric", "lead_style", "pitch_mm", "make",
)  # fmt: skip
BESIDE = ("marking", "condition", "price", "giver", "note")
"""Columns that are carried as they are typed."""
MEANINGS = (
    "refs", "quantity", "value", "text", "number", "kind", "package", "place", *PROPERTIES, *BESIDE,
    "fitted", "not_fitted", NUMBER_IN_LIST,
)  # fmt: skip
"""What a column may hold; blank is nothing that is read."""

TOTALS = frozenset(
    (
        "total", "totals", "sum", "subtotal", "summe", "gesamt", "gesamtsumme", "zwischensumme", "somme",
        "soustotal", "totale", "subtotale", "suma", "razem", "ogolem", "ialt", "summa", "totaal",
        "subtotaal", "celkem", "mezisoucet", "yhteensa", "osszesen", "итого", "всего",
    )
)  # fmt: skip
"""What the row below a list is called."""


def plain_heading(text: str) -> str:
    """A heading without what people vary.

    >>> plain_heading("Référence(s)"), plain_heading(" Stück ")
    ('references', 'stuck')
    """
    return "".join(sign for sign in plainly(text) if sign.isalnum() or sign == "#")


KNOWN_HEADINGS: dict[str, str] = {
    plain_heading(word): meaning.strip()
    for line in _TABLE.strip().splitlines()
    for meaning, _colon, words in [line.partition(":")]
    for word in words.split(",")
}
"""Heading without case, accents and signs -> what the column holds."""


def meaning_of(heading: str, known: Mapping[str, str] = KNOWN_HEADINGS) -> str:
    """What a heading says its column holds; blank where it is no known one.

    What stands in brackets, a unit or a remark, does not matter; nor does a plural.
    """
    bare = heading.partition("(")[0].partition("[")[0]
    for each in (heading, bare):
        word = plain_heading(each)
        for form in (word, word.removesuffix("s"), word.removesuffix("en")):
            if form in known:
                return known[form]
    return ""
