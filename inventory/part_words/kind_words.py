"""What kinds of part are called, and the letters of references: the one table of both.  Pure.

English, German, French, Spanish, Italian, Polish, Danish, Norwegian, Swedish, Dutch, Portuguese, Czech,
Finnish, Hungarian, Romanian, Russian; in lower case, without accents (`plainly`).  Trade words from memory
where no standard is named.
"""

import re
import unicodedata
from collections.abc import Sequence
from typing import NamedTuple


class NamedKind(NamedTuple):
    """A kind, and what the word says of it besides: a relay is of kind other, its `device` relay."""

    kind: str
    facts: tuple[tuple[str, str], ...] = ()


def plainly(text: str) -> str:
    """A word as the tables have it: lower case, no accents, no full stop or colon at its end.

    >>> plainly("Stück."), plainly("Résistance"), plainly("X7R")
    ('stuck', 'resistance', 'x7r')
    """
    low = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(sign for sign in low if not unicodedata.combining(sign)).replace("ł", "l")
    return bare.rstrip(".:") or bare


def _named(kind: str, *facts: str) -> NamedKind:
    """`device=relay` as a fact of that kind."""
    pairs = (fact.partition("=") for fact in facts)
    return NamedKind(kind, tuple((name, value) for name, _sign, value in pairs))


