"""Rails, banks, links and hazards of a design are written on a page."""

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.design_facts import PROPERTIES
from inventory.models import Design
from tests.factories import DesignFactory, spec

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


@pytest.fixture
def design(db: None) -> Design:
    refs = ("IC1", "IC10", "IC11", "IC12", "IC13")
    made: Design = DesignFactory(positions={ref: spec("ic", None) for ref in refs})
    return made


def keep(client: Client, design: Design, sort: str, **sent: Any) -> tuple[int, str]:
    answer = client.post(reverse("facts", args=[design.pk]), {"sort": sort, **sent}, follow=True)
    design.refresh_from_db()
    return answer.status_code, answer.content.decode()


def test_a_rail_gets_the_usual_limits_where_none_are_given(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    keep(client, design, "rails", at=0, name="+5V", nominal="5", where="IC1 pin 7", protects="IC10, IC11")
    keep(client, design, "rails", at=1, name="-5V", nominal="-5")
    # TTL data books: 4.75 to 5.25 V for a 5 V supply.
    assert [(rail["name"], rail["low"], rail["high"]) for rail in design.rails] == [
        ("+5V", "4.75", "5.25"), ("-5V", "-5.25", "-4.75"),
    ]  # fmt: skip
    assert design.rails[0]["protects"] == ["IC10", "IC11"]
    send(client, design, drawn(client, design, "rails", 0), what="remove")
    assert [rail["name"] for rail in design.rails] == ["-5V"]


def test_a_bank_has_its_map_a_line_a_span(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    bank = {"name": "RAM", "refs": "IC12-IC13", "equal": ["number", "make"], "counts": "2"}
    keep(client, design, "banks", at=0, map="0000-03ff D0-D3 IC12, D4-D7 IC13", **bank)
    assert design.banks[0]["map"] == [
        {"start": "0000", "end": "03FF", "bits": {"D0-D3": "IC12", "D4-D7": "IC13"}}
    ]
    status, page = keep(client, design, "banks", at=0, map="0000 to 03FF", **bank)
    assert status == 400
    assert "a span is written" in page
    assert "0000 to 03FF" in page, "what was typed stands there"
    status, _page = keep(client, design, "banks", at=0, map="03FF-0000 D0-D3 IC12", **bank)
    assert status == 400, "a span that runs backwards is refused at the door"


def test_a_link_has_a_rule_a_row(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    keep(
        client, design, "links", at=0, name="LK1", purpose="EPROM pin 21", settings="1-2, 2-3",
        rule_setting=["1-2", "2-3", ""], rule_where=["IC10", "IC10", ""], rule_number=["2716", "2716", ""],
        rule_make=["Texas Instruments", "Intel, NEC", ""], rule_suffix=["", "", ""],
        rule_half=["", "", ""], rule_count=["", "", ""], rule_note=["three rails", "", ""],
    )  # fmt: skip
    assert [(rule["setting"], rule["when"]) for rule in design.links[0]["rules"]] == [
        ("1-2", {"ref": "IC10", "number": "2716", "make": "Texas Instruments"}),
        ("2-3", {"ref": "IC10", "number": "2716", "make": ["Intel", "NEC"]}),
    ]
    page = client.get(reverse("facts", args=[design.pk])).content.decode()
    assert 'value="Intel, NEC"' in page
    status, _page = keep(
        client, design, "links", at=0, name="LK1", settings="1-2", rule_setting=["3-4"],
        rule_where=["IC10"], rule_number=["2716"], rule_make=[""], rule_suffix=[""], rule_half=[""],
        rule_count=[""], rule_note=[""],
    )  # fmt: skip
    assert status == 400, "a rule asks for a setting that the link has"
    assert design.links[0]["settings"] == ["1-2", "2-3"]


def test_what_cannot_be_read_of_a_rule_stands_there_as_it_was_typed(design: Design, sign_in: Enter) -> None:
    rules = {f"rule_{name}": ["", ""] for name in (*PROPERTIES, "note")}
    rules |= {"rule_setting": ["3-4", "2-3"], "rule_where": ["IC10", "bank"], "rule_count": ["a few", ""]}
    status, page = keep(
        sign_in("bench"), design, "links", at=0, name="J1", settings="2-3, 3-4", purpose="which half", **rules
    )
    assert status == 400
    assert "a few: how many is written as 8, or 8, 16" in page
    for typed in ("3-4", "2-3", "IC10", "bank", "a few"):
        assert f'value="{typed}"' in page, typed
    assert design.links == []


def test_how_many_of_a_bank_is_not_dropped_where_it_is_no_number(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    bank = {"name": "RAM", "refs": "IC12-IC13", "at": 0}
    status, page = keep(client, design, "banks", counts="two", **bank)
    assert (status, design.banks) == (400, [])
    assert 'value="two"' in page
    keep(client, design, "banks", counts="1, 2", **bank)
    assert design.banks[0]["counts"] == [1, 2]


def test_hazards_are_ticked_and_a_viewer_changes_nothing(design: Design, sign_in: Enter) -> None:
    keep(sign_in("bench"), design, "hazards", hazard=["mains", "nonsense"])
    assert design.hazards == ["mains"]
    assert keep(sign_in("viewer"), design, "hazards")[0] == 403


def test_two_new_rails_in_two_tabs_are_both_kept(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    one, other = drawn(client, design, "rails", 0), drawn(client, design, "rails", 0)
    send(client, design, one, name="5V", nominal="5", ohms_low="40")
    send(client, design, other, name="12V", nominal="12")
    assert [(rail["name"], rail.get("ohms_low")) for rail in design.rails] == [("5V", "40"), ("12V", None)]


def three_rails(client: Client, design: Design) -> None:
    for volts in ("5", "12", "-12"):
        keep(client, design, "rails", seen="new", name=f"{volts}V", nominal=volts, ohms_low="40")


def test_two_tabs_on_the_rails_never_write_over_each_other(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    three_rails(client, design)
    five, twelve = drawn(client, design, "rails", 0), drawn(client, design, "rails", 1)
    send(client, design, five, what="remove")
    status, page = send(client, design, twelve, low="11", high="13")
    assert status == 200, page
    assert [(rail["name"], rail["low"]) for rail in design.rails] == [("12V", "11"), ("-12V", "-12.6")]


def test_what_another_tab_changed_is_kept_beside_what_this_one_changes(
    design: Design, sign_in: Enter
) -> None:
    client = sign_in("bench")
    three_rails(client, design)
    one, other = drawn(client, design, "rails", 1), drawn(client, design, "rails", 1)
    send(client, design, one, low="11", ohms_low="55", note="F1")
    status, page = send(client, design, other, low="10", where="IC1 pin 8")
    assert status == 400
    assert "12V was changed since you opened it. Now Lowest: 11. Save again if yours is right." in page
    again = drawn_in(page, "rails", 1)
    assert again["low"] == ["10"], "what was typed"
    status, _page = send(client, design, again)
    rail = design.rails[1]
    assert (status, rail["low"], rail["at"]) == (200, "10", "IC1 pin 8")
    assert (rail["ohms_low"], rail["note"]) == ("55", "F1"), "what the other wrote"


def test_what_is_emptied_is_gone(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    three_rails(client, design)
    send(client, design, drawn(client, design, "rails", 0), ohms_low="")
    assert "ohms_low" not in design.rails[0]


def test_a_rail_that_was_taken_out_meanwhile_is_added_again_and_no_other_lost(
    design: Design, sign_in: Enter
) -> None:
    client = sign_in("bench")
    three_rails(client, design)
    twelve = drawn(client, design, "rails", 1)
    send(client, design, drawn(client, design, "rails", 1), what="remove")
    status, page = send(client, design, twelve, note="pin 7")
    assert status == 400
    assert "12V was taken out or named otherwise since you opened it" in page
    assert drawn_in(page, "rails", 1)["name"] == ["-12V"], "the one in its place is left alone"
    send(client, design, drawn_in(page, "rails", 2))
    assert [rail["name"] for rail in design.rails] == ["5V", "-12V", "12V"]
    assert design.rails[2]["note"] == "pin 7"


def test_a_rail_is_not_taken_out_that_was_changed_meanwhile(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    three_rails(client, design)
    before = drawn(client, design, "rails", 1)
    send(client, design, drawn(client, design, "rails", 1), high="13")
    status, page = send(client, design, before, what="remove")
    assert (status, len(design.rails)) == (400, 3)
    assert "Now Highest: 13. Take it out again if that is right." in page
    send(client, design, drawn_in(page, "rails", 1), what="remove")
    assert [rail["name"] for rail in design.rails] == ["5V", "-12V"]


def test_rules_and_banks_say_what_was_changed_by_their_labels(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    keep(client, design, "banks", seen="new", name="RAM", refs="IC12, IC13", counts="1", equal=["number"])
    bank = drawn(client, design, "banks", 0)
    send(client, design, drawn(client, design, "banks", 0), counts="1, 2", equal=["number", "make"])
    _status, page = send(client, design, bank, counts="2", equal=[])
    assert "Now How many may be fitted: 1, 2; All alike in: number, make." in page

    rule = {f"rule_{name}": [""] for name in (*PROPERTIES, "count", "note")}
    rule |= {"rule_setting": ["1-2"], "rule_where": ["IC10"], "rule_number": ["2716"]}
    keep(client, design, "links", seen="new", name="LK1", settings="1-2, 2-3", **rule)
    link = drawn(client, design, "links", 0)
    assert link["rule_number"] == ["2716", ""]
    send(client, design, drawn(client, design, "links", 0), rule_make=["NEC", ""])
    _status, page = send(client, design, link, rule_make=["Intel", ""])
    assert "Now Rules: 1-2 IC10 2716 NEC." in page


def test_a_refused_field_is_called_as_on_the_page(design: Design, sign_in: Enter) -> None:
    _status, page = keep(
        sign_in("bench"), design, "rails", seen="new", name="+5V", nominal="5", low="six", high="7"
    )
    assert "+5V, Lowest: " in page
    assert "rails 0 low" not in page


def test_two_tabs_on_the_hazards_both_count(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    keep(client, design, "hazards", hazard=["lithium"])
    first = drawn(client, design, "hazards")
    second = drawn(client, design, "hazards")
    send(client, design, first, hazard=["mains", "lithium"])
    send(client, design, second, hazard=["crt"])
    assert design.hazards == ["mains", "crt"], "lithium was taken off by the second alone"


def drawn(client: Client, design: Design, sort: str, at: int | None = None) -> dict[str, list[str]]:
    return drawn_in(client.get(reverse("facts", args=[design.pk])).content.decode(), sort, at)


def drawn_in(page: str, sort: str, at: int | None = None) -> dict[str, list[str]]:
    """What a browser sends of the form of an entry where nobody touches it."""
    for form in re.findall(r"<form method=\"post\">.*?</form>", page, re.DOTALL):
        sent: dict[str, list[str]] = {}
        for tag in re.findall(r"<input [^>]*>", form):
            if 'type="checkbox"' not in tag or " checked" in tag:
                name, value = (re.search(rf' {each}="([^"]*)"', tag) for each in ("name", "value"))
                sent.setdefault(name[1] if name else "", []).append(unescape(value[1]) if value else "")
        for name, text in re.findall(r'<textarea name="(\w+)"[^>]*>([^<]*)', form):
            sent[name] = [unescape(text)]
        if sent["sort"] == [sort] and (at is None or sent["at"] == [str(at)]):
            return sent
    raise AssertionError(f"no form of {sort} {at}")


def send(client: Client, design: Design, form: dict[str, list[str]], **typed: Any) -> tuple[int, str]:
    sent = {name: value for name, value in (form | typed).items() if name != "csrfmiddlewaretoken"}
    return keep(client, design, sent.pop("sort")[0], **sent)
