"""What a person writes down from a meter: `4k7`, `52 k`, `4950 µF, 0.04 Ω`, `b-e 0.65, c-e OL both ways`.

A meter's letters are SI letters: m is milli and M is mega here, whatever they mean on an old part.  Figures
are exact decimals.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

LONGEST = 200
MAX_PIECES = 16

_PREFIX = {
    "": 0, "p": -12, "P": -12, "n": -9, "N": -9, "µ": -6, "u": -6, "U": -6, "m": -3,
    "k": 3, "K": 3, "M": 6, "meg": 6, "G": 9,
}  # fmt: skip
_UNIT = {
    "ohms": "ohms", "ohm": "ohms", "Ω": "ohms", "vdc": "volts", "vac": "volts", "volts": "volts",
    "volt": "volts",
    "hz": "hertz", "hy": "henries", "fd": "farads", "f": "farads", "v": "volts", "a": "amps", "h": "henries",
    "%": "percent",
}  # fmt: skip
_SAME_CHARACTER = str.maketrans(
    {"\u2126": "Ω", "\u03bc": "µ", "−": "-", "–": "-", "\u00a0": " ", "\u202f": " "}
)
_SPLIT = re.compile(
    r"[;\n]|,(?!\d)|(?<!\d),|(?<=\.\d),|(?<=\.\d\d),|(?<=\.\d\d\d),|(?<=\.\d{4}),|\s/\s"
    r"|(?<=\d)\s+(?=[Oo]\.?[Ll]\b)|(?<=\d[VvΩ])\s+(?=[Oo]\.?[Ll]\b)"
)
_OPEN = (
    r"(?<![A-Za-z])(?:O\.?L\.?|open|over(?:\s?range)?|inf(?:inity|inite)?)(?![A-Za-z])|∞"
    r"|(?<![\d.])1\.(?!\s*\d)"  # older meters show a lone 1 at the left
)
_PIECE = re.compile(
    rf"(?P<label>[^\d]*?)\s*(?P<bound>[<>≤≥]?)\s*(?:"
    rf"(?P<open>{_OPEN})"
    r"|(?P<whole>\d{1,6})(?P<point>[RkKMGmµunpF])(?P<rest>\d{1,6})(?:Ω|ohms?|F|H|Hz)?(?![\w.])"
    r"|(?<![A-Za-z])R(?P<below>\d{1,6})"
    r"|(?P<figure>[-+]?(?:\d{1,15}(?:[.,]\d{1,15})?|[.,]\d{1,15}))(?P<gap>\s*)(?P<word>[A-Za-zµΩ%]*)(?!\w|[.,]\d)"
    r")(?P<tail>.*)",
    re.IGNORECASE | re.DOTALL,
)
_CONDITION = re.compile(
    r"\s*(?:[(@]|(?:into|at|with|on|in|after|through|across|over|for|from|under|when)\b)", re.IGNORECASE
)
"""How a reading goes on with what it was taken at: `-11.9 V into 100 Ω`, `210 at 2 mA`."""


class UnreadableReading(ValueError):
    """The text is no reading of that kind; the message says what would be."""


@dataclass(frozen=True)
class Measurement:
    """One figure: its quantity, exact amount in the unit (None: open, over range) and the points it was taken
    between.
    """

    quantity: str
    amount: Decimal | None
    between: str = ""
    at_least: bool = False
    both_ways: bool = False

    @property
    def is_open(self) -> bool:
        return self.amount is None

    @property
    def text(self) -> str:
        return (
            "open"
            if self.amount is None
            else f"{'above ' if self.at_least else ''}{spoken(self.amount, self.quantity)}"
        )


def read_meter(text: str, *, bare: str) -> tuple[Measurement, ...]:
    """The figures in a reading; those without a unit are of the quantity `bare`.

    >>> [(m.quantity, str(m.amount), m.between) for m in read_meter("b-e 0.65, C-E OL", bare="volts")]
    [('volts', '0.65', 'b-e'), ('volts', 'None', 'c-e')]

    UnreadableReading: no figure in a piece, or two, a unit that is none, more than 200 characters.
    """
    if len(text) > LONGEST:
        raise UnreadableReading(f"a reading has at most {LONGEST} characters")
    pieces = [piece.strip() for piece in _SPLIT.split(text.translate(_SAME_CHARACTER)) if piece.strip()]
    if not pieces or len(pieces) > MAX_PIECES:
        raise UnreadableReading(f"expected 1 to {MAX_PIECES} figures, such as {_EXAMPLE[bare]}")
    return tuple(_piece(piece, bare) for piece in pieces)


_EXAMPLE = {
    "ohms": "4.68 k or OL", "volts": "0.62, OL", "farads": "21.5 µF", "henries": "98 µH",
    "hertz": "3.9998 MHz",
    "gain": "210", "amps": "3 µA",
}  # fmt: skip


def _piece(piece: str, bare: str) -> Measurement:
    found = _PIECE.fullmatch(piece)
    if found is None:
        raise UnreadableReading(f"no figure in {piece[:40]!r}: expected something like {_EXAMPLE[bare]}")
    if re.search(r"\d", found["tail"]) and not _CONDITION.match(found["tail"]):
        detail = f"{piece[:40]!r} holds more than one figure: put a comma between them"
        raise UnreadableReading(f"{detail}, such as {_EXAMPLE[bare]}")
    between = _points(found["label"])
    both = "both" in piece.lower()
    if found["open"]:
        return Measurement(bare, None, between, both_ways=both)
    sign = _sign(piece, found["label"], signed=(found["figure"] or "")[:1] in ("+", "-"))
    if found["whole"]:
        quantity, power = _unit("" if found["point"].upper() == "R" else found["point"], bare)
        amount = Decimal(f"{found['whole']}.{found['rest']}").scaleb(power)
    elif found["below"]:
        quantity, amount = bare, Decimal(f"0.{found['below']}")
    else:
        quantity, power = _spaced_unit(found["gap"], found["word"], bare)
        amount = Decimal(found["figure"].replace(",", ".")).scaleb(power)
    above = found["bound"] in (">", "≥")
    return Measurement(quantity, amount * sign, between, at_least=above, both_ways=both)


def _sign(piece: str, label: str, *, signed: bool) -> int:
    """-1 where a minus stands before the figure with a space between, or before `1k2`.

    UnreadableReading where it may be a sign or a dash: a supply the wrong way round is never read as right.
    """
    before = label.rstrip(" \t(")
    last = before[-1:]
    alone = last in ("+", "-") and not before[:-1].strip()
    spelled = label.strip().lower() in ("minus", "neg", "negative")
    if "±" in label or spelled or (last in ("+", "-") and (signed or not alone)):
        raise UnreadableReading(
            f"which sign has the figure in {piece[:40]!r}? put it right before it: "
            "-5.02 V, b-e -0.65, b-e: 0.65"
        )
    return -1 if last == "-" else 1


def _spaced_unit(gap: str, word: str, bare: str) -> tuple[str, int]:
    """A word after a space may be the person's own: `0.65 forward`."""
    try:
        return _unit(word, bare)
    except UnreadableReading:
        if not gap:
            raise
        return bare, 0


