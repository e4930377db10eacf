import gc

from django.apps import AppConfig


class RepairsConfig(AppConfig):
    name = "repairs"

    def ready(self) -> None:
        # A plan makes some hundred thousand small objects that all live until it is answered.  At the
        # default threshold of 700 the collector walks them again and again: 40 % of a large plan's time,
        # and still a tenth at 50,000.
        gc.set_threshold(200_000, 5, 5)

        from inventory.ownership import BEFORE_LOTS_CHANGE_HANDS, HANDED_OVER_TOO, LOCKED_BEFORE_LOTS
        from inventory.pictures.photos import SUBJECTS
        from repairs import changes, consent, exports, markings, purchases
        from repairs.models import Job, Trial
        from repairs.proving_models import BenchEntry, Confirmation

        changes.offer()
        exports.offer()
        markings.offer()
        LOCKED_BEFORE_LOTS.append(consent.lock_what_uses)
        BEFORE_LOTS_CHANGE_HANDS.append(consent.before_lots_change_hands)
        HANDED_OVER_TOO.append(purchases.hand_over)
        SUBJECTS.update(job=Job, trial=Trial, log_entry=BenchEntry, confirmation=Confirmation)