_WORDS = """
    resistor: resistor, res, widerstand, widerstande, resistance, resistencia
    resistor: resistore, resistori, resistenza, resistenze
    resistor: rezystor, rezystory, opornik, oporniki
    resistor: drahtwiderstand, modstand, modstande, motstand, motstander, weerstand, weerstanden
    resistor: resistencias, rezistor, rezistory, odpor, odpory
    resistor variable=yes: potmeter, instelpotmeter, potenciometr, trimr
    capacitor: kondensatorer, condensator, condensatoren, kondenzator, kondenzatory
    inductor: spole, spoler, spoel, spoelen, civka, civky, tlumivka, smoorspoel
    diode: dioder, diodes, diodos, gelijkrichter, ensretter, likriktare, usmernovac
    transistor: transistorer, tranzistor, tranzistory
    crystal: krystal, kristall, kristal
    fuse: sikring, sikringer, sakring, sakringar, zekering, zekeringen, fusivel, fusiveis, pojistka, pojistky
    other device=relay: relae, releer
    resistor: vastus, vastukset, ellenallas, ellenallasok, rezistenta, rezistente, rezistoare
    resistor: резистор, резисторы, сопротивление
    resistor variable=yes: potentiometri, saatovastus, potentiometru, потенциометр
    capacitor: kondensaattori, kondensaattorit, kondenzatorok, condensatoare, конденсатор, конденсаторы
    inductor: kela, kelat, kuristin, tekercs, tekercsek, fojtotekercs, дроссель, катушка
    diode: diodit, diodak, диод, диоды
    transistor: transistori, transistorit, tranzisztor, tranzisztorok, tranzistoare, транзистор, транзисторы
    ic: mikropiiri, mikropiirit, integralt aramkor, circuit integrat, микросхема, микросхемы
    crystal: kide, kvartsikide, kvarc, cuart, кварц, резонатор
    fuse: sulake, sulakkeet, biztositek, olvadobiztositek, siguranta, sigurante, предохранитель
    connector: liitin, liittimet, csatlakozo, conectori, разъем
    switch: kytkin, kytkimet, kapcsolo, comutator, intrerupator, переключатель
    transformer: muuntaja, transzformator, трансформатор
    other device=relay: releet, jelfogo, releu, реле
    resistor variable=yes: potentiometer, pot, trimmer, poti, potentiometre, potenciometro, potenziometro
    resistor variable=yes: potencjometr, preset, rheostat, trimpot
    capacitor: capacitor, cap, condenser, kondensator, kondensatoren, condensateur
    capacitor: condensador, condensadores, condensatore, condensatori, kondensatory
    capacitor: elko, kerko, folienkondensator, styroflex
    inductor: inductor, inductance, coil, choke, spule, spulen, drossel, bobine
    inductor: bobina, inductancia, induttore, induttanza, cewka, dlawik, ferrite bead
    diode: diode, dioden, diodo, diodi, dioda, diody, rectifier, gleichrichter
    diode: redresseur, rectificador, raddrizzatore, prostownik
    diode function=led: led, light emitting diode, leuchtdiode
    diode function=bridge: bridge, bridge rectifier, bruckengleichrichter
    diode function=zener: zener, zener diode, zenerdiode
    diode function=schottky: schottky, schottky diode, schottkydiode
    diode function=thyristor: thyristor, scr, tyristor
    diode function=triac: triac
    diode function=diac: diac
    diode function=varicap: varicap, varactor, kapazitatsdiode
    diode function=photodiode: photodiode, fotodiode
    diode function=suppressor: suppressor, tvs, tvs diode, suppressor diode
    transistor: transistor, transistoren, transistores, transistore, tranzystor, tranzystory, fet
    transistor polarity=npn: npn
    transistor polarity=pnp: pnp
    transistor polarity=n_channel: n-channel, n-kanal
    transistor polarity=p_channel: p-channel, p-kanal
    transistor device=darlington: darlington
    transistor device=jfet: jfet
    transistor device=mosfet: mosfet
    ic: ic, chip, integrated circuit, integrierte schaltung, circuit integre
    ic: circuito integrado, circuito integrato, uklad scalony, uklady scalone
    crystal: crystal, xtal, quartz, quarz, cristal, cuarzo, quarzo, kwarc, rezonator
    crystal device=ceramic_resonator: resonator, ceramic resonator, keramikresonator
    crystal device=ceramic_filter: ceramic filter, keramikfilter
    regulator: regulator, voltage regulator, spannungsregler, regulateur, regulador, regolatore
    regulator: stabilizator
    thermistor: thermistor, termistor, thermistance, termistore
    thermistor curve=ntc: ntc, ntc thermistor, heissleiter
    thermistor curve=ptc: ptc, ptc thermistor, kaltleiter
    fuse: fuse, fuse link, fusibles, sicherung, sicherungen, fusibile, bezpiecznik, bezpieczniki
    connector: connector, header, steckverbinder, connecteur, conector, connettore, zlacze
    connector: terminal block, pin header, jack, stiftleiste, buchse
    connector gender=plug: plug, stecker, wtyk
    connector gender=edge: edge connector
    socket: socket, sockel, fassung, support, zocalo, zoccolo, podstawka, ic socket, relay socket
    socket: valve socket, tube socket, transistor socket, crystal socket, valve holder, valveholder
    switch: switch, schalter, interrupteur, interruptor, interruttore, przelacznik, wylacznik
    switch: reed switch, dip switch, dil switch, key switch, pulsador, pulsante, bouton
    switch action=push: push button, push-button, pushbutton, push switch, push to make, taster, tact switch
    switch action=push: tactile switch, microswitch, micro switch, button, przycisk, bouton poussoir
    switch action=toggle: toggle switch, toggle, kippschalter
    switch action=slide: slide switch, slider switch, schiebeschalter
    switch action=rotary: rotary switch, drehschalter
    switch action=rocker: rocker switch, wippschalter
    transformer: transformer, transformator, trafo, transformateur, transformador, trasformatore
    transformer device=mains: mains transformer, power transformer, netztrafo
    transformer device=audio: audio transformer, microphone transformer, driver transformer
    transformer device=output: output transformer, ausgangsubertrager
    transformer device=pulse: pulse transformer, gate transformer
    transformer device=line: line transformer, flyback transformer, line output transformer, zeilentrafo
    transformer device=current: current transformer, stromwandler
    transformer device=if: if transformer, i.f. transformer, ift
    lamp: lamp, bulb, lampe, lampara, lampada, zarowka, light bulb, pilot lamp, pilot light
    lamp device=filament: filament lamp, incandescent lamp, gluhlampe, wheat bulb
    lamp device=neon: neon, neon lamp, neon bulb, neon indicator, glimmlampe, neonowka
    other device=relay: relay, relais, rele, przekaznik, reed relay, contactor, schutz
    other device=speaker: speaker, loudspeaker, loud speaker, lautsprecher, haut-parleur, altavoz
    other device=speaker: altoparlante, glosnik, tweeter, woofer
    other device=buzzer: buzzer, sounder, summer, piezo buzzer, ronfleur, zumbador, cicalino, brzeczyk
    other device=microphone: microphone, mic, mikrofon, micro, microfono, electret, electret microphone
    other device=earphone: earphone, headphone, headset, kopfhorer, ecouteur
    other device=battery: battery, cell, button cell, coin cell, batterie, knopfzelle, pile, pila
    other device=battery: bateria, akku, accumulator, rechargeable battery, battery pack
    other device=battery_holder: battery holder, cell holder, battery clip, battery box, batteriehalter
    other device=fuse_holder: fuse holder, fuseholder, fuse clip, fuse socket, sicherungshalter
    other device=fuse_holder: porte-fusible, portafusible, portafusibile
    other device=lamp_holder: lamp holder, lampholder, lamp socket, bulb holder, lampenfassung
    other device=heatsink: heatsink, heat sink, kuhlkorper, radiateur, disipador, dissipatore, radiator
    other device=motor: motor, moteur, motore, silnik, stepper motor, stepping motor, servo, elektromotor
    other device=fan: fan, lufter, ventilateur, ventilador, ventola, wentylator
    other device=meter: meter, panel meter, ammeter, voltmeter, vu meter, galvanometer, messgerat
    other device=meter: drehspulinstrument, milliammeter, microammeter
    other device=varistor: varistor, mov, vdr, warystor
    other device=surge_arrester: surge arrester, gas discharge tube, spark gap, uberspannungsableiter
    other device=solenoid: solenoid, electromagnet, hubmagnet
    other device=valve: valve, vacuum tube, electron tube, elektronenrohre, lampa elektronowa
    other device=picture_tube: picture tube, crt, cathode ray tube, bildrohre
    other device=photoresistor: ldr, photoresistor, light dependent resistor, fotowiderstand
    other device=delay_line: delay line, verzogerungsleitung
    other device=filter: filter, mains filter, saw filter, crystal filter, line filter
    other device=display: display, lcd, display module, vfd, vacuum fluorescent display
    other device=tape_head: tape head, erase head, playback head, tonkopf
    other device=antenna: antenna, aerial, ferrite rod, antenne, antena
    other device=knob: knob, drehknopf
    other device=cable: cable, wire, ribbon cable, mains lead, kabel, cavo
    other device=insulator: insulator, mica washer, insulating washer
    other device=thermostat: thermostat, thermal switch, thermal cut-out, thermal cutout
    other device=module: module, power supply, psu, netzteil
"""
KINDS: dict[str, NamedKind] = {
    word.strip(): _named(*head.split())
    for line in _WORDS.strip().splitlines()
    for head, _colon, words in [line.partition(":")]
    for word in words.split(",")
}
"""What a kind is called -> the kind, and what the word says of it."""

