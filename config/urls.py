"""Every address that Rehome answers."""

from django.contrib.auth.views import LogoutView
from django.urls import URLPattern, URLResolver, include, path, re_path

from inventory.api.addresses import Document, DocumentPage, Index, NoSuchAddress, healthz
from inventory.api.changes import ChangesView
from inventory.api.urls import urlpatterns as inventory
from inventory.pages.entrance import SignIn, first_person, second_step
from inventory.pages.urls import urlpatterns as inventory_pages
from repairs.api.urls import urlpatterns as repairs
from repairs.pages.urls import urlpatterns as repairs_pages

nouns: list[URLPattern | URLResolver] = [*inventory, *repairs]
api: list[URLPattern | URLResolver] = [
    *nouns,
    path("changes/", ChangesView.as_view(patterns=nouns), name="changes"),
    path("openapi.json", Document.as_view(), name="openapi"),
    path("docs/", DocumentPage.as_view(), name="docs"),
    path("", Index.as_view(patterns=nouns), name="index"),
]

handler500 = "inventory.api.addresses.fault"

urlpatterns: list[URLPattern | URLResolver] = [
    path("healthz", healthz),
    path("api/v1/", include(api)),
    re_path("^api/", NoSuchAddress.as_view()),
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-in/code/", second_step, name="sign-in-code"),
    path("first/", first_person, name="first-person"),
    path("sign-out/", LogoutView.as_view(next_page="sign-in"), name="sign-out"),
    *repairs_pages,
    *inventory_pages,
]
