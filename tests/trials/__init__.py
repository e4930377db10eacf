"""Trials: the bench under attack.  Each is bounded, seeded and printed; run by `python -m tests.trials`."""