WEAK = frozenset(
    (
        "coil",
        "coils",
        "spule",
        "bobine",
        "bobina",
        "chip",
        "chips",
        "support",
        "cable",
        "wire",
        "button",
        "filter",
        "display",
    )
)
"""Words that beside another of them say only more of it: a relay's coil, a chip resistor."""
MAX_WORDS = 4


def named_by(text: str) -> NamedKind | None:
    """The kind that a word, or several with single spaces between, names; in the plural too.

    >>> named_by("Relays"), named_by("4k7")
    (NamedKind(kind='other', facts=(('device', 'relay'),)), None)
    """
    word = plainly(text)
    for each in (word, word.removesuffix("s"), word.removesuffix("es"), word.removesuffix("en")):
        if each in KINDS:
            return KINDS[each]
    return None


LONE_LETTERS: dict[str, NamedKind] = {
    "R": NamedKind("resistor"), "C": NamedKind("capacitor"), "L": NamedKind("inductor"),
    "D": NamedKind("diode"),
}  # fmt: skip
"""Letters that people write for a kind, without a number: `R 470` (IEC 60617 and IEEE 315, from memory)."""

_PHRASE = re.compile(r"[^\W\d]+(?:[-/.][^\W\d]+)*")
_ENDS = frozenset(
    ("for", "with", "to", "of", "in", "on", "per", "and", "or", "fur", "mit", "pour", "avec", "con", "z")
)


