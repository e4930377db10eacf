"""What a design says beside its positions, on one page: hazards, rails, banks and links, entry by entry.

A form becomes the very data that the API takes; `designing.change_facts` refuses what cannot be read.
"""

import re
from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation
from itertools import zip_longest
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404
from django.urls import reverse

from inventory import designing
from inventory.design_facts import HAZARD_NAMES, HAZARDS, PROPERTIES
from inventory.ledger import Refused
from inventory.models import Design
from inventory.pages.frame import change_or_show, number, page
from inventory.pages.meanwhile import Meanwhile
from inventory.pages.once import once
from inventory.refs import parse_refs, write_refs
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as
from inventory.whole_numbers import whole_number

Form = QueryDict
Entry = dict[str, Any]
USUAL_TOLERANCE = Decimal("0.05")
"""Of a rail whose limits are not said: 5 % (TTL data books: 4.75 to 5.25 V)."""
_SPAN = re.compile(r"([0-9A-Fa-f]{1,8})\s*-\s*([0-9A-Fa-f]{1,8})\s+(.+)")
_BITS = re.compile(r"(D\d{1,2}(?:\s*-\s*D?\d{1,2})?)\s+(\S+)")


@page("GET", "HEAD", "POST")
@once
def facts(request: HttpRequest, pk: int) -> HttpResponse:
    """The entries of each sort; a POST keeps, adds or removes one, and refuses what cannot be read."""
    design = get_object_or_404(Design, pk=pk)

    def shown(wrong: str) -> tuple[str, dict[str, Any]]:
        form = request.POST
        typed: dict[str, Any] = {}
        if wrong:
            typed = {"wrong": wrong, "sort": form.get("sort", ""), "at": number(request, "at", -1)}
        return "bench/facts.html", {
            "design": design,
            "hazards": [(word, name, word in design.hazards) for word, name in HAZARD_NAMES.items()],
            "rails": _shown(design.rails, "rails", typed, form),
            "banks": _shown(design.banks, "banks", typed, form),
            "links": _shown(design.links, "links", typed, form),
            "properties": PROPERTIES,
            "typed": typed,
            "may_write": may_act_as(request.user, BENCH),
        }

    then = f"{reverse('facts', args=[pk])}#{request.POST.get('sort', '')}"
    return change_or_show(request, lambda: _changed(request, design), then, shown)


def _changed(request: HttpRequest, design: Design) -> str:
    """What was done, in words."""
    design.refresh_from_db(from_queryset=Design.objects.select_for_update())
    sort = request.POST.get("sort", "")
    if sort == "hazards":
        form = request.POST
        ticked, seen = set(form.getlist("hazard")), set(form.getlist("seen"))
        now = (set(design.hazards) | (ticked - seen)) - (seen - ticked)
        designing.change_facts(design, hazards=[word for word in HAZARDS if word in now])
        return "The hazards are kept."
    if sort not in _READERS:
        raise Refused(Code.REQUIRED, "Say what is changed: hazards, rails, banks or links.")
    entries = list(getattr(design, sort))
    at = _where_now(request, sort, entries)
    if request.POST.get("what") == "remove":
        done = f"{entries.pop(at).get('name', '')} taken out."
    else:
        entry = _READERS[sort](request.POST)
        entries[at : at + 1] = [entry]
        done = f"{entry['name']} is kept."
    try:
        designing.change_facts(design, **{sort: entries})
    except Refused as refused:
        raise Refused(refused.code, _in_words_of_the_page(refused.detail, sort, entries)) from None
    return done


