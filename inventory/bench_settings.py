"""What is set once for the whole bench: its name, the era that parts are of, label sheets, its address."""

from inventory.models import BenchSettings

ONLY = 1


def settings_of_bench() -> BenchSettings:
    """The one row; as it is before anybody set anything where there is none."""
    return BenchSettings.objects.filter(pk=ONLY).first() or BenchSettings(pk=ONLY)


def set_bench(*, name: str, era: str, labels: str, address: str) -> BenchSettings:
    """Set all of it; who set what before is not kept."""
    said = {"name": name, "era": era, "labels": labels, "address": address}
    row, _made = BenchSettings.objects.update_or_create(pk=ONLY, defaults=said)
    return row