class Leading(NamedTuple):
    """The word that names the kind, from `first` to before `last` of the words."""

    first: int
    last: int
    named: NamedKind


def leading(words: Sequence[str]) -> Leading | None:
    """The words that name the kind: of the first phrase that names one the last, as the noun is in English
    (motor run capacitor); a weak one only where no other does.  None where no word does.

    A phrase ends at a figure, a comma at the end of a word, and a preposition.
    """
    bare = [word.rstrip(",") for word in words]
    strong: Leading | None = None
    weak: Leading | None = None
    at = 0
    while at < len(bare):
        for length in range(min(MAX_WORDS, len(bare) - at), 0, -1):
            text = " ".join(bare[at : at + length])
            parted = any(word.endswith(",") for word in words[at : at + length - 1])
            named = None if parted else named_by(text)
            if named is not None:
                if plainly(text) in WEAK:
                    weak = weak or Leading(at, at + length, named)
                else:
                    strong = Leading(at, at + length, named)
                at += length
                break
        else:
            if strong and (not _PHRASE.fullmatch(bare[at]) or plainly(bare[at]) in _ENDS):
                break
            at += 1
        if strong and words[at - 1].endswith(","):
            break
    return strong or weak


CLASSES: dict[str, tuple[str, ...]] = {
    "R": ("resistor",), "RN": ("resistor",), "RV": ("resistor", "other"), "VR": ("resistor", "regulator"),
    "RP": ("resistor",), "POT": ("resistor",), "RT": ("resistor", "thermistor"),
    "TH": ("thermistor",), "NTC": ("thermistor",),
    "C": ("capacitor",), "CV": ("capacitor",), "TC": ("capacitor",),
    "L": ("inductor",), "FB": ("inductor",), "CH": ("inductor",),
    "D": ("diode",), "CR": ("diode",), "ZD": ("diode",), "LED": ("diode",), "BR": ("diode",),
    "DZ": ("diode",), "V": ("diode", "transistor", "other"),
    "Q": ("transistor", "crystal", "diode", "regulator"), "TR": ("transistor", "transformer", "diode"),
    "T": ("transistor", "transformer", "diode"),
    "U": ("ic", "regulator"), "IC": ("ic", "regulator"), "N": ("ic",), "REG": ("regulator",),
    "X": ("crystal", "connector"), "Y": ("crystal",), "XTAL": ("crystal",), "XT": ("crystal",),
    "F": ("fuse",), "FS": ("fuse",),
    "J": ("connector",), "P": ("connector", "resistor"), "CN": ("connector",), "CON": ("connector",),
    "TB": ("connector",), "PL": ("connector",), "SK": ("connector", "socket"), "XS": ("socket",),
    "S": ("switch",), "SW": ("switch",), "LP": ("lamp",), "LA": ("lamp",), "DS": ("lamp",),
    "K": ("other",), "RL": ("other",), "RLA": ("other",), "RLY": ("other",), "RE": ("other",),
    "LS": ("other",), "BT": ("other",), "BZ": ("other",), "MK": ("other",), "MIC": ("other",),
    "M": ("other",), "MOV": ("other",), "VDR": ("other",),
    "DL": ("other",), "FL": ("other",), "HS": ("other",), "TP": ("other",),
}  # fmt: skip
"""Letters of a reference -> kinds, likeliest first: IEEE 315-1975 clause 22 and IEC 60617, from memory; RL,
SW, IC, ZD, LED and the like are common practice, no source."""

DEVICES_OF_CLASS = {
    "K": "relay", "RL": "relay", "RLA": "relay", "RLY": "relay", "LS": "speaker", "BT": "battery",
    "BZ": "buzzer", "MK": "microphone", "MIC": "microphone", "DL": "delay_line", "FL": "filter",
    "MOV": "varistor", "VDR": "varistor",
}  # fmt: skip
"""Letters that say which sort of other part it is; M is a motor or a meter (IEEE 315-1975, from memory)."""