def _where_now(request: HttpRequest, sort: str, entries: list[Entry]) -> int:
    """Where the entry of the form is now, or where a new one goes.

    The form then holds what this person changed and, in the fields left alone, what stands there now.
    Refused (`stale`) where somebody changed the same field, or took the entry out.
    """
    seen, removes = request.POST.getlist("seen"), request.POST.get("what") == "remove"
    name = seen[0] if len(seen) == len(LABELS[sort]) else ""
    named = [entry.get("name") for entry in entries]
    if name not in named:
        _stands_at(request, len(entries), ["new"])
        if removes:
            raise Refused(
                Code.STALE, "It is not there any more: somebody took it out or gave it another name."
            )
        if name:
            raise Refused(
                Code.STALE,
                f"{name} was taken out or named otherwise since you opened it. What you typed stands in a "
                "new one: save it to add it again.",
            )
        return len(entries)
    at = named.index(name)
    drawn = _drawn(entries[at], sort)
    now, sent = _texts(drawn, sort), QueryDict(mutable=True)
    sent.update(_texts(request.POST, sort))
    sent.setlist("seen", seen)
    form = Meanwhile(sent, now)
    shown = _stands_at(request, at, list(now.values()))
    for field in LABELS[sort]:
        if field not in form.touched:
            for column in _columns(field):
                shown.setlist(column, drawn.getlist(column))
    if others := form.changed if removes else form.crossed:
        stands = "; ".join(f"{LABELS[sort][field]}: {_said(now[field])}" for field in others)
        then = "Take it out again if that is right." if removes else "Save again if yours is right."
        raise Refused(Code.STALE, f"{name} was changed since you opened it. Now {stands}. {then}")
    return at


def _stands_at(request: HttpRequest, at: int, seen: list[str]) -> QueryDict:
    """From here on the form is that of another entry, should it be shown again."""
    form = request.POST.copy()
    form["at"] = str(at)
    form.setlist("seen", seen)
    request.POST = form  # type: ignore[assignment]
    return form


LABELS: dict[str, dict[str, str]] = {
    "rails": {
        "name": "Name", "nominal": "Volts", "order": "Order", "low": "Lowest", "high": "Highest",
        "where": "Where to measure", "ohms_low": "Ohms to ground, lowest",
        "ohms_high": "Ohms to ground, highest", "protects": "Chips that stay out until it is right",
        "note": "Note",
    },
    "banks": {
        "name": "Name", "refs": "Positions", "counts": "How many may be fitted", "equal": "All alike in",
        "map": "Memory map", "note": "Note",
    },
    "links": {
        "name": "Name", "purpose": "What it is for", "settings": "Settings", "note": "Note", "rules": "Rules",
    },
}  # fmt: skip
"""The fields that a form of each sort draws, as the page labels them; in this order it says under `seen`
what stood in them."""
_CELL, _LINE = " | ", " / "


def _columns(field: str) -> list[str]:
    """The names under which a form sends a field."""
    cells = ("setting", "where", *PROPERTIES, "count", "note")
    return [f"rule_{cell}" for cell in cells] if field == "rules" else [field]


def _drawn(entry: Entry, sort: str) -> Form:
    """What the form of an entry sends where nobody touches it."""
    fields, sent = _FIELDS[sort](entry), QueryDict(mutable=True)
    for field in LABELS[sort]:
        value = fields.get(field, "")
        if field == "rules":
            for rule in value:
                wants = [want for _name, want in rule["wants"]]
                cells = (rule["setting"], rule["where"], *wants, rule["note"])
                for column, cell in zip(_columns(field), cells, strict=True):
                    sent.appendlist(column, cell)
        elif field == "equal":
            sent.setlist(field, value or [])
        else:
            sent[field] = "" if value is None else str(value)
    return sent


def _texts(form: Form, sort: str) -> dict[str, str]:
    """Each field that a form sends as one text."""
    texts = {}
    for field in LABELS[sort]:
        if field == "rules":
            texts[field] = _LINE.join(_CELL.join(map(str.strip, row)) for row in _rule_rows(form))
        elif field == "equal":
            texts[field] = ", ".join(each for each in PROPERTIES if each in form.getlist(field))
        elif field == "map":
            texts[field] = _LINE.join(
                line.strip() for line in _text(form, field).splitlines() if line.strip()
            )
        elif field in form:
            texts[field] = form.get(field, "")
    return texts


