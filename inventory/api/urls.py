"""The inventory's part of the API; `config.urls` puts it beside that of the repairs."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from inventory.api.boards import BoardViewSet
from inventory.api.designs import DesignViewSet
from inventory.api.exports import export_urls
from inventory.api.imports import ImportView
from inventory.api.lots import LotViewSet
from inventory.api.parts import PartViewSet
from inventory.api.places import PlaceViewSet

router = SimpleRouter()
router.register("parts", PartViewSet, "part")
router.register("places", PlaceViewSet, "place")
router.register("lots", LotViewSet, "lot")
router.register("designs", DesignViewSet, "design")
router.register("boards", BoardViewSet, "board")

urlpatterns = [*router.urls, path("imports/", ImportView.as_view(), name="imports"), *export_urls()]
