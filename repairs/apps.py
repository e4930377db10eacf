import gc

from django.apps import AppConfig


class RepairsConfig(AppConfig):
    name = "repairs"

    def ready(self) -> None:
        # A plan makes some hundred thousand small objects that all live until it is answered.  At the
        # default threshold of 700 the collector walks them again and again: 40 % of a large plan's time.
        gc.set_threshold(50_000, 5, 5)

        from repairs import exports

        exports.offer()
