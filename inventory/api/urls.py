"""The inventory's part of the API; `config.urls` puts it beside that of the repairs."""

from rest_framework.routers import SimpleRouter

from inventory.api.parts import PartViewSet

router = SimpleRouter()
router.register("parts", PartViewSet, "part")

urlpatterns = router.urls
