"""Who may do what across the repairs, as a table: a missing row fails the last test of the file."""

import pytest

from inventory.ledger import Spot
from inventory.models import Lot, Movement
from inventory.people import add_person
from repairs import asks, loans, reservations
from repairs.models import Loan, Purchase, Trial
from repairs.sharing_models import EvidenceTaken, Friend
from repairs.webhook_models import WebhookDelivery
from repairs.webhooks import events
from repairs.webhooks.hooks import add_hook
from tests.api.who_may import May, assert_may
from tests.factories import (
    BoardFactory,
    DesignFactory,
    NeedFactory,
    PlaceFactory,
    SubstitutionFactory,
    spec,
    stock,
)

MAY: list[May] = [
    ("get", "/api/v1/jobs/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/jobs/", {"name": "Mend the Tern"}, (201, 201, 403, 401)),
    ("get", "/api/v1/jobs/{job}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/jobs/{job}/", {"note": "x"}, (200, 200, 403, 401)),
    ("delete", "/api/v1/jobs/{job}/", None, (409, 403, 403, 401)),
    ("post", "/api/v1/jobs/{job}/reserve/", None, (200, 200, 403, 401)),
    ("get", "/api/v1/needs/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/needs/", {"job": "{job}", "kind": "lamp"}, (201, 201, 403, 401)),
    ("post", "/api/v1/needs/several/", {"rows": []}, (400, 400, 403, 401)),
    ("get", "/api/v1/needs/{need}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/needs/{need}/", {"note": "x"}, (200, 200, 403, 401)),
    ("delete", "/api/v1/needs/{need}/", None, (409, 403, 403, 401)),
    ("get", "/api/v1/reservations/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/reservations/", {"need": "{need}", "lot": "{lot}"}, (201, 201, 403, 401)),
    ("get", "/api/v1/reservations/{reservation}/", None, (200, 200, 200, 401)),
    ("delete", "/api/v1/reservations/{reservation}/", None, (204, 204, 403, 401)),
    ("get", "/api/v1/movements/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/movements/", {"kind": "count", "lot": "{lot}", "quantity": 8}, (201, 201, 403, 401)),
    ("get", "/api/v1/movements/{movement}/", None, (200, 200, 200, 401)),
    ("put", "/api/v1/movements/{movement}/", {}, (405, 405, 403, 401)),
    ("patch", "/api/v1/movements/{movement}/", {}, (405, 405, 403, 401)),
    ("delete", "/api/v1/movements/{movement}/", None, (405, 405, 403, 401)),
    ("get", "/api/v1/purchases/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/purchases/", {"part": {"kind": "lamp"}, "quantity": 1}, (201, 201, 403, 401)),
    ("get", "/api/v1/purchases/{purchase}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/purchases/{purchase}/", {"note": "x"}, (200, 200, 403, 401)),
    ("delete", "/api/v1/purchases/{purchase}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/loans/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/loans/{loan}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/loans/{loan}/", {"reason": "x"}, (200, 200, 403, 401)),
    ("get", "/api/v1/trials/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/trials/", {"lot": "{lot}", "method": "look", "verdict": "good"}, (201, 201, 403, 401)),
    ("get", "/api/v1/trials/{trial}/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/substitutions/", None, (200, 200, 200, 401)),
    (
        "post",
        "/api/v1/substitutions/",
        {"required": {"kind": "lamp"}, "offered": {"kind": "lamp", "volts": "6"}, "evidence": "listed"},
        (201, 201, 403, 401),
    ),
    ("get", "/api/v1/substitutions/{substitution}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/substitutions/{substitution}/", {"note": "x"}, (200, 200, 403, 401)),
    ("delete", "/api/v1/substitutions/{substitution}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/calendar/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/health/?audit=false", None, (200, 403, 403, 401)),
    ("get", "/api/v1/lately/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/figures/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/metrics/", None, (200, 403, 403, 401)),
    ("get", "/api/v1/search/?q=R1", None, (200, 200, 200, 401)),
    ("post", "/api/v1/search/picture/", None, (400, 400, 400, 401)),
    ("get", "/api/v1/shortages/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/shortages/", {}, (405, 405, 403, 401)),
    ("get", "/api/v1/lots/{lot}/wanted/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/designs/file/", None, (400, 400, 403, 401)),
    ("get", "/api/v1/designs/{design}/file/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/designs/{design}/file/", None, (400, 400, 403, 401)),
    ("post", "/api/v1/designs/file/999/undo/", None, (404, 404, 403, 401)),
    ("get", "/api/v1/designs/{design}/credits/", None, (200, 200, 200, 401)),
    ("put", "/api/v1/designs/{design}/credits/", {"credits": []}, (200, 200, 403, 401)),
    ("get", "/api/v1/schemas/design.json", None, (200, 200, 200, 401)),
    ("get", "/api/v1/evidence/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/evidence/file/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/evidence/file/", None, (400, 400, 403, 401)),
    ("get", "/api/v1/evidence/{evidence}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/evidence/{evidence}/", {"put_away": True}, (200, 200, 403, 401)),
    ("delete", "/api/v1/evidence/{evidence}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/spare/", None, (200, 200, 200, 401)),
    ("put", "/api/v1/spare/", {}, (200, 200, 403, 401)),
    ("get", "/api/v1/spare/file/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/friends/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/friends/", {"name": "Fenland"}, (201, 201, 403, 401)),
    ("get", "/api/v1/friends/key/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/friends/{friend}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/friends/{friend}/", {"note": "x"}, (200, 200, 403, 401)),
    ("delete", "/api/v1/friends/{friend}/", None, (204, 403, 403, 401)),
    ("post", "/api/v1/friends/{friend}/list/", None, (400, 400, 403, 401)),
    ("get", "/api/v1/friends/{friend}/gifts/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/friends/{friend}/gifts/", {}, (400, 400, 403, 401)),
    ("get", "/api/v1/friends/asks/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/friends/asks/", {}, (400, 400, 403, 401)),
    ("get", "/api/v1/friends/asks/999/", None, (404, 404, 404, 401)),
    ("post", "/api/v1/friends/asks/999/", {"state": "sent"}, (404, 404, 403, 401)),
    ("get", "/api/v1/asks/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/asks/", {"need": "{need}", "lot": "{hers}"}, (201, 201, 403, 401)),
    ("get", "/api/v1/asks/{pieceask}/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/asks/{pieceask}/answer/", {"yes": True}, (409, 409, 403, 401)),
    ("post", "/api/v1/asks/{pieceask}/withdraw/", None, (409, 409, 403, 401)),
    ("get", "/api/v1/webhooks/", None, (200, 403, 403, 401)),
    ("post", "/api/v1/webhooks/", {"address": "https://a.example/", "events": []}, (400, 403, 403, 401)),
    ("get", "/api/v1/webhooks/{webhook}/", None, (200, 403, 403, 401)),
    ("patch", "/api/v1/webhooks/{webhook}/", {"paused": True}, (200, 403, 403, 401)),
    ("delete", "/api/v1/webhooks/{webhook}/", None, (204, 403, 403, 401)),
    ("post", "/api/v1/webhooks/999/test/", None, (404, 403, 403, 401)),
    ("get", "/api/v1/webhook-deliveries/", None, (200, 403, 403, 401)),
    ("post", "/api/v1/webhook-deliveries/", {}, (405, 403, 403, 401)),
    ("get", "/api/v1/webhook-deliveries/{webhookdelivery}/", None, (200, 403, 403, 401)),
    ("post", "/api/v1/webhook-deliveries/{webhookdelivery}/again/", None, (200, 403, 403, 401)),
]
NOUNS = (
    "job", "need", "reservation", "movement", "purchase", "loan", "substitution", "pieceask", "webhook",
    "webhookdelivery",
)  # fmt: skip


