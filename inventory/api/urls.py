"""The inventory's part of the API; `config.urls` puts it beside that of the repairs."""

from django.urls import path, re_path
from rest_framework.routers import SimpleRouter

from inventory.api.appearance import AppearanceView, Drawing
from inventory.api.attachments import AttachmentFile, AttachmentViewSet
from inventory.api.backups import BackupsView, BackupView
from inventory.api.boards import BoardViewSet
from inventory.api.decode import Decode, Schemes
from inventory.api.designs import DesignViewSet
from inventory.api.exports import export_urls
from inventory.api.imports import ImportView
from inventory.api.labels import LabelsView
from inventory.api.lots import LotViewSet
from inventory.api.parts import PartViewSet
from inventory.api.people import AccessChangeViewSet, KeyViewSet, PersonViewSet
from inventory.api.photo_images import Enlarge, EnlargeLight, Image
from inventory.api.photo_readings import Bands, Read
from inventory.api.photos import PhotoViewSet
from inventory.api.places import PlaceViewSet
from inventory.api.settings import SettingsView

router = SimpleRouter()
router.register("parts", PartViewSet, "part")
router.register("places", PlaceViewSet, "place")
router.register("lots", LotViewSet, "lot")
router.register("designs", DesignViewSet, "design")
router.register("boards", BoardViewSet, "board")
router.register("photos", PhotoViewSet, "photo")
router.register("attachments", AttachmentViewSet, "attachment")
router.register("people", PersonViewSet, "person")
router.register("access-changes", AccessChangeViewSet, "access-change")
router.register("keys", KeyViewSet, "key")

_PHOTO = r"^photos/(?P<pk>[0-9]{1,18})"

urlpatterns = [
    *router.urls,
    re_path(rf"{_PHOTO}/image\Z", Image.as_view(), name="photo-image"),
    re_path(rf"{_PHOTO}/enlarge\.png\Z", Enlarge.as_view(), name="photo-enlarge"),
    re_path(rf"{_PHOTO}/enlarge\.jpg\Z", EnlargeLight.as_view(), name="photo-enlarge-light"),
    re_path(rf"{_PHOTO}/read/\Z", Read.as_view(), name="photo-read"),
    re_path(rf"{_PHOTO}/bands/\Z", Bands.as_view(), name="photo-bands"),
    re_path(r"^attachments/(?P<pk>[0-9]{1,18})/file\Z", AttachmentFile.as_view(), name="attachment-file"),
    path("decode/", Decode.as_view(), name="decode"),
    path("decode/schemes/", Schemes.as_view(), name="decode-schemes"),
    path("appearance/", AppearanceView.as_view(), name="appearance"),
    path("appearance.svg", Drawing.as_view(), name="appearance-svg"),
    path("labels.pdf", LabelsView.as_view(), name="labels-pdf"),
    path("settings/", SettingsView.as_view(), name="settings"),
    path("backups/", BackupsView.as_view(), name="backups-api"),
    path("backups/<str:name>/", BackupView.as_view(), name="backup"),
    path("imports/", ImportView.as_view(), name="imports"),
    *export_urls(),
]
