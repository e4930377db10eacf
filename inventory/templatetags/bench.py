"""What every page shares: the tabs and the mark of a condition."""

from collections.abc import Iterable

from django import template
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.dateparse import parse_datetime
from django.utils.formats import date_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.timezone import localtime

from inventory.bench_settings import settings_of_bench
from inventory.models import Photo
from inventory.pages.once import new_token
from inventory.photos import SIZES
from inventory.refs import write_refs

register = template.Library()

TABS = (
    ("now", "Now"), ("read", "Read"), ("drawers", "Drawers"), ("boards", "Boards"), ("jobs", "Jobs"),
    ("shortages", "Shortages"), ("sheets", "Sheets"), ("more", "More"),
)  # fmt: skip

ALSO = {
    "drawers": ("/lots/",),
    "boards": ("/designs/", "/swaps/"),
    "jobs": ("/needs/",),
    "more": ("/people/", "/keys/", "/password/", "/settings/", "/about/", "/print/"),
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
        places.append((address, SafeString(' aria-current="page"') if inside else "", word))
    return format_html_join("", '<a href="{}"{}>{}</a>', places)


@register.simple_tag
def mark(condition: str) -> SafeString:
    """The mark of a condition: the word, then its shape."""
    shape = SHAPES.get(condition, "")
    return format_html(
        '<span class="mark">{} <svg viewBox="0 0 16 16" aria-hidden="true">{}</svg></span>',
        condition,
        SafeString(shape),
    )


@register.simple_tag
def once() -> SafeString:
    """The token by which a form that is sent twice does its work once."""
    return format_html('<input type="hidden" name="once" value="{}">', new_token())


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
def moment(at: str) -> str:
    """A moment of the API, in the time of the workshop, as one would write it."""
    read = parse_datetime(at)
    return date_format(localtime(read), "j M Y, H:i") if read else at


@register.filter
def refs(listed: Iterable[str]) -> str:
    """References as one writes them: C1-C5, R7."""
    return write_refs(listed)


@register.filter
def hexadecimal(number: int) -> str:
    """An address as it is written on the bench: four figures at least."""
    return f"{number:04X}"
