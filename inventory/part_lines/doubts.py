"""What is doubtful in a line of parts: a sentence, and what it is about.  Pure."""

from enum import Enum, auto


class About(Enum):
    """What later steps must know a doubt by: they put another in its place, or take it away."""

    NO_UNIT = auto()
    """A figure stands without its unit, and may be of several."""
    ANOTHER_READING = auto()
    """Another reading is nearly as likely."""
    COUNT_OF_REFERENCES = auto()
    """There are more pieces than references, or fewer."""
    UNLISTED_TYPE = auto()
    """The type is in no list known here."""
    ELSE = auto()


class Doubt(str):
    """The sentence itself, as it is shown."""

    about: About

    def __new__(cls, sentence: str, about: About = About.ELSE) -> "Doubt":
        doubt = super().__new__(cls, sentence)
        doubt.about = about
        return doubt
