"""The buy list: what is left to buy, ordered line by line, received into a drawer."""

from decimal import Decimal, InvalidOperation
from itertools import groupby

from django.contrib.auth.models import User
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory import ledger
from inventory.ledger import Refused
from inventory.models import Movement, Part, Place, StoredSpec
from inventory.ownership import may_dispose, who_may_own
from inventory.pages.drawers import KEPT, put_into, usual_place, where_to
from inventory.pages.frame import back, notify, number, page, who, words
from inventory.pages.once import once
from inventory.pages.owning import EVERYBODY, heir_named
from inventory.pages.picking import picked
from inventory.places import paths
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as
from inventory.whole_numbers import MAX_PIECES
from repairs import purchases
from repairs.answers.buy import LineToBuy, OrderLine, to_buy
from repairs.answers.buy import order as order_lines
from repairs.answers.buy.answer import ANYWAY, COST, FIRST, FRIENDS
from repairs.answers.buy.question import read_postage
from repairs.answers.parameters import Unreadable
from repairs.explanations import money, pieces
from repairs.models import Purchase
from repairs.pages.leads import lead_of
from repairs.sharing_models import FriendAsk

ON_A_PAGE, COMING_ON_A_PAGE, MAX_SETS = 40, 60, 40
FRIEND_WAYS = (
    (ANYWAY, "Buy it all the same"), (FIRST, "Ask friends first"), (COST, "Ask where it costs less"),
)  # fmt: skip
MAX_MONEY = Decimal(10) ** 8


@page()
def table(request: HttpRequest) -> HttpResponse:
    return _shown(request)


