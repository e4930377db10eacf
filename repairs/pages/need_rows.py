"""What a job still wants as its pages tell it: each need, what is promised to it, where, what to look for."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain

from django.utils.safestring import SafeString

from inventory.decoding.appearance import appearance
from inventory.decoding.appearance_codes import PrintedCode
from inventory.decoding.appearance_svg import appearance_svg
from inventory.models import Lot
from inventory.places import paths, walking
from inventory.refs import split_ref
from inventory.spec import Spec
from inventory.templatetags.bench import marked
from repairs.models import Job, Need, Reservation

MAX_DRAWN = 24
"""So many drawings go on one page; further parts are told in words alone."""
MAX_ROWS, MAX_CODES = 2, 3
MAX_LETTERS = 20
"""A longer marking, such as a row of colours, is told in words: drawn it would be too small to read."""


@dataclass(frozen=True)
class Look:
    """What to look for: bands and codes in words, and drawn."""

    bands: tuple[str, ...]
    codes: tuple[str, ...]
    drawing: SafeString

    printed: bool = False

    @property
    def words(self) -> str:
        """What is met oftener stands first: print on a can or a diode, bands on a resistor."""
        return " or ".join(chain(*self._in_order))

    @property
    def in_short(self) -> str:
        """The first of each sort, where many parts stand in a list."""
        return " or ".join(chain(*(each[:1] for each in self._in_order)))

    @property
    def _in_order(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        return (self.codes, self.bands) if self.printed else (self.bands, self.codes)


@dataclass
class NeedRow:
    """A need with the promises that were made for it, and where the promised pieces are."""

    need: Need
    promise: Reservation | None
    path: str
    look: Look | None = field(default=None)

    @property
    def state(self) -> str:
        if self.need.status == Need.Status.DROPPED:
            return "not wanted"
        if self.need.fitted >= self.need.quantity:
            return "in place"
        return "promised" if self.promise else "wanted"

    @property
    def on_a_board(self) -> bool:
        """The promised piece is still where it was soldered: it is lifted before it is fitted."""
        return self.promise is not None and bool(self.promise.holding.ref)


def need_rows(job: Job) -> list[NeedRow]:
    """The needs of a job in reference order; one for each promise where a loose need has several."""
    where = paths()
    held: dict[int, list[Reservation]] = {}
    for made in (
        Reservation.objects.filter(need__job=job, status=Reservation.Status.HELD)
        .select_related(
            "holding__lot__part__spec", "holding__lot__origin_board", "holding__place__board", "need"
        )
        .order_by("id")
    ):
        held.setdefault(made.need_id, []).append(made)
    found = []
    needs = job.needs.select_related("spec", "job")
    for need in sorted(needs, key=lambda each: (each.ref == "", split_ref(each.ref), each.pk)):
        promises: list[Reservation | None] = [*held.get(need.pk, ())]
        for promise in promises or [None]:
            path = f"{where[promise.holding.place_id]} {promise.holding.ref}".rstrip() if promise else ""
            found.append(NeedRow(need, promise, path))
    return found


def walk(every: Iterable[NeedRow]) -> list[NeedRow]:
    """What is promised, in walking order of the drawers; pieces still on boards come last."""
    promised = [row for row in every if row.promise is not None]
    return sorted(promised, key=lambda row: (row.on_a_board, walking(row.path), split_ref(row.need.ref)))


def drawn(walked: list[NeedRow]) -> list[NeedRow]:
    """The same with what to look for: each part drawn where it comes first."""
    seen: set[tuple[str, str]] = set()
    for row in walked:
        assert row.promise is not None  # only what is promised is fetched
        lot = row.promise.holding.lot
        key = (lot.part.spec.spec.key, lot.marking)
        drawing = key not in seen and len(seen) < MAX_DRAWN
        row.look = look(lot.part.spec.spec, lot.marking, drawing=drawing)
        seen.add(key)
    return walked


def look(spec: Spec, marking: str = "", *, drawing: bool = True) -> Look:
    """What a part looks like, in letters and words; where its marking is known, that alone."""
    seen = appearance(spec)
    printed = not _is_banded(spec)
    if marking:
        rows = tuple(row for row in seen.rows if " ".join(row.colours) == marking.lower())
        seen = replace(seen, rows=rows, codes=() if rows else (PrintedCode(marking, "", ()),))
        drawing = drawing and (bool(rows) or len(marking) <= MAX_LETTERS)
        printed = not rows
    else:
        seen = replace(
            seen, rows=() if _has_no_bands(spec) else seen.rows, codes=tuple(_usual(spec, seen.codes))
        )
    shown = replace(seen, rows=(), codes=seen.codes[:1]) if printed and seen.codes else seen
    return Look(
        tuple(" ".join(row.colours) for row in seen.rows[:MAX_ROWS]),
        tuple(dict.fromkeys(code.text for code in seen.codes))[:MAX_CODES],
        SafeString(appearance_svg(shown, titled=False))
        if drawing and (shown.rows or shown.codes)
        else SafeString(""),
        printed,
    )


MICROFARAD = 10**9  # in fF
BANDED_WATTS = 3
"""Resistors of more watts are in cement or vitreous bodies, and printed (common practice, no source)."""


def _is_banded(spec: Spec) -> bool:
    """Whether such a part mostly carries colours (common practice, no source)."""
    if spec.kind == "resistor":
        return not _is_printed_resistor(spec)
    return spec.kind == "inductor"


def _is_printed_resistor(spec: Spec) -> bool:
    adjusted = (
        spec.traits.keys() & {"variable", "taper", "elements"} or spec.traits.get("technology") == "cermet"
    )
    return bool(adjusted) or (spec.watts or 0) > BANDED_WATTS or spec.lead_style == "smd"


def _has_no_bands(spec: Spec) -> bool:
    """Diodes are printed but for a few of glass; nobody paints a can or a capacitor of a safety class.

    Colours are on tantalum beads, films and ceramic tubes: not looked for where a dielectric is not known.
    (Common practice, no source.)
    """
    if spec.kind == "resistor":
        return _is_printed_resistor(spec)
    if spec.kind == "capacitor" and not spec.dielectric:
        return True
    return spec.kind == "diode" or bool(spec.safety_class) or spec.dielectric.startswith("aluminium")


def _usual(spec: Spec, codes: Sequence[PrintedCode]) -> Iterator[PrintedCode]:
    """The codes that such a body carries, the commonest first, none beside the same with more said."""
    if spec.kind == "capacitor" and (spec.value or 0) >= MICROFARAD:
        codes = sorted(codes, key=lambda code: "µF" not in code.text)
    for code in codes:
        within_a_longer_code = any(other.text.startswith(f"{code.text} ") for other in codes)
        an_r_for_micro = spec.kind == "capacitor" and "R" in code.text
        a_name = spec.value is None and " " in code.text and not any(each.isdigit() for each in code.text[:4])
        if not (within_a_longer_code or an_r_for_micro or a_name):
            yield code


def line_of(lot: Lot) -> str:
    """A piece in one line: what it is, what stands on it, whence it came."""
    said = f", marked {more}" if (more := marked(lot)) else ""
    came = f", off {lot.origin_board.name} {lot.origin_ref}".rstrip() if lot.origin_board else ""
    return f"{lot.part.spec.text}{said}{came}"
