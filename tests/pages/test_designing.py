"""Designs are made by paste, seen and changed on pages; what is typed is never dropped."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory import designing
from inventory.models import Design
from tests.factories import BoardFactory, DesignFactory, spec

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]

# Eighteen positions of a small amplifier of our own invention, as people write parts lists.
PASTE = """R1, R3 47k 5% 0.25W
R2 1M
R4-R6 4k7 5% 1/4W axial
R7 100R 5W
C1 100n 275V X2
C2, C3 10uF 16V radial
C4 22p
C5 470u 25V axial
Q1, Q2 BC547B
D1, D2 1N4148
IC1 LM386
"""


def new(client: Client, **sent: object) -> tuple[int, str]:
    answer = client.post(reverse("new-design"), {"name": "Curlew amp", "revision": "A", **sent}, follow=True)
    return answer.status_code, answer.content.decode()


def test_a_pasted_list_becomes_a_design(sign_in: Enter) -> None:
    client = sign_in("bench")
    _status, page = new(client, text=PASTE, what="read")
    assert "<strong>17 positions</strong>" in page
    assert not Design.objects.exists(), "reading keeps nothing"
    new(client, text=PASTE, what="keep")
    design = Design.objects.get(name="Curlew amp", revision="A")
    asked = {row.ref: row.spec.text for row in design.positions.select_related("spec")}
    assert len(asked) == 17
    assert (asked["R3"], asked["R5"]) == ("47k 5 % 0.25 W resistor", "4k7 5 % 0.25 W resistor, axial")
    assert (asked["R7"], asked["C1"]) == ("100R 5 W resistor", "100n 275 V X2 capacitor")
    assert (
        f'href="{reverse("positions", args=[design.pk])}"' in client.get(reverse("designs")).content.decode()
    )


def test_a_word_that_is_not_understood_is_shown_and_kept_as_a_note(sign_in: Enter) -> None:
    client = sign_in("bench")
    _status, page = new(client, text="R1 47k wobbly", what="read")
    assert "<mark>wobbly</mark>" in page
    new(client, text="R1 47k wobbly", what="keep")
    assert Design.objects.get().positions.get().note == "wobbly"


def test_a_design_without_a_name_is_not_kept(sign_in: Enter) -> None:
    _status, page = new(sign_in("bench"), name=" ", text="R1 47k", what="keep")
    assert "Give the design a name." in page
    assert "R1 47k" in page
    assert not Design.objects.exists()


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("47k 5%", "names no reference"),
        ("IC9 mystery", "which part"),
        ("R1 10k", "R1 exists already"),
    ],
)
def test_a_line_that_cannot_stand_is_named_and_nothing_is_kept(sign_in: Enter, line: str, why: str) -> None:
    status, page = new(sign_in("bench"), text=f"R1 47k\n{line}", what="keep")
    assert status == 400
    assert why in page
    assert f'value="{line}"' in page, "what was typed stands there to be corrected"
    assert not Design.objects.exists()


def test_corrected_lines_are_kept_and_a_taken_name_is_refused(sign_in: Enter) -> None:
    client = sign_in("bench")
    new(client, line=["R1 47k", "R2 22k"], what="keep")
    assert Design.objects.get().positions.count() == 2
    status, page = new(client, line=["R1 10k"], what="keep")
    assert status == 400
    assert "already" in page


def amp() -> Design:
    made: Design = DesignFactory(
        name="Curlew amp",
        revision="A",
        positions={ref: spec("resistor", "4k7") for ref in ("R1", "R2", "R10")},
    )
    return made


def change(client: Client, design: Design, **sent: object) -> tuple[int, str]:
    answer = client.post(reverse("positions", args=[design.pk]), sent, follow=True)
    return answer.status_code, answer.content.decode()


def test_a_position_is_corrected_where_it_is_seen(sign_in: Enter) -> None:
    client, design = sign_in("bench"), amp()
    change(client, design, what="change", ref="R2", line="5k6 1% 0.25W", note="close to Q1", socketed="1")
    row = design.positions.select_related("spec").get(ref="R2")
    assert (row.spec.text, row.note, row.socketed) == ("5k6 1 % 0.25 W resistor", "close to Q1", True)
    status, page = change(client, design, what="change", ref="R2", line="5k6 flimsy")
    assert status == 400
    assert "flimsy" in page
    design.refresh_from_db()
    assert design.version > 1


def test_positions_are_added_and_taken_out_but_not_while_a_rail_names_one(sign_in: Enter) -> None:
    client, design = sign_in("bench"), amp()
    change(client, design, what="add", text="C1 100n 63V\nR11 1k")
    assert set(design.positions.values_list("ref", flat=True)) == {"R1", "R2", "R10", "C1", "R11"}
    change(client, design, what="remove", ref="R11")
    assert not design.positions.filter(ref="R11").exists()
    Design.objects.filter(pk=design.pk).update(rails=[{"name": "+5V", "volts": "5", "protects": ["C1"]}])
    status, _page = change(client, design, what="remove", ref="C1")
    assert status == 400
    assert design.positions.filter(ref="C1").exists()


def test_a_design_is_copied_to_a_later_revision(sign_in: Enter) -> None:
    client, design = sign_in("bench"), amp()
    BoardFactory(design=design)
    client.post(reverse("copy-design", args=[design.pk]), {"revision": "B"})
    later = Design.objects.get(name="Curlew amp", revision="B")
    assert set(later.positions.values_list("ref", "spec")) == set(design.positions.values_list("ref", "spec"))
    assert not later.boards.exists()
    client.post(reverse("copy-design", args=[design.pk]), {"revision": "B"})
    assert Design.objects.count() == 2


def test_a_viewer_sees_designs_and_changes_none(sign_in: Enter) -> None:
    viewer, design = sign_in("viewer"), amp()
    assert "R10" in viewer.get(reverse("positions", args=[design.pk])).content.decode()
    assert (
        viewer.post(reverse("positions", args=[design.pk]), {"what": "remove", "ref": "R1"}).status_code
        == 403
    )
    assert viewer.post(reverse("new-design"), {"text": PASTE}).status_code == 403


@pytest.mark.parametrize(
    ("line", "text", "socketed"),
    [
        ("IC2 555 socket", "555 timer IC", True),
        ("IC2 555, in a socket", "555 timer IC", True),
        ("IC2 555 socketed", "555 timer IC", True),
        ("IC2 555, socketed, DIP-8", "555 timer IC, DIP-8", True),
        ("IC2 555", "555 timer IC", False),
        ("F1 1A 250V slow", "1 A 250 V slow fuse", False),
    ],
)
def test_a_line_says_what_is_in_a_socket_and_a_fuse_goes_by_its_amps(
    line: str, text: str, socketed: bool
) -> None:
    [read] = designing.read_positions(line)
    assert (read.spec and read.spec.text, read.socketed, read.note, read.wrong) == (text, socketed, "", "")


def test_a_chip_is_in_a_socket_also_where_a_word_behind_it_is_not_understood() -> None:
    """Taken for soldered, it would stay in while the rails are measured."""
    [read] = designing.read_positions("IC2 555 DIP-8 socketed flux")
    assert (read.socketed, read.note) == (True, "flux")


def test_what_is_understood_beside_the_part_and_why_a_word_is_not_are_shown(sign_in: Enter) -> None:
    sent = {"name": "Wren", "text": "C1 46u 0.4R\nD1 LED red 5mm\nC2 100n 63V 100V", "what": "read"}
    page = sign_in("bench").post(reverse("new-design"), sent).content.decode()
    assert "0.4 Ω" in page
    assert "red LED, 5 mm" in page
    assert "the line has said volts 63 already" in page


def a_design(client: Client) -> Design:
    new(client, text="R1 47k 5%\nLED1 red LED 5mm\nSW1 SPDT toggle switch", what="keep")
    return Design.objects.get()


def save(
    client: Client, design: Design, ref: str, seen: tuple[str, str, str], **sent: str
) -> tuple[int, str]:
    as_seen = dict(zip(("line", "note", "socketed"), seen, strict=True))
    typed = {name: text for name, text in {**as_seen, **sent}.items() if name != "socketed" or text}
    answer = client.post(
        reverse("positions", args=[design.pk]),
        {"what": "change", "ref": ref, "seen": seen, **typed}, follow=True,
    )  # fmt: skip
    return answer.status_code, answer.content.decode()


def test_two_tabs_on_one_position_lose_nothing(sign_in: Enter) -> None:
    client = sign_in("bench")
    design = a_design(client)
    drawn = ("47k 5 % resistor", "", "")
    save(client, design, "R1", drawn, line="4k7 5% resistor")
    status, page = save(client, design, "R1", drawn, note="next to the fuse")
    row = design.positions.get(ref="R1")
    assert (status, row.spec.text, row.note) == (200, "4k7 5 % resistor", "next to the fuse")

    status, page = save(client, design, "R1", drawn, line="470k 5%", note="hot")
    assert status == 400
    assert "R1 was changed since you opened it: 4k7 5 % resistor, note: next to the fuse." in page
    assert 'value="470k 5%"' in page
    assert 'value="hot"' in page
    assert design.positions.get(ref="R1").spec.text == "4k7 5 % resistor"
    save(client, design, "R1", ("4k7 5 % resistor", "next to the fuse", ""), line="470k 5%", note="hot")
    assert design.positions.get(ref="R1").spec.text == "470k 5 % resistor"


def test_a_position_that_somebody_rewrote_is_not_taken_out_unseen(sign_in: Enter) -> None:
    client = sign_in("bench")
    design = a_design(client)
    drawn = ("47k 5 % resistor", "", "")
    save(client, design, "R1", drawn, line="4k7 5% resistor")
    status, page = save(client, design, "R1", drawn, what="remove")
    assert status == 400
    assert "R1 was changed since you opened it: 4k7 5 % resistor." in page
    assert design.positions.filter(ref="R1").exists()
    save(client, design, "R1", ("4k7 5 % resistor", "", ""), what="remove")
    assert not design.positions.filter(ref="R1").exists()


def test_two_who_correct_to_the_same_are_not_at_odds(sign_in: Enter) -> None:
    client = sign_in("bench")
    design = a_design(client)
    for _tab in range(2):
        status, _page = save(client, design, "R1", ("47k 5 % resistor", "", ""), socketed="1")
        assert status == 200
    assert design.positions.get(ref="R1").socketed


def test_what_a_line_does_not_show_outlives_its_correction(sign_in: Enter) -> None:
    client = sign_in("bench")
    new(client, text="C1 46u 0.4R", what="keep")
    design = Design.objects.get()
    assert design.positions.get().spec.text == "46µ capacitor"
    save(client, design, "C1", ("46µ capacitor", "", ""), line="47µ capacitor")
    spec = design.positions.get().spec.spec
    assert (spec.text, spec.traits["esr_ohm"]) == ("47µ capacitor", "0.4")
    save(client, design, "C1", ("47µ capacitor", "", ""), line="2N3055")
    assert "esr_ohm" not in design.positions.get().spec.spec.traits


def test_the_series_resistance_that_was_typed_is_seen_at_the_position(sign_in: Enter) -> None:
    client = sign_in("bench")
    new(client, text="C1 46u 0.4R\nC2 22u", what="keep")
    page = client.get(reverse("positions", args=[Design.objects.get().pk])).content.decode()
    assert "46µ capacitor, ESR at most 0.4 Ω" in page
    assert page.count("ESR") == 1
