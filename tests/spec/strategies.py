"""Specs for Hypothesis: any valid description, and small worlds in which parts often nearly agree."""

from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from inventory.spec import KINDS, TRAITS, UNITS, Spec
from inventory.spec.traits import Flag, Number, Numbers, Organisation, Pins, Text, Trait, Word, Words

MAX_UNITS = 2**63 - 1

lines = st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=20)
tokens = st.from_regex(r"[a-z0-9][a-z0-9_]{0,15}", fullmatch=True).filter(
    lambda word: word.strip("_") == word
)
figures = st.decimals("0.0001", "9999", places=4)
dielectrics = st.sampled_from(
    ["c0g", "class1", "class2", "class3", "ceramic", "film", "polyester", "polypropylene", "polystyrene"]
    + ["mica", "glass", "paper", "aluminium", "aluminium_bipolar", "aluminium_polymer", "tantalum"]
    + ["double_layer"]
)


def trait_values(trait: Trait) -> st.SearchStrategy[Any]:
    """What this trait accepts."""
    match trait:
        case Flag():
            return st.booleans()
        case Word(listed=listed):
            return st.sampled_from(listed.split()) if listed else tokens
        case Words(listed=listed):
            return st.lists(st.sampled_from(listed.split()), min_size=1, max_size=3)
        case Number(least=least, most=most, places=places):
            return st.decimals(least, min(most, Decimal(500)), places=min(places, 3))
        case Numbers():
            return st.lists(st.decimals("-15", "15", places=1), min_size=1, max_size=3)
        case Pins():
            return st.permutations(["E", "B", "C"]).map("-".join)
        case Organisation():
            return st.sampled_from(["16Kx1", "64Kx1", "64Kx4", "8Kx8", "16Kx8"])
        case Text(capitals=True):
            return st.sampled_from(["X7R", "Y5V", "N750", "SL"])
        case Text(longest=longest):
            return lines.map(lambda text: text[:longest])


@st.composite
def spec_data(draw: st.DrawFn, kind: str | None = None) -> dict[str, Any]:
    """Keyword arguments of a valid Spec."""
    kind = kind or draw(st.sampled_from(KINDS))
    data: dict[str, Any] = {"kind": kind}
    optional = {
        "number": lines,
        "tolerance_percent": figures,
        "volts": figures,
        "watts": figures,
        "amps": figures,
        "package": lines,
        "lead_style": st.sampled_from(["axial", "radial", "dip", "single_row", "to_can", "to_flat", "smd"]),
        "pitch_mm": figures,
        "polarised": st.booleans(),
        "safety_class": st.sampled_from(["x1", "x2", "y1", "y2", "x1y2", "fusible", "flameproof"]),
        "speed_ns": figures,
        "make": lines,
    }
    if kind in UNITS:
        optional["value"] = st.integers(1, MAX_UNITS) | st.integers(1, 10**12)
    if kind == "capacitor":
        optional["dielectric"] = dielectrics
    for name in draw(st.lists(st.sampled_from(sorted(optional)), unique=True)):
        data[name] = draw(optional[name])
    schema = TRAITS[kind]
    names = draw(st.lists(st.sampled_from(sorted(schema)), unique=True, max_size=6))
    data["traits"] = {name: draw(trait_values(schema[name])) for name in names}
    _agree(data)
    return data


def _agree(data: dict[str, Any]) -> None:
    """Take out what would contradict: a figure given twice, a range upside down."""
    traits = data["traits"]
    twice = {"vceo": "volts", "ic": "amps", "ptot": "watts", "vr": "volts", "if": "amps"}
    twice |= {"recovery_ns": "speed_ns", "access_ns": "speed_ns"}
    for trait, field in twice.items():
        if trait in traits:
            data.pop(field, None)
    for low, high in (("gain_min", "gain_max"), ("esr_min_ohm", "esr_ohm")):
        if low in traits and high in traits and traits[low] > traits[high]:
            traits[low], traits[high] = traits[high], traits[low]
    if "taper" in traits:
        traits.pop("variable", None)


def specs(kind: str | None = None) -> st.SearchStrategy[Spec]:
    """Any valid Spec, of one kind if it is named."""
    return spec_data(kind).map(lambda data: Spec(**data))


@st.composite
def near_pairs(draw: st.DrawFn, kind: str | None = None) -> tuple[dict[str, Any], dict[str, Any]]:
    """Two descriptions of one kind that agree in most of what they say, as Spec's keyword arguments."""
    wanted = draw(spec_data(kind))
    other = draw(spec_data(wanted["kind"]))
    offered, traits = {**wanted}, {**wanted["traits"]}
    for theirs, ours in ((other, offered), (other["traits"], traits)):
        changeable = sorted({*theirs, *ours} - {"kind", "traits"})
        for name in (
            draw(st.lists(st.sampled_from(changeable), unique=True, max_size=2)) if changeable else ()
        ):
            ours.pop(name, None)
            if name in theirs:
                ours[name] = theirs[name]
    offered["traits"] = traits
    _agree(offered)
    return wanted, offered
