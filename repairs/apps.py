from django.apps import AppConfig


class RepairsConfig(AppConfig):
    name = "repairs"
