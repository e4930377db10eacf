"""A form that was refused, as the person left it: with what was typed, and with the reason over it.

Pure: HTML in, HTML out.  It is done to the finished page, so that no form forgets a box, and needs no script.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from html import escape, unescape
from html.parser import HTMLParser
from urllib.parse import urlsplit

NOT_ITS_NAME = {"csrfmiddlewaretoken", "once", "seen", "next", "version", "watch", "told"}
"""Hidden fields that differ each time a form is drawn; the other ones tell two forms of one address apart."""

SENDS = {"submit", "button", "image", "reset"}
LEFT_ALONE = {"hidden", "password", "file"}
SECRET = {"one-time-code", "current-password", "new-password"}
"""What `autocomplete` says of a box that is never filled again."""


@dataclass
class _Control:
    """A box of a form: where its tag stands, and its inside where that is what it holds."""

    tag: str
    attributes: dict[str, str]
    start: int
    end: int
    inside: int = 0
    options: list["_Control"] = field(default_factory=list)
    around: list["_Control"] = field(default_factory=list)
    """The folds within its form that it lies in."""

    @property
    def type(self) -> str:
        return self.attributes.get("type", "text") if self.tag == "input" else self.tag

    @property
    def name(self) -> str:
        return self.attributes.get("name", "")

    @property
    def is_several(self) -> bool:
        return self.tag == "select" and "multiple" in self.attributes

    @property
    def is_secret(self) -> bool:
        return not SECRET.isdisjoint(self.attributes.get("autocomplete", "").lower().split())


@dataclass
class _Form:
    attributes: dict[str, str]
    end: int
    around: list[_Control]
    """The folds that it lies in."""
    controls: list[_Control] = field(default_factory=list)
    says_why: bool = False

    @property
    def names(self) -> set[str]:
        """Of all that it may send, its buttons too: a form of several on one address is known by them."""
        return {each.name for each in self.controls if each.name}


class _Page(HTMLParser):
    """The forms of a page, and the reason that stands over all of it."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=False)
        self.html = html
        self.forms: list[_Form] = []
        self.main = 0
        self.reason: tuple[int, int] | None = None
        self._lines = [0]
        for line in html.split("\n"):
            self._lines.append(self._lines[-1] + len(line) + 1)
        self._form: _Form | None = None
        self._folds: list[_Control] = []
        self._select: _Control | None = None
        self._text: _Control | None = None
        self._elsewhere: list[_Control] = []
        self._reason_from: int | None = None
        self.feed(html)
        self.close()
        for control in self._elsewhere:
            for form in self.forms:
                if form.attributes.get("id") == control.attributes["form"]:
                    form.controls.append(control)

    def _at(self) -> int:
        line, column = self.getpos()
        return self._lines[line - 1] + column

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        start = self._at()
        attributes = {name: value or "" for name, value in attrs}
        this = _Control(tag, attributes, start, start + len(self.get_starttag_text() or ""))
        if tag == "main":
            self.main = this.end
        elif tag == "details":
            self._folds.append(this)
        elif tag == "form":
            self._form = _Form(attributes, this.end, list(self._folds))
            self.forms.append(self._form)
        elif tag in ("input", "select", "textarea", "button"):
            self._add(this)
        elif tag == "option" and self._select:
            self._select.options.append(this)
        elif tag in ("p", "div") and attributes.get("role") == "alert":
            if self._form:
                self._form.says_why = True
            elif tag == "p" and self.main and not self.reason:
                self._reason_from = start

    def _add(self, this: _Control) -> None:
        if "form" in this.attributes:
            self._elsewhere.append(this)
        elif self._form:
            this.around = self._folds[len(self._form.around) :]
            self._form.controls.append(this)
        if this.tag == "select":
            self._select = this
        elif this.tag == "textarea":
            self._text = this

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "details" and self._folds:
            self._folds.pop()
        elif tag == "select":
            self._select = None
        elif tag == "textarea" and self._text:
            self._text.inside, self._text = self._at(), None
        elif tag == "p" and self._reason_from is not None:
            self.reason, self._reason_from = (self._reason_from, self._at() + len("</p>")), None