def _said(text: str) -> str:
    """What stands in a field, as a sentence says it."""
    rows = text.split(_LINE)
    return _LINE.join(" ".join(filter(None, row.split(_CELL))) for row in rows) or "nothing"


def _in_words_of_the_page(detail: str, sort: str, entries: list[Entry]) -> str:
    """What the design's reader refuses, with the entry and the field as this page calls them."""
    found = re.match(rf"{sort} (\d+)(?: (\w+))?( [^:]*)?: (.*)", detail, re.DOTALL)
    if not found or int(found[1]) >= len(entries):
        return detail
    field = "where" if found[2] == "at" else found[2]
    label = LABELS[sort].get(field, found[2])
    where = ", ".join(filter(None, (entries[int(found[1])].get("name"), label)))
    return f"{where}: {found[4]}"


def _text(form: Form, name: str) -> str:
    return form.get(name, "").replace("\0", "").strip()


def _refs(form: Form, name: str) -> list[str]:
    typed = _text(form, name)
    return parse_refs(typed) if typed else []


def _rail(form: Form) -> Entry:
    """A rail; limits that are left out are 5 % about the nominal volts."""
    nominal, low, high = (_text(form, name) for name in ("nominal", "low", "high"))
    if nominal and not (low and high):
        try:
            volts = Decimal(nominal)
        except InvalidOperation:
            raise Refused(Code.UNREADABLE, f"{nominal}: volts are written as -5 or 3.3") from None
        about = sorted((volts * (1 - USUAL_TOLERANCE), volts * (1 + USUAL_TOLERANCE)))
        low, high = low or f"{about[0].normalize():f}", high or f"{about[1].normalize():f}"
    entry: Entry = {
        "name": _text(form, "name"), "nominal": nominal, "low": low, "high": high,
        "at": _text(form, "where"), "protects": _refs(form, "protects"), "note": _text(form, "note"),
    }  # fmt: skip
    order = _text(form, "order")
    if order:
        number = whole_number(order)
        entry["order"] = order if number is None else number
    for name in ("ohms_low", "ohms_high"):
        if _text(form, name):
            entry[name] = _text(form, name)
    return entry


def _rail_fields(rail: Entry) -> Entry:
    return {**rail, "where": rail.get("at", ""), "protects": write_refs(rail.get("protects", []))}


def _bank(form: Form) -> Entry:
    """A bank; its memory map is a line a span: `0000-03FF D0-D3 IC12, D4-D7 IC13`."""
    spans = []
    for line in _text(form, "map").splitlines():
        if not line.strip():
            continue
        span = _SPAN.fullmatch(line.strip())
        bits = [_BITS.fullmatch(each.strip()) for each in span[3].split(",")] if span else []
        if span is None or not all(bits):
            raise Refused(
                Code.UNREADABLE, f"{line.strip()}: a span is written 0000-03FF D0-D3 IC12, D4-D7 IC13"
            )
        named = {bit[1].replace(" ", ""): bit[2] for bit in bits if bit}
        spans.append({"start": span[1].upper(), "end": span[2].upper(), "bits": named})
    return {
        "name": _text(form, "name"), "refs": _refs(form, "refs"), "map": spans, "note": _text(form, "note"),
        "equal": [each for each in PROPERTIES if each in form.getlist("equal")],
        "counts": _counts(_text(form, "counts")),
    }  # fmt: skip


def _counts(typed: str) -> list[int]:
    """Numbers of pieces with commas between.  Refused where a word is none."""
    found = [whole_number(each) for each in typed.replace(",", " ").split()]
    if None in found:
        raise Refused(Code.UNREADABLE, f"{typed[:40]}: how many is written as 8, or 8, 16")
    return [each for each in found if each is not None]


