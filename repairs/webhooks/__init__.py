"""Telling programs what happens: `events` writes it down, `posting` sends one, `sending` what is due."""
