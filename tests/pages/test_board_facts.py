"""Rails, banks, links and hazards of a design are written on a page."""

from collections.abc import Callable
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
    keep(client, design, "rails", at=0, what="remove")
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


def marks(client: Client, design: Design) -> list[str]:
    page = client.get(reverse("facts", args=[design.pk]))
    return [each["mark"] for each in page.context["rails"] if "mark" in each]


def test_two_tabs_on_the_rails_never_write_over_each_other(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    for at, volts in enumerate(("5", "12", "-12")):
        keep(client, design, "rails", at=at, name=f"{volts}V", nominal=volts)
    five, twelve, _minus = marks(client, design)
    keep(client, design, "rails", at=0, seen=five, what="remove")
    keep(client, design, "rails", at=1, seen=twelve, name="12V", nominal="12", low="11", high="13")
    assert [(rail["name"], rail["low"]) for rail in design.rails] == [("12V", "11"), ("-12V", "-12.6")]

    status, page = keep(client, design, "rails", at=0, seen=twelve, name="12V", nominal="12", note="F1")
    assert status == 400
    assert "It was changed since you opened it: name 12V, nominal 12, low 11, high 13." in page
    assert 'value="F1"' in page
    keep(client, design, "rails", at=0, seen=marks(client, design)[0], name="12V", nominal="12", note="F1")
    assert design.rails[0]["note"] == "F1"


def test_a_rail_that_was_taken_out_meanwhile_stands_in_a_new_one(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    keep(client, design, "rails", at=0, name="5V", nominal="5")
    [five] = marks(client, design)
    keep(client, design, "rails", at=0, seen=five, what="remove")
    status, page = keep(client, design, "rails", at=0, seen=five, name="5V", nominal="5", note="pin 7")
    assert status == 400
    assert "taken out since you opened it" in page
    assert 'value="pin 7"' in page
    keep(client, design, "rails", at=0, name="5V", nominal="5", note="pin 7")
    assert [rail["note"] for rail in design.rails] == ["pin 7"]