def _bank_fields(bank: Entry) -> Entry:
    spans = (
        f"{span['start']}-{span['end']} {', '.join(f'{bits} {ref}' for bits, ref in span['bits'].items())}"
        for span in bank.get("map", [])
    )
    return {
        **bank, "refs": write_refs(bank.get("refs", [])), "map": "\n".join(spans),
        "counts": ", ".join(map(str, bank.get("counts", []))),
    }  # fmt: skip


def _link(form: Form) -> Entry:
    """A link; a rule is a row: its setting, where, and what must hold of what is fitted there."""
    settings = [each.strip() for each in _text(form, "settings").split(",") if each.strip()]
    rules = []
    for setting, where, *wants, count, note in _rule_rows(form):
        bank = where.strip().lower().startswith("bank ")
        when: Entry = {"bank": where.strip()[5:].strip()} if bank else {"ref": where.strip()}
        for name, want in zip(PROPERTIES, wants, strict=True):
            values = [each.strip() for each in want.split(",") if each.strip()]
            if values:
                when[name] = values[0] if len(values) == 1 else values
        if counts := _counts(count):
            when["count"] = counts[0] if len(counts) == 1 else counts
        rules.append({"setting": setting.strip(), "when": when, "note": note.strip()})
    return {
        "name": _text(form, "name"), "purpose": _text(form, "purpose"), "settings": settings, "rules": rules,
        "note": _text(form, "note"),
    }  # fmt: skip


def _rule_rows(form: Form) -> list[tuple[str, ...]]:
    """Rows of the table of rules in which something is typed, as the page has their columns."""
    columns = [form.getlist(f"rule_{name}") for name in ("setting", "where", *PROPERTIES, "count", "note")]
    return [row for row in zip_longest(*columns, fillvalue="") if any(row)]


def _typed_rules(form: Form) -> list[Entry]:
    """The same for the page that shows them again."""
    return [
        {
            "setting": setting, "where": where, "note": note,
            "wants": list(zip((*PROPERTIES, "count"), wants, strict=True)),
        }
        for setting, where, *wants, note in _rule_rows(form)
    ]  # fmt: skip


def _link_fields(link: Entry) -> Entry:
    rules = []
    for rule in link.get("rules", []):
        when = rule.get("when", {})
        wants = [(name, _listed(when.get(name, ""))) for name in (*PROPERTIES, "count")]
        where = when.get("ref") or f"bank {when.get('bank', '')}"
        rules.append(
            {"setting": rule["setting"], "where": where, "wants": wants, "note": rule.get("note", "")}
        )
    return {**link, "settings": ", ".join(link.get("settings", [])), "rules": rules}


def _listed(value: object) -> str:
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _shown(entries: list[Entry], sort: str, typed: Mapping[str, Any], form: Form) -> list[dict[str, Any]]:
    """The entries as their forms show them, and an empty one for the next; a refused one as it was typed."""
    shown: list[dict[str, Any]] = [
        {
            "at": at, "entry": _FIELDS[sort](entry), "open": False,
            "seen": list(_texts(_drawn(entry, sort), sort).values()),
        }
        for at, entry in enumerate(entries)
    ]  # fmt: skip
    shown.append({"at": len(entries), "entry": {}, "open": False, "new": True, "seen": ["new"]})
    if typed.get("sort") == sort and form.get("what") != "remove":
        at = typed["at"] if 0 <= typed["at"] < len(shown) else len(entries)
        as_typed = {name: form.get(name, "") for name in form}
        as_typed["equal"] = form.getlist("equal")  # type: ignore[assignment]
        as_typed["rules"] = _typed_rules(form)  # type: ignore[assignment]
        shown[at] |= {"entry": {**shown[at]["entry"], **as_typed}, "open": True}
    return shown


_READERS: dict[str, Callable[[Form], Entry]] = {"rails": _rail, "banks": _bank, "links": _link}
_FIELDS: dict[str, Callable[[Entry], Entry]] = {
    "rails": _rail_fields, "banks": _bank_fields, "links": _link_fields,
}  # fmt: skip
