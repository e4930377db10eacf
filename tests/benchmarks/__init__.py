"""Benchmarks: figures beside a floor that the same run measured, and whether the target was kept.

`python -m tests.benchmarks` runs them all.  None fails on a slow day: they print, and end well.
"""

import os


def start_django(home: str | None = None) -> None:
    if home is not None:
        os.environ["REHOME_HOME"] = home
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django

    django.setup()


def verdict(what: str, figure: float, target: float, *, at_least: bool = False, unit: str = "") -> None:
    """Print a figure beside its target: OK or MISSED."""
    kept = figure >= target if at_least else figure <= target
    bound = "at least" if at_least else "at most"
    print(f"{'OK' if kept else 'MISSED':>6}  {what}: {figure:.2f}{unit} (target: {bound} {target:g}{unit})")
