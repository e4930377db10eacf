"""Words that say something of a part beside its kind, as data, in six languages.  Pure.

English, German, French, Spanish, Italian, Polish; in lower case, without accents (`plainly`).
Trade words from memory where no standard is named.
"""

Fact = tuple[str, str]
"""A property of a Spec, or a trait, and its value as text."""


def _set(text: str) -> frozenset[str]:
    return frozenset(text.split())


NATURES: dict[str, tuple[Fact, ...]] = {
    word: facts
    for words, facts in {
        "ceramic, keramik, kerko, ceramique, ceramico, ceramica, ceramiczny": (
            ("dielectric", "ceramic"), ("body", "ceramic"),
        ),
        "glass, glas, verre, vidrio, vetro, szklany": (("dielectric", "glass"), ("body", "glass")),
        "plastic, plastik, kunststoff": (("body", "plastic"),), "wire": (("body", "wire"),),
        "film": (("dielectric", "film"), ("technology", "film")),
        "foil": (("dielectric", "film"), ("technology", "foil")),
        "folie, folienkondensator, foliowy": (("dielectric", "film"),),
        "polyester, mylar, mkt, poliester, poliestere": (("dielectric", "polyester"),),
        "polypropylene, mkp, polypropylen, polipropileno": (("dielectric", "polypropylene"),),
        "polystyrene, styroflex, polistirolo": (("dielectric", "polystyrene"),),
        "polycarbonate, mkc": (("dielectric", "polycarbonate"),),
        "mica, silver mica, glimmer, mika": (("dielectric", "mica"),),
        "paper, papier, papel, carta": (("dielectric", "paper"),),
        "electrolytic, elec, elko, elektrolyt, electrolytique, electrolitico, elettrolitico, "
        "elektrolityczny, aluminium, aluminum, alu": (("dielectric", "aluminium"),),
        "tantalum, tant, tantal, tantale, tantalio": (("dielectric", "tantalum"),),
        "bipolar, bipolaire, bipolar aluminium": (
            ("dielectric", "aluminium_bipolar"), ("device", "bipolar"),
        ),
        "polymer, polymer aluminium": (("dielectric", "aluminium_polymer"),),
        "double layer, doppelschicht": (("dielectric", "double_layer"),),
        "class 1": (("dielectric", "class1"),), "class 2": (("dielectric", "class2"),),
        "class 3": (("dielectric", "class3"),),
        "non-polar, nonpolar, ungepolt, np": (("dielectric", "aluminium_bipolar"), ("polarised", "no")),
        "unpolarised, unpolarized": (("polarised", "no"),),
        "polarised, polarized, gepolt": (("polarised", "yes"),),
        "c0g, np0, npo, cog": (("dielectric", "c0g"),),
        "x7r": (("dielectric", "x7r"),), "x5r": (("dielectric", "x5r"),), "x7s": (("dielectric", "x7s"),),
        "x6s": (("dielectric", "x6s"),), "y5v": (("dielectric", "y5v"),), "z5u": (("dielectric", "z5u"),),
        "y5u": (("dielectric", "y5u"),), "x7t": (("dielectric", "x7t"),),
        "x1": (("safety_class", "x1"),), "x2": (("safety_class", "x2"),), "x3": (("safety_class", "x3"),),
        "y1": (("safety_class", "y1"),), "y2": (("safety_class", "y2"),), "y3": (("safety_class", "y3"),),
        "x1y1, x1/y1": (("safety_class", "x1y1"),), "x1y2, x1/y2": (("safety_class", "x1y2"),),
        "axial, axiale, axialer, osiowy, assiale": (("lead_style", "axial"),),
        "radial, radiale, radialer, stehend, radialny": (("lead_style", "radial"),),
        "smd, smt, chip": (("lead_style", "smd"),),
        "carbon film, kohleschicht, couche carbone, strato di carbone": (("technology", "carbon_film"),),
        "metal film, metallschicht, couche metal, strato metallico, metalizowany": (
            ("technology", "metal_film"),
        ),
        "metal oxide, metalloxid": (("technology", "metal_oxide"),),
        "carbon composition, carbon comp": (("technology", "carbon_composition"),),
        "wirewound, wire wound, ww, drahtwiderstand, bobine, drutowy": (("technology", "wirewound"),),
        "thick film, dickschicht": (("technology", "thick_film"),),
        "thin film, dunnschicht": (("technology", "thin_film"),),
        "cermet": (("technology", "cermet"),),
        "fusible": (("fusible", "yes"),), "flameproof": (("flameproof", "yes"),),
        "variable, variabel, regelbar, adjustable, ajustable, variabile": (("variable", "yes"),),
        "lin, linear, lineaire, lineal, lineare, liniowy": (("taper", "linear"),),
        "log, logarithmic, logarithmisch, logarithmique, logaritmico, logarytmiczny": (("taper", "log"),),
        "reverse log, reverse logarithmic, antilog, anti-log": (("taper", "reverse_log"),),
        "low esr, low-esr": (("low_esr", "yes"),),
        "npn": (("polarity", "npn"),), "pnp": (("polarity", "pnp"),),
        "n-channel, n-kanal": (("polarity", "n_channel"),),
        "p-channel, p-kanal": (("polarity", "p_channel"),),
        "darlington": (("device", "darlington"),), "jfet": (("device", "jfet"),),
        "mosfet": (("device", "mosfet"),),
        "silicon, silizium": (("material", "silicon"),), "germanium, german": (("material", "germanium"),),
        "selenium, selen": (("material", "selenium"),),
        "zener": (("function", "zener"),), "schottky": (("function", "schottky"),),
        "led": (("function", "led"),), "bridge": (("function", "bridge"),),
        "rectifier": (("function", "rectifier"),),
        "fast rectifier, ultrafast rectifier": (("function", "fast_rectifier"),),
        "signal": (("function", "signal"),), "detector": (("function", "detector"),),
        "varicap": (("function", "varicap"),), "suppressor": (("function", "suppressor"),),
        "photodiode": (("function", "photodiode"),), "thyristor": (("function", "thyristor"),),
        "triac": (("function", "triac"),), "diac": (("function", "diac"),),
        "tunnel": (("function", "tunnel"),),
        "red, rot, rouge, rojo, rosso": (("colour", "red"),),
        "green, grun, vert, verde": (("colour", "green"),),
        "yellow, gelb, jaune, amarillo, giallo": (("colour", "yellow"),),
        "blue, blau, bleu, azul, blu": (("colour", "blue"),),
        "white, weiss, blanc, blanco, bianco": (("colour", "white"),),
        "orange": (("colour", "orange"),), "amber, bernstein": (("colour", "amber"),),
        "clear, klar": (("colour", "clear"),), "infrared, infrarot, infrarouge": (("colour", "infrared"),),
        "series": (("resonance", "series"),), "parallel": (("resonance", "parallel"),),
        "gold, gold-plated, vergoldet": (("plating", "gold"),),
        "tin, tinned, verzinnt": (("plating", "tin"),),
        "silver": (("plating", "silver"),), "nickel": (("plating", "nickel"),),
        "female, weiblich, femelle, hembra, femmina": (("gender", "socket"),),
        "male, mannlich, macho, maschio": (("gender", "plug"),),
        "socket": (("gender", "socket"),), "edge": (("gender", "edge"),), "filter": (("use", "filter"),),
        "positive": (("polarity", "positive"),), "negative": (("polarity", "negative"),),
        "change over contacts": (("contacts", "change_over"),),
        "normally open contacts": (("contacts", "normally_open"),),
        "normally closed contacts": (("contacts", "normally_closed"),),
        "upper half": (("half", "upper"),), "lower half": (("half", "lower"),),
        "line": (("device", "line"),), "current": (("device", "current"),), "if": (("device", "if"),),
        "output": (("device", "output"),), "rewound, neu gewickelt": (("rewound", "yes"),),
        "filament": (("device", "filament"),), "toggle": (("action", "toggle"),),
        "push": (("action", "push"),),
        "audio": (("device", "audio"),), "mains, netz": (("device", "mains"),),
        "pulse": (("device", "pulse"),), "flyback": (("device", "line"),),
        "momentary": (("action", "push"),), "slide": (("action", "slide"),),
        "rotary": (("action", "rotary"),), "rocker": (("action", "rocker"),),
        "slow, time-lag, trage, temporise, lento": (("speed", "slow"),),
        "fast, quick, flink, rapide, rapido": (("speed", "fast"),),
        "medium, mitteltrage": (("speed", "medium"),),
        "very fast, superflink": (("speed", "very_fast"),),
        "very slow, supertrage": (("speed", "very_slow"),),
        "shielded": (("shielded", "yes"),), "turned": (("contact", "turned"),),
    }.items()
    for word in map(str.strip, words.split(","))
}  # fmt: skip
"""What something is called -> what that may say; the first that the kind has is meant."""

SAFETY_CLASSES = frozenset(word for word, facts in NATURES.items() if facts[0][0] == "safety_class")

PIECES = _set(
    "pc pcs piece pieces off ea each qty quantity st stk stck stuck anzahl pce pces qte quantite ud "
    "uds unidad unidades pza pzas pz pezzo pezzi qta szt sztuk sztuki ilosc "
    "antal antall stykker stycken aantal stuks unid unidade qtd ks kus kusu kusy "
    "kpl kappale kappaletta darab buc bucati шт штук"
)
PIECES_IN_COUNTS = PIECES | _set("db")
"""In a column of counts; beside a part db is a decibel, and DB9 a connector."""
ABOUT = _set(
    "ca circa cirka approx approximately about around etwa ungefahr rund env environ aprox unos ok okolo "
    "omkring omtrent ongeveer asi cerca ~ ≈"
)

CHIP_SIZES = _set("0201 0402 0603 0805 1206 1210 1806 1812 2010 2220 2512")
"""Sizes of chip parts, in hundredths of an inch (IEC 60115-8, EIA)."""
