"""Addresses of the pages about things: drawers, lots, spreadsheets, people."""

from django.urls import path

from inventory.pages import adding, drawers, people, printing, sheets, workshop

urlpatterns = [
    path("drawers/", drawers.drawers, name="drawers"),
    path("drawers/add/", adding.add_many, name="add-many"),
    path("drawers/new/", drawers.make_place, name="make-place"),
    path("lots/<int:pk>/", drawers.lot, name="lot"),
    path("print/", printing.labels, name="print"),
    path("sheets/", sheets.sheets, name="sheets"),
    path("sheets/land/", sheets.let_land, name="land-sheet"),
    path("sheets/throw-away/", sheets.throw_away, name="throw-sheet-away"),
    path("sheets/progress/", sheets.progress, name="sheet-progress"),
    path("settings/", workshop.settings, name="bench-settings"),
    path("people/", people.people, name="people"),
    path("people/<int:pk>/", people.person, name="person"),
    path("password/", people.own_password, name="own-password"),
    path("keys/", people.keys, name="keys"),
    path("keys/<int:pk>/revoke/", people.revoke, name="revoke-key"),
]
