"""The repairs' part of the API; `config.urls` puts it beside that of the inventory."""

from django.urls import path, re_path
from rest_framework.routers import SimpleRouter

from repairs.api.buy import BuyOrder, BuyView
from repairs.api.harvest import HarvestView
from repairs.api.jobs import JobViewSet
from repairs.api.loans import LoanViewSet
from repairs.api.made_up import MadeUpView, NeedMadeUp
from repairs.api.movements import MovementViewSet
from repairs.api.needs import NeedViewSet
from repairs.api.proving_urls import urlpatterns as proving
from repairs.api.purchases import PurchaseViewSet
from repairs.api.reservations import ReservationViewSet
from repairs.api.shortages import Shortages
from repairs.api.substitutions import SubstitutionViewSet
from repairs.api.transfer import JobTransfer
from repairs.api.trials import TrialViewSet
from repairs.api.wanted import LotWanted
from repairs.api.why import NeedWhy

router = SimpleRouter()
router.register("jobs", JobViewSet, "job")
router.register("needs", NeedViewSet, "need")
router.register("reservations", ReservationViewSet, "reservation")
router.register("movements", MovementViewSet, "movement")
router.register("purchases", PurchaseViewSet, "purchase")
router.register("loans", LoanViewSet, "loan")
router.register("trials", TrialViewSet, "trial")
router.register("substitutions", SubstitutionViewSet, "substitution")

urlpatterns = [
    *router.urls,
    *proving,
    re_path(r"^lots/(?P<pk>[0-9]{1,18})/wanted/\Z", LotWanted.as_view(), name="lot-wanted"),
    re_path(r"^jobs/(?P<pk>[0-9]{1,18})/transfer/\Z", JobTransfer.as_view(), name="job-transfer"),
    re_path(r"^needs/(?P<pk>[0-9]{1,18})/why/\Z", NeedWhy.as_view(), name="need-why"),
    path("boards/harvest/", HarvestView.as_view(), name="harvest"),
    re_path(r"^needs/(?P<pk>[0-9]{1,18})/made-up/\Z", NeedMadeUp.as_view(), name="need-made-up"),
    path("made-up/", MadeUpView.as_view(), name="made-up"),
    path("buy/", BuyView.as_view(), name="buy"),
    path("buy/order/", BuyOrder.as_view(), name="buy-order"),
    path("shortages/", Shortages.as_view(), name="shortages"),
]
