"""What a person changed in a form while somebody else changed the same thing: nothing of either is lost."""

from collections.abc import Collection, Mapping

from django.http import QueryDict


class Meanwhile:
    """A form as it was drawn, as it was sent, and as things are now.

    The form says under `seen`, in the order of `now`, what stood in each of its fields; one that does not
    saw what is there now.  A box that is not ticked is sent as nothing: its field is named in `ticks`.
    """

    def __init__(self, post: QueryDict, now: Mapping[str, str], *, ticks: Collection[str] = ()) -> None:
        seen = post.getlist("seen")
        self.now = now
        self.seen = dict(zip(now, seen, strict=True)) if len(seen) == len(now) else dict(now)
        self._post = post
        self._sent = {name: post.get(name, "") for name in now if name in post or name in ticks}

    @property
    def touched(self) -> set[str]:
        """The fields in which this person wrote something else than they saw."""
        return {name for name, text in self._sent.items() if _differs(text, self.seen[name])}

    @property
    def changed(self) -> list[str]:
        """The fields in which somebody else wrote something since this person opened it, in order."""
        return [name for name, now in self.now.items() if _differs(self.seen[name], now)]

    @property
    def crossed(self) -> list[str]:
        """Those of them in which somebody else wrote something else, in order."""
        return [
            name
            for name in self.now
            if name in self.touched
            and _differs(self.seen[name], self.now[name])
            and _differs(self._sent[name], self.now[name])
        ]

    def to_show_again(self) -> QueryDict:
        """What was typed, and what stands there now in the fields left alone."""
        sent = self._post.copy()
        for name, now in self.now.items():
            if name in self._sent and name not in self.touched:
                sent[name] = now
        return sent


def _differs(one: str, other: str) -> bool:
    return _in_a_box(one) != _in_a_box(other)


def _in_a_box(text: str) -> str:
    """As a box of one line sends it again (HTML Living Standard: newlines are taken out of its value)."""
    return text.replace("\r", "").replace("\n", "").strip()
