"""The repairs' part of the API; `config.urls` puts it beside that of the inventory."""

from django.urls import path, re_path
from rest_framework.routers import SimpleRouter

from repairs.api.jobs import JobViewSet
from repairs.api.loans import LoanViewSet
from repairs.api.movements import MovementViewSet
from repairs.api.needs import NeedViewSet
from repairs.api.proving_urls import urlpatterns as proving
from repairs.api.purchases import PurchaseViewSet
from repairs.api.reservations import ReservationViewSet
from repairs.api.shortages import Shortages
from repairs.api.trials import TrialViewSet
from repairs.api.wanted import LotWanted

router = SimpleRouter()
router.register("jobs", JobViewSet, "job")
router.register("needs", NeedViewSet, "need")
router.register("reservations", ReservationViewSet, "reservation")
router.register("movements", MovementViewSet, "movement")
router.register("purchases", PurchaseViewSet, "purchase")
router.register("loans", LoanViewSet, "loan")
router.register("trials", TrialViewSet, "trial")

urlpatterns = [
    *router.urls,
    *proving,
    re_path(r"^lots/(?P<pk>[0-9]{1,18})/wanted/\Z", LotWanted.as_view(), name="lot-wanted"),
    path("shortages/", Shortages.as_view(), name="shortages"),
]