def _shown(request: HttpRequest, wrong: dict[str, str] | None = None) -> HttpResponse:
    """The list; `wrong` says by line, or by `arrival N`, what cannot be taken, beside what was typed."""
    friends, (postage, unread) = _friends(request), _postage(request)
    answer = to_buy(friends=friends, postage=postage)
    where, people, usual = paths(), list(who_may_own()), usual_place(request)
    lines = list(enumerate(answer.results, 1))
    refused = next((at for at, line in lines if StoredSpec.hash_of(line.spec) in (wrong or {})), None)
    leaf = number(request, "page", 1) if refused is None else -(-refused // ON_A_PAGE)
    of_page = Paginator(lines, ON_A_PAGE).get_page(leaf)
    on_the_way = Purchase.objects.filter(state=Purchase.State.ORDERED).select_related("part__spec", "owner")
    coming = Paginator(on_the_way.order_by("id"), COMING_ON_A_PAGE).get_page(number(request, "coming", 1))
    return render(
        request,
        "bench/buy.html",
        {
            "page": of_page,
            "items": [_line(line, at, request, wrong or {}) for at, line in of_page],
            "questions": answer.questions,
            "friends": friends,
            "ways": FRIEND_WAYS if friends != ANYWAY or answer.ask_friends or answer.ask_others else (),
            "ask_others": answer.ask_others,
            "asks": [
                (name, list(lines))
                for name, lines in groupby(answer.ask_friends, lambda each: each.friend_name)
            ],
            "totals": answer.totals,
            "saved": money(answer.totals.saved),
            "postage": request.GET.get("postage", "")[:12],
            "unread": unread,
            "sets": [
                {
                    "lines": [(line + 1, line // ON_A_PAGE + 1) for line in each.lines],
                    "jobs": list(zip(each.jobs, each.names, strict=True)),
                    "price": money(each.price),
                }
                for each in answer.completions[:MAX_SETS]
            ],
            "price": money(answer.totals.price),
            "known_price": money(answer.totals.known_price) if answer.totals.known_price else "",
            "coming": coming,
            "on_the_way": [
                _coming(each, request, (wrong or {}).get(f"arrival {each.pk}", ""), people, usual)
                for each in coming
            ],
            "from_friends": Paginator(
                FriendAsk.objects.filter(state__in=FriendAsk.ON_ITS_WAY)
                .select_related("friend", "spec")
                .order_by("id"),
                COMING_ON_A_PAGE,
            ).get_page(1),
            "storage": where_to(where),
            "may_write": may_act_as(request.user, BENCH),
            "ticking": "tick" in request.GET and may_act_as(request.user, BENCH),
            "seller": request.session.get("seller", ""),
        },
        status=400 if wrong else 200,
    )


def _friends(request: HttpRequest) -> str:
    way = request.GET.get("friends", ANYWAY)
    return way if way in FRIENDS else ANYWAY


def _postage(request: HttpRequest) -> tuple[Decimal | None, str]:
    """Postage of the whole order, None where none is given, and what is wrong with it."""
    text = request.GET.get("postage", "").strip()[:12]
    try:
        return (read_postage(text) if text else None), ""
    except Unreadable as wrong:
        return None, f"Postage: {wrong.detail}."


def _coming(
    each: Purchase, request: HttpRequest, wrong: str, people: list[User], usual: int
) -> dict[str, object]:
    me, owner = who(request), each.owner
    return {
        "purchase": each,
        "price": money(each.price),
        "quantity": words(request, "quantity", 12) if wrong else each.quantity,
        "to": words(request, "to", 400) if wrong else usual,
        "wrong": wrong,
        "cancels": may_dispose(owner, me),
        "alone": purchases.who_alone(owner) if owner else "",
        "may_become": purchases.may_become(each, me, people),
    }


def _line(line: LineToBuy, at: int, request: HttpRequest, wrong: dict[str, str]) -> dict[str, object]:
    name = StoredSpec.hash_of(line.spec)
    typed = request.POST if request.POST.get("line") == name else {}
    return {
        "at": at,
        "line": name,
        "about": money(line.price),
        "item": line,
        "value": line.spec.value_text or line.spec.number or line.spec.kind,
        "completes": list(zip(line.completes, line.completes_names, strict=True)),
        "quantity": typed.get("quantity", line.pieces),
        "price": typed.get("price", money(line.price_each)),
        "bought_from": typed.get("bought_from", line.bought_from or request.session.get("seller", "")),
        "wrong": wrong.get(name, ""),
    }


@page("POST")
def order(request: HttpRequest) -> HttpResponse:
    """Put one line of the list as it was shown on order, as many pieces as were typed."""
    line = request.POST.get("line", "")
    shown = to_buy(friends=_friends(request), postage=_postage(request)[0])
    item = next((item for item in shown.results if StoredSpec.hash_of(item.spec) == line), None)
    if item is None:
        raise Refused(Code.NOT_ON_THE_LIST, "That line is no longer on the list: it may have been ordered.")
    seller = words(request, "bought_from", 200)
    try:
        ordered = _ordered(request, item, "", seller)
    except ValueError as refused:
        return _shown(request, {line: str(refused)})
    order_lines([ordered])
    request.session["seller"] = seller
    notify(request, f"{pieces(ordered.quantity)} of {ordered.part} on order.")
    return back(request, _list(request))


@page("POST")
@once
def order_several(request: HttpRequest) -> HttpResponse:
    """Put the lines that are ticked on order from one seller: all of them or, where one is refused, none."""
    ticked = list(dict.fromkeys(request.POST.getlist("line")))
    if not ticked:
        raise Refused(Code.REQUIRED, "Tick the lines that you order.")
    shown = to_buy(friends=_friends(request), postage=_postage(request)[0])
    items = {StoredSpec.hash_of(item.spec): item for item in shown.results}
    if gone := sum(line not in items for line in ticked):
        count = f"{gone} of the ticked lines {'is' if gone == 1 else 'are'}"
        raise Refused(
            Code.NOT_ON_THE_LIST,
            f"{count} no longer on the list: it may have been ordered. Nothing was ordered now.",
        )
    seller = words(request, "bought_from", 200)
    lines = []
    for line in ticked:
        try:
            lines.append(_ordered(request, items[line], f"-{line}", seller))
        except ValueError as wrong:
            raise Refused(Code.UNREADABLE, f"{items[line].name}: {wrong} Nothing was ordered.") from None
    order_lines(lines)
    request.session["seller"] = seller
    notify(request, f"{len(lines)} line{'' if len(lines) == 1 else 's'} on order.")
    return back(request, _list(request))


def _ordered(request: HttpRequest, item: LineToBuy, ending: str, seller: str) -> OrderLine:
    """A line with the pieces and the price that were typed for it; ValueError says what is wanted of them."""
    quantity = number(request, f"quantity{ending}")
    if not 1 <= quantity <= MAX_PIECES:
        raise ValueError("How many pieces? Give a whole number.")
    price = _money(request.POST.get(f"price{ending}", ""))
    number_of_part = Part.of(item.spec).pk if item.part is None else item.part
    part = Part.objects.select_related("spec").get(pk=number_of_part)
    return OrderLine(part, quantity, price, seller)


def _list(request: HttpRequest) -> str:
    """The list with the filter that the form was sent with."""
    return f"{reverse('buy')}?{request.GET.urlencode()}" if request.GET else reverse("buy")


def _money(typed: str) -> Decimal | None:
    """A price as it is typed, None where there is none; ValueError says what is wanted."""
    text = typed.strip().replace(",", ".")
    if not text:
        return None
    try:
        price = Decimal(text)
    except InvalidOperation:
        price = Decimal("NaN")
    if not price.is_finite() or not 0 <= price < MAX_MONEY:
        raise ValueError(f"{typed.strip()[:40]!r}: expected a price of one piece such as 0.12, or nothing.")
    return price.quantize(Decimal("0.0001"))


@page("POST")
@once
def receive(request: HttpRequest, pk: int) -> HttpResponse:
    """What was ordered came: so many pieces of it become a lot in a drawer."""
    purchase = get_object_or_404(Purchase.objects.select_related("part"), pk=pk)
    arrived = number(request, "quantity")
    if not 1 <= arrived <= MAX_PIECES:
        message = "How many came? Give a whole number of pieces, at least one."
        return _shown(request, {f"arrival {pk}": message})
    try:
        to = picked(request, "to", Place.objects.filter(type__in=KEPT), "drawers")
    except Refused as refused:
        return _shown(request, {f"arrival {pk}": refused.detail})
    place = put_into(to)
    if place is None:
        return _shown(request, {f"arrival {pk}": "Where is it now? Pick the drawer or tray it went into."})
    got = purchases.receive(purchase, ledger.spot_of(place), by=who(request), quantity=arrived)
    request.session["last_place"] = place.pk
    came = Movement.objects.get(lot=got.lot_id, kind=Movement.Kind.RECEIVE)
    notify(request, f"{pieces(arrived)} of {got.part} in {place.name}.", [came], lead=lead_of(came))
    return back(request, _list(request))


@page("POST")
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Cancel it after all: what waits for it is short again."""
    purchase = get_object_or_404(Purchase.objects.select_related("part", "owner"), pk=pk)
    purchases.cancel(purchase, by=who(request))
    notify(request, f"{purchase.part}: no longer on order.")
    return back(request, _list(request))


@page("POST")
def hand_on(request: HttpRequest, pk: int) -> HttpResponse:
    """Say for whom it is bought."""
    purchase = get_object_or_404(Purchase.objects.select_related("part"), pk=pk)
    to = heir_named(request, Purchase.objects.filter(pk=pk))
    purchases.hand_on(purchase, to, by=who(request))
    notify(request, f"{purchase.part}: bought for {to.username if to else EVERYBODY} now.")
    return back(request, _list(request))
