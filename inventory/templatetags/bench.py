"""What every page shares: the tabs and the mark of a condition."""

import re
from collections.abc import Iterable, Sequence
from typing import Any

from django import template
from django.conf import settings
from django.contrib.auth.models import User
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.html import escape, format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from inventory.bench_settings import settings_of_bench
from inventory.models import Board, HandOver, Lot, Photo, Position
from inventory.ownership import may_dispose, who_may_own
from inventory.pages.leg_drawing import LegDrawing, legs_drawn
from inventory.pages.once import new_token
from inventory.pages.part_drawing import drawing
from inventory.pages.picking import Picked
from inventory.pictures.photos import SIZES
from inventory.refs import write_refs
from inventory.spec import Spec, of_type_text

register = template.Library()
MAX_NOTES = 4


@register.simple_tag
def program() -> str:
    """What commands are run with here."""
    return str(settings.PROGRAM)


TABS = (
    ("now", "Now"), ("read", "Read"), ("drawers", "Drawers"), ("boards", "Boards"), ("jobs", "Jobs"),
    ("shortages", "Shortages"), ("sheets", "Sheets"), ("more", "More"),
)  # fmt: skip

SELDOM = ("shortages", "sheets")
"""Not on the slim bar of a phone: More leads to them."""

ALSO = {
    "drawers": ("/lots/",),
    "boards": ("/designs/", "/swaps/"),
    "jobs": ("/needs/",),
    "more": (
        "/people/",
        "/keys/",
        "/password/",
        "/plots/",
        "/settings/",
        "/about/",
        "/problems/",
        "/calendar/",
        "/loans/",
        "/print/",
        "/shortcuts/",
    ),
}
"""Pages that a tab leads to and whose addresses do not begin with its own."""

# The shape says the same as the word: full disc, empty disc, half disc, cross.
SHAPES = {
    "good": '<circle cx="8" cy="8" r="7" fill="currentColor"/>',
    "untested": '<circle cx="8" cy="8" r="6" fill="none" stroke="currentColor" stroke-width="2"/>',
    "suspect": '<circle cx="8" cy="8" r="6" fill="none" stroke="currentColor" stroke-width="2"/>'
    '<path d="M8 2a6 6 0 0 0 0 12z" fill="currentColor"/>',
    "faulty": '<path d="M2 2l12 12M14 2L2 14" stroke="currentColor" stroke-width="3"/>',
}


register.filter("of_type_text", of_type_text)


@register.simple_tag(takes_context=True)
def tabs(context: template.Context) -> SafeString:
    """The index tabs; the one that this page belongs to is marked."""
    request: HttpRequest = context["request"]
    here = request.resolver_match.url_name if request.resolver_match else ""
    places = []
    for name, word in TABS:
        try:
            address = reverse(name)
        except NoReverseMatch:
            continue
        under = (address, *ALSO.get(name, ()))
        inside = here == name or any(each != "/" and request.path.startswith(each) for each in under)
        current = SafeString(' aria-current="page"' if inside else "")
        places.append((address, SafeString(' class="seldom"' if name in SELDOM else ""), current, word))
    return format_html_join("", '<a href="{}"{}{}>{}</a>', places)


@register.simple_tag
def mark(condition: str) -> SafeString:
    """The mark of a condition: the word, then its shape."""
    shape = SHAPES.get(condition, "")
    return format_html(
        '<span class="mark">{} <svg viewBox="0 0 16 16" aria-hidden="true">{}</svg></span>',
        condition,
        SafeString(shape),
    )


@register.filter
def drawn(spec: Spec) -> SafeString:
    """A part as one meets it, small, beside the words."""
    return drawing(spec)


@register.filter
def resistance_in_series(spec: Spec) -> str:
    """The ESR that a capacitor may have, which its line of words leaves out; "" where nothing is said."""
    most, least = spec.traits.get("esr_ohm"), spec.traits.get("esr_min_ohm")
    bounds = [f"{word} {ohms} Ω" for word, ohms in (("at least", least), ("at most", most)) if ohms]
    return f"ESR {' and '.join(bounds)}" if bounds else ""


@register.filter
def legs(spec: Spec) -> LegDrawing | None:
    """The legs of a part as one holds it; None where they are not known."""
    return legs_drawn(spec)


@register.filter
def after(text: object, value: str) -> str:
    """A part's words without the value that stands before them already: nothing is said twice."""
    words = str(text)
    return words[len(value) :].lstrip(" ,") if value and f"{words} ".startswith(f"{value} ") else words


@register.filter
def marked(lot: Lot) -> str:
    """What stands on it, where that says anything that its part's words do not."""
    said = str(lot.part).casefold().split()
    return "" if all(word in said for word in lot.marking.casefold().split()) else lot.marking


