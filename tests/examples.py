"""How far tests look that draw at random: as each change deserves, or with LONG=1 as before a release."""

import os


def examples(usual: int, long: int) -> int:
    """So many to look at; where a number seeds chance, those of a usual run are the first of a long one."""
    return long if os.environ.get("LONG") == "1" else usual
