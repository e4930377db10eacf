"""The repairs' part of the API; `config.urls` puts it beside that of the inventory."""

from django.urls import path, re_path
from rest_framework.routers import SimpleRouter

from repairs.answers.buy.view import BuyView
from repairs.answers.harvest.view import HarvestView
from repairs.answers.make_up.view import MadeUpView, NeedMadeUp
from repairs.answers.shortages.view import ShortagesView
from repairs.answers.transfer.view import JobTransfer
from repairs.answers.why.view import NeedWhy
from repairs.api.asks import PieceAskViewSet
from repairs.api.calendar import CalendarView
from repairs.api.design_files import (
    DesignCreditsView,
    DesignFilesView,
    DesignFileUndo,
    DesignFileView,
    SchemaView,
)
from repairs.api.evidence import EvidenceFileView, EvidenceTakenView, EvidenceView
from repairs.api.friend_asks import FriendAskViewSet
from repairs.api.friends import (
    FriendGiftsView,
    FriendListView,
    FriendsKeyView,
    FriendsView,
    FriendView,
    SpareFileView,
    SpareView,
)
from repairs.api.health import HealthView
from repairs.api.jobs import JobViewSet
from repairs.api.loans import LoanViewSet
from repairs.api.metrics import MetricsView
from repairs.api.movements import MovementViewSet
from repairs.api.needs import NeedViewSet
from repairs.api.ordering import BuyOrder
from repairs.api.over_time import FiguresView, LatelyView
from repairs.api.proving_urls import urlpatterns as proving
from repairs.api.purchases import PurchaseViewSet
from repairs.api.reservations import ReservationViewSet
from repairs.api.search import CodesView, SearchView
from repairs.api.substitutions import SubstitutionViewSet
from repairs.api.trials import TrialViewSet
from repairs.api.wanted import LotWanted
from repairs.api.webhooks import WebhookDeliveryViewSet, WebhookTestView, WebhookViewSet

router = SimpleRouter()
router.register("jobs", JobViewSet, "job")
router.register("needs", NeedViewSet, "need")
router.register("reservations", ReservationViewSet, "reservation")
router.register("asks", PieceAskViewSet, "pieceask")
router.register("movements", MovementViewSet, "movement")
router.register("purchases", PurchaseViewSet, "purchase")
router.register("loans", LoanViewSet, "loan")
router.register("trials", TrialViewSet, "trial")
router.register("substitutions", SubstitutionViewSet, "substitution")
router.register("webhooks", WebhookViewSet, "webhook")
router.register("webhook-deliveries", WebhookDeliveryViewSet, "webhookdelivery")

urlpatterns = [
    *router.urls,
    *proving,
    re_path(r"^lots/(?P<pk>[0-9]{1,18})/wanted/\Z", LotWanted.as_view(), name="lot-wanted"),
    re_path(r"^jobs/(?P<pk>[0-9]{1,18})/transfer/\Z", JobTransfer.as_view(), name="job-transfer"),
    re_path(r"^needs/(?P<pk>[0-9]{1,18})/why/\Z", NeedWhy.as_view(), name="need-why"),
    path("designs/file/", DesignFilesView.as_view(), name="design-files"),
    re_path(r"^designs/file/(?P<pk>[0-9]{1,18})/undo/\Z", DesignFileUndo.as_view(), name="design-file-undo"),
    re_path(r"^designs/(?P<pk>[0-9]{1,18})/file/\Z", DesignFileView.as_view(), name="design-file"),
    re_path(r"^designs/(?P<pk>[0-9]{1,18})/credits/\Z", DesignCreditsView.as_view(), name="design-credits"),
    re_path(r"^schemas/(?P<name>[a-z-]{1,40})\.json\Z", SchemaView.as_view(), name="schema"),
    path("calendar/", CalendarView.as_view(), name="calendar-api"),
    path("spare/", SpareView.as_view(), name="spare"),
    path("spare/file/", SpareFileView.as_view(), name="spare-file"),
    path("friends/", FriendsView.as_view(), name="friends"),
    path("friends/key/", FriendsKeyView.as_view(), name="friends-key"),
    path(
        "friends/asks/",
        FriendAskViewSet.as_view({"get": "list", "post": "create"}, basename="friendask"),
        name="friendask-list",
    ),
    re_path(
        r"^friends/asks/(?P<pk>[0-9]{1,18})/\Z",
        FriendAskViewSet.as_view({"get": "retrieve", "post": "move"}, basename="friendask"),
        name="friendask-detail",
    ),
    re_path(r"^friends/(?P<pk>[0-9]{1,18})/\Z", FriendView.as_view(), name="friend"),
    re_path(r"^friends/(?P<pk>[0-9]{1,18})/gifts/\Z", FriendGiftsView.as_view(), name="friend-gifts"),
    re_path(r"^friends/(?P<pk>[0-9]{1,18})/list/\Z", FriendListView.as_view(), name="friend-list"),
    path("evidence/", EvidenceView.as_view(), name="evidence-api"),
    path("evidence/file/", EvidenceFileView.as_view(), name="evidence-file-api"),
    re_path(r"^evidence/(?P<pk>[0-9]{1,18})/\Z", EvidenceTakenView.as_view(), name="evidence-taken-api"),
    re_path(r"^webhooks/(?P<pk>[0-9]{1,18})/test/\Z", WebhookTestView.as_view(), name="webhook-test"),
    path("lately/", LatelyView.as_view(), name="lately-api"),
    path("figures/", FiguresView.as_view(), name="figures"),
    path("health/", HealthView.as_view(), name="health"),
    path("metrics/", MetricsView.as_view(), name="metrics"),
    path("boards/harvest/", HarvestView.as_view(), name="harvest"),
    re_path(r"^needs/(?P<pk>[0-9]{1,18})/made-up/\Z", NeedMadeUp.as_view(), name="need-made-up"),
    path("made-up/", MadeUpView.as_view(), name="made-up"),
    path("buy/", BuyView.as_view(), name="buy"),
    path("buy/order/", BuyOrder.as_view(), name="buy-order"),
    path("search/picture/", CodesView.as_view(), name="search-picture"),
    path("search/", SearchView.as_view(), name="search"),
    path("shortages/", ShortagesView.as_view(), name="shortages"),
]