@register.filter
def notes(alike: Sequence[Position]) -> list[tuple[str, str]]:
    """What is noted of positions that ask the same: each note once, with its references where they differ."""
    refs_by_note: dict[str, list[str]] = {}
    for row in alike:
        if row.note:
            refs_by_note.setdefault(row.note, []).append(row.ref)
    for_all = len(refs_by_note) == 1 and all(row.note for row in alike)
    return [(note, "" if for_all else write_refs(refs)) for note, refs in refs_by_note.items()][:MAX_NOTES]


@register.simple_tag
def once() -> SafeString:
    """The token by which a form that is sent twice does its work once."""
    return format_html('<input type="hidden" name="once" value="{}">', new_token())


MANY, MANY_IN_EACH = 200, 40
"""So many may be picked of a list that unfolds, so many where each row of a page has such a list; of more one
is found by a few letters."""


@register.inclusion_tag("bench/pick.html", takes_context=True)
def pick(
    context: template.Context,
    name: str,
    at: str,
    rows: Iterable[Any],
    chosen: object = "",
    none: str = "",
    needed: bool = False,
    of: object = "",
    without: object = None,
) -> dict[str, object]:
    """The field `name` by which one of `rows` is picked: pairs of number and text, or what has a name.

    Of many it is a box with completion; the numbers and texts stand on the page once for all its boxes.
    `at` and `of` are its id, `none` stands where nothing is picked, unless one is `needed`; of a few,
    `without` is left out.
    """
    pairs = [(str(row[0]), row[1]) if isinstance(row, tuple) else (str(row.pk), row.name) for row in rows]
    typed = str(getattr(chosen, "pk", chosen) or "")
    wrong = chosen.wrong if isinstance(chosen, Picked) else ""
    chosen = typed.partition(" · ")[0]
    few = len(pairs) <= (MANY_IN_EACH if of else MANY)
    there: set[int] = context["request"].__dict__.setdefault("picked_of", set())
    first = not few and id(rows) not in there
    if first:
        there.add(id(rows))
    texts = dict(pairs)
    as_typed = typed if wrong or not typed.isdigit() else ""
    return {
        "name": name, "at": f"{at}{of}",
        "rows": [each for each in pairs if not few or each[0] != str(without)],
        "chosen": chosen, "none": none, "needed": needed,
        "few": few, "first": first, "list_id": f"list-{id(rows)}",
        "stands": f"{chosen} · {texts[chosen]}" if typed in texts else as_typed,
        "wrong": wrong,
    }  # fmt: skip


@register.simple_tag(takes_context=True)
def leaf(context: template.Context, number: int) -> str:
    """The address of another page of a list; `turns` names which, where a page has several."""
    asked = context["request"].GET.copy()
    asked[context.get("turns") or "page"] = str(number)
    return f"?{asked.urlencode()}"


@register.simple_tag
def watch() -> SafeString:
    """The word under which a form's work is counted while one waits for it."""
    return format_html('<input type="hidden" name="watch" value="{}">', new_token())


@register.simple_tag
def small(photo: Photo, size: str) -> str:
    """The address of a photo as pages show it, in a size that `photos.SIZES` names."""
    longest, kilobytes = SIZES[size]
    return f"{reverse('photo-image', args=[photo.pk])}?longest={longest}&kilobytes={kilobytes}"


@register.simple_tag
def workshop_name() -> str:
    """The name of the workshop, in the head of every page."""
    return settings_of_bench().name


@register.filter
def refs(listed: Iterable[str]) -> str:
    """References as one writes them: C1-C5, R7."""
    return write_refs(listed)


@register.filter
def positions(rows: Iterable[Position]) -> str:
    """The references of positions as one writes them: C1-C5, R7."""
    return write_refs([row.ref for row in rows])


@register.filter
def as_code(text: str) -> SafeString:
    """A sentence in which each name between backticks is a word of a program."""
    return mark_safe(re.sub(r"`([^`]*)`", r"<code>\1</code>", escape(text)))


@register.filter
def hexadecimal(number: int) -> str:
    """An address as it is written on the bench: four figures at least."""
    return f"{number:04X}"


@register.simple_tag
def may_own(row: Lot | Board) -> list[User]:
    """Those whose it may be."""
    return list(who_may_own(row.owner_id))


@register.simple_tag(takes_context=True)
def whose_else(context: template.Context, row: Lot | Board) -> User | None:
    """Whose a row is that whoever looks may not dispose of: they are asked, and what they alone do is not
    offered."""
    owner: User | None = row.owner
    return None if owner is None or may_dispose(owner, context["user"]) else owner


@register.simple_tag
def hand_overs(row: Lot | Board) -> list[HandOver]:
    """When it changed hands, oldest first."""
    changed: list[HandOver] = list(row.hand_overs.select_related("by").order_by("id"))
    return changed


@register.simple_tag
def whose_choices() -> list[User]:
    """Whose things a list may be narrowed to; nobody at a bench of one."""
    people = list(who_may_own())
    return people if len(people) > 1 else []
