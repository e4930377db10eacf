"""Specs as benches keep them, for Hypothesis: every kind with the facts that its one line shows."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from inventory.spec import KINDS, TRAITS, Spec, SpecError

VALUES = {
    "resistor": "0R22 1R 4R7 47R 220R 1k 4k7 10k 12k4 100k 470k 1M 10M 0R",
    "thermistor": "5R 10R 4k7 10k 100k",
    "capacitor": "10p 47p 220p 1n 4n7 10n 100n 220n 1µ 4.7µ 10µ 47µ 100µ 470µ 2200µ",
    "inductor": "470nH 1µH 4.7µH 10µH 100µH 1mH 10mH",
    "crystal": "32.768kHz 455kHz 1MHz 3.579545MHz 4MHz 14.31818MHz 20MHz",
}
NUMBERS = {
    "diode": "1N4148 1N4007 BAT85 BZX79C5V1",
    "transistor": "BC547B 2N3055 BD139 2SC1815 IRF540 KT315B",
    "ic": "74LS04 LM358 4116 2764 TDA2003",
    "regulator": "7805 LM317 78L12",
    "fuse": "SF139E",
    "connector": "XHP-4", "socket": "DILB16P", "switch": "E63-00A", "transformer": "LT44",
}  # fmt: skip
EVERY: dict[str, str] = {
    "volts": "5 V|12 V|16 V|25 V|63 V|250 V|1000 V",
    "watts": "0.125 W|0.25 W|2 W|10 W",
    "amps": "0.1 A|0.5 A|1 A|3.15 A|10 A",
    "pitch_mm": "2.5|5|7.5|10|22.5",
    "lead_style": "axial|radial|smd",
}
TOLERANCES = "0.1|1|2|5|10|20"
NEVER = {"regulator": "volts", "transformer": "volts"}
"""What is said of them by another name: volts of an output, of windings."""
BY_NUMBER = (
    "function", "material", "polarity", "output_volts", "zener_volts", "colour", "organisation", "half",
    "pin_order", "volts", "amps", "watts", "speed_ns",
)  # fmt: skip
OF_KIND: dict[str, dict[str, str]] = {
    "resistor": {
        "tolerance_percent": TOLERANCES, "fusible": "yes", "flameproof": "yes", "variable": "yes",
        "taper": "linear|log|reverse_log", "package": "0603|0805|1206|sip8",
        "technology": "carbon_composition|carbon_film|metal_film|metal_oxide|film|thick_film|thin_film|foil"
        "|cermet|wirewound",
    },
    "thermistor": {"tolerance_percent": TOLERANCES, "temp_max_c": "125"},
    "capacitor": {
        "tolerance_percent": TOLERANCES, "ac_volts": "250|275|400", "safety_class": "x1|x2|y1|y2|x1y2|x1y1",
        "dielectric": "c0g|class1|class2|class3|ceramic|film|polyester|polypropylene|polystyrene"
        "|polycarbonate|mica|glass|paper|aluminium|aluminium_bipolar|aluminium_polymer|tantalum|double_layer",
        "temp_max_c": "85|105|125", "low_esr": "yes", "polarised": "yes|no", "package": "0603|0805|1206",
    },
    "inductor": {"tolerance_percent": TOLERANCES, "package": "0805|1210"},
    "crystal": {"ppm": "20|30|50|100", "load_pf": "12.5|18|20|32", "resonance": "series|parallel",
                "package": "HC-49|HC-18|HC-49/U"},
    "diode": {
        "zener_volts": "3.3|5.1|12|15|24", "material": "silicon|germanium|selenium",
        "colour": "red|green|yellow|blue|white|orange|infrared",
        "function": "rectifier|fast_rectifier|signal|schottky|zener|detector|bridge|led|varicap|suppressor"
        "|photodiode|thyristor|triac|diac|tunnel",
        "speed_ns": "4|35|500", "package": "DO-35|DO-41|SOD-123|SMA|TO-220|3 mm|5 mm",
    },
    "transistor": {
        "polarity": "npn|pnp|n_channel|p_channel", "material": "silicon|germanium",
        "package": "TO-92|TO-220|SOT-23|TO-3|TO-18", "pin_order": "E-B-C|E-C-B|G-D-S|S-G-D",
    },
    "ic": {
        "package": "dip8|dip14|dip16|dip40|PLCC-44|SO-8|SOIC-14", "organisation": "16Kx1|64Kx1|256Kx4|8Kx8",
        "speed_ns": "70|120|150|200", "half": "upper|lower|whole",
    },
    "regulator": {
        "output_volts": "5|12|-5|3.3", "polarity": "positive|negative", "pin_order": "IN-GND-OUT|ADJ-OUT-IN",
        "package": "TO-220|TO-92|TO-3",
    },
    "fuse": {
        "speed": "very_fast|fast|medium|slow|very_slow", "body": "glass|ceramic|wire|plastic",
        "package": "5x20|6.3x32",
    },
    "connector": {"ways": "2|4|16|25|40", "plating": "gold|tin|silver|nickel", "gender": "plug|socket|edge"},
    "socket": {
        "ways": "8|14|16|28|40", "plating": "gold|tin", "package": "dip16|dip40|PLCC-44",
    },
    "switch": {
        "poles": "1|2|3|4|12", "throws": "1|2|3|5|12", "action": "toggle|slide|push|rotary|rocker",
    },
    "transformer": {
        "device": "mains|audio|output|pulse|line|current|if", "secondary_volts": "12|15; 15|9; 9|250; 6.3",
        "va": "1.5|10|50", "rewound": "yes",
    },
    "lamp": {"device": "filament|neon", "colour": "red|green|yellow|white|blue|clear|amber"},
    "other": {
        "device": "relay|speaker|buzzer|microphone|earphone|battery|battery_holder|fuse_holder|lamp_holder"
        "|heatsink|motor|fan|meter|varistor|surge_arrester|solenoid|valve|picture_tube|photoresistor"
        "|delay_line|filter|display|tape_head|antenna|knob|cable|insulator|thermostat|module",
        "poles": "1|2|4", "contacts": "change_over|normally_open|normally_closed", "ohms": "8|360|1000",
    },
}  # fmt: skip


@st.composite
def said(draw: st.DrawFn, kind: str | None = None) -> Spec:
    """A Spec of plausible facts, of one kind if it is named."""
    kind = kind or draw(st.sampled_from(sorted(KINDS)))
    data: dict[str, Any] = {"kind": kind}
    if kind in VALUES:
        data["value"] = draw(st.sampled_from(VALUES[kind].split()))
    elif draw(st.booleans()) and kind in NUMBERS:
        data["number"] = draw(st.sampled_from(NUMBERS[kind].split()))
    facts = {
        name: each for name, each in {**EVERY, **OF_KIND[kind]}.items() if name not in NEVER.get(kind, "")
    }
    if kind == "other":
        data["traits"] = {"device": draw(st.sampled_from(facts.pop("device").split("|")))}
    if "number" in data:  # which says these by itself
        facts = {name: each for name, each in facts.items() if name not in BY_NUMBER}
    chosen = draw(st.lists(st.sampled_from(sorted(facts)), unique=True, min_size=1, max_size=5))
    for name in chosen:
        fact = draw(st.sampled_from(facts[name].split("|")))
        if name in TRAITS[kind]:
            data.setdefault("traits", {})[name] = fact
        else:
            data[name] = fact
    package, traits = data.get("package", ""), data.get("traits", {})
    if package.endswith(" mm") and "number" in data:
        del data["package"]
    elif package.endswith(" mm"):  # across an LED
        traits["function"] = "led"
        data["traits"] = traits
        data.pop("pitch_mm", None)
    elif package:  # which says how its leads go
        data.pop("lead_style", None)
    if "zener_volts" in traits:
        traits["function"] = "zener"
    if traits.get("function") == "zener":  # volts of a zener are those at which it holds
        data.pop("volts", None)
    try:
        return Spec.from_dict(data)
    except SpecError:  # what contradicts itself is said by nobody
        return Spec.from_dict({name: data[name] for name in ("kind", "value", "number") if name in data})