def refilled(
    html: str, action: str, typed: Mapping[str, Sequence[str]], why: str = "", *, elsewhere: bool = False
) -> str:
    """The page with `typed` in the form that is sent to `action`, and `why` over it.

    Without `why` it is the reason that the page says of itself; a page without that form, or one
    that is not the form's own (`elsewhere`), says why at its top.
    """
    page = _Page(html)
    edits: list[tuple[int, int, str]] = []
    message = why and f'<p class="refused" role="alert" id="refused">{escape(why)}</p>'
    alike = [] if elsewhere else [each for each in page.forms if _is_it(each, action, typed)]
    form = max(alike, key=lambda each: len(each.names & typed.keys()), default=None)
    if form is None:
        edits = [(page.main, page.main, message)]
    else:
        boxes = _now(form, typed)
        edits += [edit for control, now in boxes for edit in _edit(html, control, now)]
        within = [fold for control, now in boxes if _is_typed(html, control, now) for fold in control.around]
        opened = {fold.end: fold for fold in (*form.around, *within)}.values()
        edits += [(fold.end - 1, fold.end - 1, " open") for fold in opened if "open" not in fold.attributes]
        if page.reason and not message and not form.says_why:
            start, end = page.reason
            message = html[start:end]
            edits.append((start, end, ""))
        edits.append((form.end, form.end, message))
    for start, end, new in sorted(edits, key=lambda edit: -edit[0]):
        html = html[:start] + new + html[end:]
    return html


def _is_it(form: _Form, action: str, typed: Mapping[str, Sequence[str]]) -> bool:
    if form.attributes.get("method", "").lower() != "post":
        return False
    if urlsplit(form.attributes.get("action", "") or action).path != urlsplit(action).path:
        return False
    return all(
        each.attributes.get("value", "") in typed.get(each.name, ())
        for each in form.controls
        if each.type == "hidden" and each.name and each.name not in NOT_ITS_NAME
    )


def _now(form: _Form, typed: Mapping[str, Sequence[str]]) -> list[tuple[_Control, list[str]]]:
    """Each box that was sent with what it held: of several with one name each takes the next, in order."""
    met: dict[str, int] = {}
    now = []
    for control in form.controls:
        sent = typed.get(control.name, ())
        if not control.name or control.type in SENDS:
            continue
        if control.type in ("checkbox", "radio") or control.is_several:
            now.append((control, list(sent)))
            continue
        at = met.get(control.name, 0)
        met[control.name] = at + 1
        if at < len(sent) and control.type not in LEFT_ALONE and not control.is_secret:
            now.append((control, [sent[at]]))
    return now


def _is_typed(html: str, control: _Control, now: list[str]) -> bool:
    """Whether a box holds text of the person's own: a closed fold would send it with every other button."""
    if control.tag == "textarea":
        return now[0].strip() not in ("", unescape(html[control.end : control.inside]).strip())
    if control.tag == "select" or control.type in ("checkbox", "radio"):
        return False
    return now[0] not in ("", unescape(control.attributes.get("value", "")))


def _edit(html: str, control: _Control, now: list[str]) -> list[tuple[int, int, str]]:
    if control.tag == "textarea":
        return [(control.end, control.inside, "\n" + escape(now[0]))]
    if control.tag == "select":
        return [
            _tag(html, option, {"selected": "" if _value(html, option) in now else None})
            for option in control.options
            if control.is_several or any(_value(html, each) in now for each in control.options)
        ]
    if control.type in ("checkbox", "radio"):
        chosen = control.attributes.get("value", "on") in now
        return [_tag(html, control, {"checked": "" if chosen else None})]
    return [_tag(html, control, {"value": now[0]})]


def _value(html: str, option: _Control) -> str:
    text = html[option.end : html.find("<", option.end)]
    return option.attributes.get("value", unescape(text).strip())


def _tag(html: str, control: _Control, changes: Mapping[str, str | None]) -> tuple[int, int, str]:
    attributes: dict[str, str | None] = {**control.attributes, **changes}
    written = "".join(
        f" {name}" + (f'="{escape(value)}"' if value or name == "value" else "")
        for name, value in attributes.items()
        if value is not None
    )
    return control.start, control.end, f"<{control.tag}{written}>"