@pytest.fixture
def there(db: None) -> dict[str, int]:
    """One of each."""
    here, need = stock(5), NeedFactory(quantity=2)
    hook, _secret = add_hook("https://receiver.example/", [events.LOAN_OVERDUE])
    told = WebhookDelivery.objects.create(webhook=hook, event=events.LOAN_OVERDUE, uid="1" * 32, body="{}")
    lender = BoardFactory(purpose="working", design=DesignFactory(positions={"R1": spec()}))
    merle, hers = add_person("merle"), stock(2)
    Lot.objects.filter(pk=hers.lot_id).update(owner=merle)
    [lifted] = loans.borrow(lender, ["R1"], Spot(PlaceFactory().pk), by=None)
    return {
        "job": need.job_id,
        "design": DesignFactory().pk,
        "evidence": EvidenceTaken.objects.create(source="Cranmere", made="2026-11-20").pk,
        "friend": Friend.objects.create(name="Cranmere").pk,
        "need": need.pk,
        "lot": here.lot_id,
        "reservation": reservations.reserve(need, here, 1, by=None).pk,
        "movement": Movement.objects.earliest("id").pk,
        "purchase": Purchase.objects.create(part=here.lot.part, quantity=3).pk,
        "loan": Loan.objects.get(movement=lifted).pk,
        "substitution": SubstitutionFactory().pk,
        "hers": hers.lot_id,
        "pieceask": asks.ask(NeedFactory(), hers.lot, 1, by=None).pk,
        "webhook": hook.pk,
        "webhookdelivery": told.pk,
        "trial": Trial.objects.create(lot=here.lot, method="look", verdict="good").pk,
    }


def test_each_person_may_do_what_the_table_says(
    request: pytest.FixtureRequest, there: dict[str, int]
) -> None:
    assert_may(request, MAY, there)


def test_every_address_of_the_nouns_is_in_the_table() -> None:
    from repairs.api.urls import router

    listed = {(method, path) for method, path, *_rest in MAY}
    for prefix, viewset, basename in router.registry:
        if basename not in NOUNS:
            continue
        for route in router.get_routes(viewset):
            lookup = f"{{{basename}}}"
            path = f"/api/v1/{route.url[1:-1].format(prefix=prefix, lookup=lookup, trailing_slash='/')}"
            for method in router.get_method_map(viewset, route.mapping):
                if method in viewset.http_method_names:
                    assert (method, path) in listed
