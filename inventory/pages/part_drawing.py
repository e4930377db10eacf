"""A part as one meets it in a tray, drawn small: its shape, and its colours where it has bands.

The shapes stand in static/bench/parts.svg, once for all pages; a row of a list names one.  They are a help to
the eye beside the words, never the only thing that says what a part is.
"""

from functools import lru_cache

from django.templatetags.static import static
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.decoding.appearance import likeliest_colours
from inventory.decoding.appearance_svg import FILLS
from inventory.spec import Spec

OTHER = "box"
_BY_KIND = {
    "inductor": "coil", "crystal": "crystal", "fuse": "fuse", "connector": "header", "socket": "dip",
    "switch": "switch", "transformer": "transformer", "lamp": "lamp", "ic": "dip", "diode": "diode",
    "transistor": "to92", "regulator": "to220", "resistor": "axial",
    "thermistor": "disc",
}  # fmt: skip
# What stands in the package, first match first, and the shape that it has.
_BY_PACKAGE = (
    ("to-92", "to92"), ("to-220", "to220"), ("to-126", "to220"), ("to-3p", "to220"), ("to-247", "to220"),
    ("to-3", "to3"), ("to-18", "can3"), ("to-5", "can3"), ("to-39", "can3"), ("to-72", "can3"),
    ("dip", "dip"), ("sip", "sip"), ("sot", "chip"), ("soic", "chip"), ("so-", "chip"), ("plcc", "chip"),
    ("0603", "chip"), ("0805", "chip"), ("1206", "chip"), ("hc-", "crystal"), ("preset", "preset"),
    ("trimmer", "preset"), ("cell", "cell"), ("tagged", "cell"), ("disc", "disc"),
)  # fmt: skip
_BY_DIELECTRIC = {
    "c0g": "disc", "class2": "disc", "class3": "disc", "ceramic": "disc", "tantalum": "bead",
    "film": "film", "paper": "film", "mica": "film", "polyester": "film",
}  # fmt: skip
_BANDS_AT = (13, 18, 23, 33, 28, 37)
"""Where the bands of a small resistor stand; the fourth, the tolerance, a little apart."""


@lru_cache(maxsize=4096)
def shape(spec: Spec) -> str:
    """The name of the drawing in parts.svg that is most like the part."""
    package = spec.package.lower()
    for word, drawn in _BY_PACKAGE:
        if word in package:
            return drawn
    if spec.lead_style == "smd":
        return "chip"
    if spec.traits.get("variable") or spec.traits.get("taper"):  # it is turned: no bands
        return "preset"
    if spec.kind == "capacitor":
        if spec.dielectric in ("aluminium", "aluminium_bipolar"):
            return "long-can" if spec.lead_style == "axial" else "can"
        return _BY_DIELECTRIC.get(spec.dielectric, "disc")
    if spec.kind == "diode" and "led" in spec.text.lower().split():
        return "lamp"
    if spec.lead_style in ("to_can", "to_flat") and spec.kind in ("transistor", "regulator"):
        return "can3" if spec.lead_style == "to_can" else "to92"
    if spec.kind == "diode" and spec.lead_style not in ("", "axial"):
        return OTHER
    return _BY_KIND.get(spec.kind, OTHER)


@lru_cache(maxsize=4096)
def drawing(spec: Spec) -> SafeString:
    """The part as an inline SVG of 48 by 28, hidden from what reads pages aloud: the words say the same."""
    drawn = shape(spec)
    bands = SafeString("")
    if drawn == "axial" and spec.value is not None:
        places = zip(_BANDS_AT, likeliest_colours(spec), strict=False)
        bands = format_html_join(
            "", '<path d="M{0} 8v12" stroke="{1}"/>', ((at, FILLS[colour][0]) for at, colour in places)
        )
        bands = format_html('<g stroke-width="3">{}</g>', bands)
    return format_html(
        '<svg class="part" viewBox="0 0 48 28" aria-hidden="true"><use href="{}#{}"/>{}</svg>',
        static("bench/parts.svg"), drawn, bands,
    )  # fmt: skip
