"""Passwords that are long enough and yet guessed at once are refused."""

import unicodedata
from typing import Any

from django.core.exceptions import ValidationError

MIN_LENGTH = 8
MIN_DIFFERENT = 5


class NotGuessedAtOnce:
    """For AUTH_PASSWORD_VALIDATORS: characters that differ, and enough besides the person's own name."""

    def validate(self, password: str, user: Any = None) -> None:
        bare = unicodedata.normalize("NFKC", password).strip().casefold()
        name = str(getattr(user, "username", "") or "").casefold()
        if len(bare) < MIN_LENGTH or len(set(bare)) < MIN_DIFFERENT:
            raise ValidationError(f"It has too few different characters: expected at least {MIN_DIFFERENT}.")
        if len(name) > 2 and name in bare and len(bare.replace(name, "")) < MIN_LENGTH:
            raise ValidationError("It is little more than the name that goes with it.")

    def get_help_text(self) -> str:
        return "Not your name with a digit, and not one character over and over."