def _unit(word: str, bare: str) -> tuple[str, int]:
    """The quantity and power of ten of a unit word; a prefix alone goes with the bare quantity."""
    if word in _PREFIX:
        return bare, _PREFIX[word]
    if word.lower() in ("mfd", "mfds"):  # the old writing of microfarad
        return "farads", -6
    if word.upper() == "R":
        return "ohms", 0
    for ending, quantity in _UNIT.items():
        if word.lower().endswith(ending.lower()):
            prefix = word[: len(word) - len(ending)]
            if prefix in _PREFIX:
                return quantity, _PREFIX[prefix]
    raise UnreadableReading(f"{word[:20]!r} is not a unit here: expected something like {_EXAMPLE[bare]}")


_POINT_WORDS = {
    "base": "b", "emitter": "e", "collector": "c", "anode": "a", "cathode": "k", "gate": "g", "drain": "d",
    "source": "s", "plus": "p", "minus": "n",
}  # fmt: skip
_LEG = "[bceakgdspn]"
_REST = ("rest", "others", "other", "else", "all else")


def _points(label: str) -> str:
    """`C to E`, `c/e` and `collector-emitter` as `c-e`; any other words as they are, in lower case."""
    words = re.findall(r"[a-zµ]+", label.lower().replace(" to ", " "))
    words = [
        _POINT_WORDS.get(word, word) for word in words if word not in ("both", "ways", "way", "reads", "is")
    ]
    if len(words) == 1 and re.fullmatch(f"{_LEG}{{2}}", words[0]):
        words = list(words[0])
    if len(words) >= 2 and all(re.fullmatch(_LEG, word) for word in words[:2]):
        return "-".join(words[:2])
    text = " ".join(words)
    return "rest" if text in _REST else text


_SPOKEN = {
    "ohms": "Ω", "volts": "V", "amps": "A", "farads": "F", "henries": "H", "hertz": "Hz",
    "percent": "%", "gain": "",
}  # fmt: skip
_SCALE = {
    "ohms": (9, 0), "farads": (-6, -12), "henries": (0, -9), "hertz": (9, 0), "amps": (0, -9),
    "volts": (0, 0), "percent": (0, 0), "gain": (0, 0),
}  # fmt: skip
"""Largest and smallest power of ten that the trade says of each."""
_STEPS = (("G", 9), ("M", 6), ("k", 3), ("", 0), ("m", -3), ("µ", -6), ("n", -9), ("p", -12))


def spoken(amount: Decimal, quantity: str) -> str:
    """An amount as one says it: `4.68 kΩ`, `0.62 V`, `22 µF`; at most four figures."""
    unit = _SPOKEN[quantity]
    largest, smallest = _SCALE[quantity]
    steps = [step for step in _STEPS if smallest <= step[1] <= largest]
    letter, power = next((step for step in steps if abs(amount) >= Decimal(10) ** step[1]), steps[-1])
    scaled = amount.scaleb(-power)
    digits = 3 - max(scaled.adjusted(), -1) if scaled else 0
    rounded = round(scaled, max(digits, 0)).normalize() if scaled else Decimal(0)
    return f"{rounded:f} {letter}{unit}".strip()
