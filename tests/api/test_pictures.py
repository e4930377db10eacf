"""What is seen on a photo: enlarged, read as text, and its bands proposed."""

from __future__ import annotations

import io
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageStat

from inventory.models import Photo
from inventory.pictures import printed_text
from inventory.pictures.printed_text import TOO_FEW, WHAT_TO_TRY, Print, PrintProposal, judged
from inventory.pictures.recogniser import OcrNotInstalled, PrintedLine
from tests.api.test_problems import pointers, refused
from tests.factories import JobFactory, NeedFactory, photo, spec
from tests.pictures.drawn import badly_lit, marked_body, share_of_print_seen


def under(kept: Photo, inner: str) -> str:
    return f"/api/v1/photos/{kept.pk}/{inner}"


def halves() -> Image.Image:
    image = Image.new("RGB", (60, 40), "blue")
    ImageDraw.Draw(image).rectangle((0, 0, 29, 39), fill="red")
    return image


# --- enlarged


def test_an_enlargement_is_the_box_times_the_scale(viewer: Any) -> None:
    answer = viewer.get(under(photo(halves()), "enlarge.png"), {"x": 5, "y": 5, "w": 20, "h": 10, "scale": 4})
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "image/png")
    picture = Image.open(io.BytesIO(answer.content))
    assert (picture.format, picture.size) == ("PNG", (80, 40))


def test_each_setting_of_the_contract_changes_the_picture(viewer: Any) -> None:
    """The rest of what each does is tested where it is done."""
    kept = photo(halves())
    plain = Image.open(io.BytesIO(viewer.get(under(kept, "enlarge.png")).content)).convert("RGB")
    settings = {
        "x": "10", "y": "10", "w": "30", "h": "20", "scale": "2", "rotate": "30", "contrast": "2",
        "invert": "true",        "channel": "red", "local_contrast": "3", "sharpen": "2",
    }  # fmt: skip
    for name, value in settings.items():
        answer = viewer.get(under(kept, "enlarge.png"), {name: value})
        assert answer.status_code == 200, (name, answer.content)
        changed = Image.open(io.BytesIO(answer.content)).convert("RGB")
        assert changed.size != plain.size or ImageChops.difference(changed, plain).getbbox(), name


def test_true_is_the_usual_amount_and_false_is_none(viewer: Any) -> None:
    address = under(photo(badly_lit(marked_body())), "enlarge.png")
    for name, usual in (("contrast", 1), ("local_contrast", 3), ("sharpen", 1.5)):
        assert viewer.get(address, {name: "true"}).content == viewer.get(address, {name: usual}).content
        assert viewer.get(address, {name: "false"}).content == viewer.get(address).content


def test_faint_blurred_print_becomes_readable_through_the_api(viewer: Any) -> None:
    mask = marked_body()
    kept = photo(badly_lit(mask))
    asked = {"scale": 6, "contrast": 1, "local_contrast": 3, "sharpen": 1.5, "channel": "grey"}
    before = share_of_print_seen(viewer.get(under(kept, "enlarge.png"), {"scale": 6}).content, mask)
    after = share_of_print_seen(viewer.get(under(kept, "enlarge.png"), asked).content, mask)
    assert after > before


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("x", "60"), ("x", "-1"), ("x", "a"), ("x", "1.5"), ("y", "40"), ("w", "0"), ("h", "0"), ("x", "²"),
        ("scale", "0"), ("scale", "17"), ("scale", "nan"), ("scale", "inf"), ("scale", "1e400"),
        ("scale", "big"), ("rotate", "361"), ("rotate", "north"), ("contrast", "41"), ("contrast", "-1"),
        ("invert", "maybe"),
        ("channel", "infrared"), ("local_contrast", "11"), ("sharpen", "6"), ("sharpen", "1_0_0"),
        ("zoom", "2"),
    ],
)  # fmt: skip
def test_a_setting_out_of_bounds_is_refused_by_its_name(viewer: Any, name: str, value: str) -> None:
    assert pointers(refused(viewer.get(under(photo(halves()), "enlarge.png"), {name: value}), 400)) == {
        f"#/{name}"
    }


def test_all_bad_settings_are_named_at_once_and_an_enormous_picture_is_not_made(viewer: Any) -> None:
    kept = photo(Image.new("RGB", (1000, 1000)))
    wrong = refused(viewer.get(under(kept, "enlarge.png"), {"scale": "x", "rotate": "y"}), 400)
    assert pointers(wrong) == {"#/scale", "#/rotate"}
    assert "million" in refused(viewer.get(under(kept, "enlarge.png"), {"scale": "16"}), 400)["detail"]


@pytest.mark.parametrize(
    "inner", ["image", "enlarge.png", "enlarge.jpg", "read/", "bands/?x1=1&y1=1&x2=9&y2=9"]
)
def test_of_a_photo_that_is_not_there_nothing_is_shown(viewer: Any, stranger: Any, inner: str) -> None:
    refused(viewer.get(f"/api/v1/photos/7/{inner}"), 404)
    refused(viewer.get(f"/api/v1/photos/999999999999999999/{inner}"), 404)
    refused(stranger.get(f"/api/v1/photos/7/{inner}"), 401)


# --- text


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[bytes]:
    """A recogniser that sees a disc's marking and two bits of nothing; the pictures it was given."""
    seen: list[bytes] = []

    def read_text(data: bytes, fewest: int) -> Print:
        seen.append(data)
        return Print(
            (PrintProposal("10[38]K", 0.86, 0), PrintProposal("~~", 0.8, 180), PrintProposal("  ", 0.7, 90))
        )

    monkeypatch.setattr(printed_text, "read_text", read_text)
    return seen


def test_text_comes_back_as_ranked_readings(viewer: Any, reads: list[bytes]) -> None:
    NeedFactory(job=JobFactory(name="Plover C rebuild"), ref="C7", of=spec("capacitor", "10n"))
    result = viewer.get(under(photo(), "read/"), {"kind": "capacitor", "measured": "10.2n"}).json()
    (proposal,) = result["proposals"]
    assert (proposal["text"], proposal["confidence"], proposal["rotation"]) == ("10[38]K", 0.86, 0)
    best = proposal["readings"][0]
    assert (best["value_text"], best["tolerance_percent"]) == ("10n", "10")
    assert [each["ref"] for each in best["wanted_by"]] == ["C7"]
    assert proposal["readings"][1:], "103 or 108: the second is kept"


def test_text_that_no_marking_can_be_is_shown_where_there_is_nothing_better(
    viewer: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(printed_text, "read_text", lambda *_: Print((PrintProposal("~~", 0.8, 180),)))
    (proposal,) = viewer.get(under(photo(), "read/"), {"kind": "capacitor"}).json()["proposals"]
    assert (proposal["text"], proposal["readings"]) == ("~~", [])
    assert proposal["hints"]


def test_no_print_found_is_reported_with_what_to_try(viewer: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        printed_text, "read_text", lambda *_: judged([PrintedLine(({"D": 0.99},), 2.1, 0, (0, 0))])
    )
    result = viewer.get(under(photo(), "read/")).json()
    assert (result["proposals"], result["why_not"]) == ([], TOO_FEW)
    assert result["what_to_try"] == list(WHAT_TO_TRY)


def test_what_the_body_carries_at_least_goes_to_the_reader(
    viewer: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    least: list[int] = []

    def read_text(data: bytes, fewest: int) -> Print:
        least.append(fewest)
        return Print(())

    monkeypatch.setattr(printed_text, "read_text", read_text)
    for asked in ({}, {"kind": "transistor"}, {"body": "to-92"}):
        assert viewer.get(under(photo(), "read/"), asked).status_code == 200
    assert least == [2, 3, 3]


def test_letters_seen_with_doubt_are_weighed_with_the_grammar(
    viewer: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    cells = ({"1": 1.0}, {"0": 1.0}, {"4": 0.6, "A": 0.3}, {"K": 0.9})
    monkeypatch.setattr(
        printed_text, "read_text", lambda *_: Print((PrintProposal("10[4A]K", 0.9, 0, cells),))
    )
    (proposal,) = viewer.get(under(photo(), "read/"), {"kind": "capacitor"}).json()["proposals"]
    assert proposal["readings"][0]["value_text"] == "100n"
    assert sum(reading["score"] for reading in proposal["readings"]) < 0.9


def test_several_photos_of_one_part_are_read_as_one(viewer: Any, reads: list[bytes]) -> None:
    first, second = (
        photo(drawn_resistor("red")),
        photo(drawn_resistor("red").point(lambda level: level * 0.9)),
    )
    box = {"x": 60, "y": 50, "w": 280, "h": 100}
    result = viewer.get(under(first, "read/"), {**box, "also": second.pk}).json()
    assert result["picture_cautions"] == []
    assert Image.open(io.BytesIO(reads[0])).size == (280, 100)
    other = photo(Image.effect_noise((400, 200), 90).convert("RGB"))
    result = viewer.get(under(first, "read/"), {**box, "also": f"{second.pk},{other.pk}"}).json()
    assert "Picture 3" in result["picture_cautions"][0]


@pytest.mark.parametrize("also", ["x", "1,,2", "1,2,3,4,5,6", "999999"])
@pytest.mark.parametrize("inner", ["read/", "bands/?x1=82&y1=100&x2=318&y2=100"])
def test_other_photos_that_are_not_there_are_refused(viewer: Any, inner: str, also: str) -> None:
    mark = "&" if "?" in inner else "?"
    problem = refused(viewer.get(f"{under(photo(drawn_resistor('red')), inner)}{mark}also={also}"), 400)
    assert pointers(problem) == {"#/also"}


def test_a_box_of_the_picture_may_be_read(viewer: Any, reads: list[bytes]) -> None:
    kept = photo(halves())
    assert viewer.get(under(kept, "read/"), {"x": 10, "w": 20, "h": 10, "rotate": 90}).status_code == 200
    assert Image.open(io.BytesIO(reads[0])).size == (10, 20)
    assert pointers(refused(viewer.get(under(kept, "read/"), {"x": 60}), 400)) == {"#/x"}


def test_several_proposals_ask_the_database_as_often_as_one(
    viewer: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = photo()
    NeedFactory(of=spec("capacitor", "10n"))

    def queries(proposals: list[PrintProposal]) -> int:
        monkeypatch.setattr(printed_text, "read_text", lambda *_: Print(tuple(proposals)))
        with CaptureQueriesContext(connection) as caught:
            assert viewer.get(under(kept, "read/")).status_code == 200
        return len(caught)

    queries([PrintProposal("103", 0.9, 0)])
    one = queries([PrintProposal("103", 0.9, 0)])
    assert (
        queries([PrintProposal(text, 0.9, 0) for text in ("103", "104K", "4k7", "SN74LS04N", "8213")]) == one
    )


def test_without_the_extra_the_answer_says_how_to_install_it(
    viewer: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def absent(data: bytes, fewest: int) -> Print:
        raise OcrNotInstalled

    monkeypatch.setattr(printed_text, "read_text", absent)
    problem = refused(viewer.get(under(photo(), "read/")), 409)
    assert problem["code"] == "ocr_not_installed"
    assert problem["install"] == 'pip install -e ".[ocr]"'


def test_wrong_evidence_is_refused_before_the_picture_is_read(viewer: Any, reads: list[bytes]) -> None:
    kept = photo()
    assert pointers(refused(viewer.get(under(kept, "read/"), {"measured": "blue"}), 400)) == {"#/measured"}
    assert pointers(refused(viewer.get(under(kept, "read/"), {"marking": "104"}), 400)) == {"#/marking"}
    assert not reads


# --- bands

PAINT = {"yellow": (243, 218, 11), "violet": (108, 70, 117), "red": (175, 43, 30), "gold": (174, 140, 75)}
"""RAL tones as in inventory/pictures/bands.py; gold has none."""


def drawn_resistor(*colours: str) -> Image.Image:
    image = Image.new("RGB", (400, 200), (235, 235, 232))
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 96, 399, 103), fill=(150, 150, 150))
    draw.rectangle((80, 70, 319, 129), fill=(228, 207, 166))
    for place, colour in enumerate(colours):
        left = 105 + 50 * place
        draw.rectangle((left, 70, left + 21, 129), fill=PAINT[colour])
    return image


ENDS = {"x1": 82, "y1": 100, "x2": 318, "y2": 100}


def test_bands_between_two_ends_are_proposed_and_read(viewer: Any) -> None:
    result = viewer.get(
        under(photo(drawn_resistor("yellow", "violet", "red", "gold")), "bands/"), ENDS
    ).json()
    assert [band["colours"][0] for band in result["bands"]] == ["yellow", "violet", "red", "gold"]
    assert result["text"].split(",")[0].startswith("yellow")
    assert result["white_found"]
    assert result["readings"][0]["value_text"] == "4k7"
    ats = [band["at"] for band in result["bands"]]
    assert ats == sorted(ats)
    # What is proposed is what decode/ takes.
    again = viewer.get("/api/v1/decode/", {"bands": result["text"]}).json()
    assert again["readings"][0]["value_text"] == "4k7"


def glare(image: Image.Image, left: int) -> Image.Image:
    """A patch of mirrored lamp from this column on, fading to both sides."""
    light = Image.new("L", image.size)
    ImageDraw.Draw(light).rectangle((left, 0, left + 21, image.height), fill=230)
    light = light.filter(ImageFilter.GaussianBlur(5))
    return ImageChops.add(image, Image.merge("RGB", (light, light, light)))


def test_what_glare_hides_is_unread_and_two_photos_together_show_it(viewer: Any) -> None:
    part = drawn_resistor("yellow", "violet", "red", "gold")
    first, second = photo(glare(part, 155)), photo(glare(part, 205))
    result = viewer.get(under(first, "bands/"), ENDS).json()
    assert result["glare"]
    assert result["bands"][1]["colours"] == []
    assert "band 2" in result["picture_cautions"][0]
    result = viewer.get(under(first, "bands/"), {**ENDS, "also": second.pk}).json()
    assert [band["colours"][0] for band in result["bands"]] == ["yellow", "violet", "red", "gold"]
    assert result["readings"][0]["value_text"] == "4k7"


def test_where_no_band_is_seen_that_is_reported(viewer: Any) -> None:
    result = viewer.get(under(photo(drawn_resistor()), "bands/"), ENDS).json()
    assert (result["bands"], result["readings"], result["text"]) == ([], [], "")
    assert result["hints"]
    assert result["picture_cautions"]


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        ({"x2": "500"}, "#/x1"), ({"x2": "83"}, "#/x1"), ({"x1": "nan"}, "#/x1"), ({"y1": "up"}, "#/y1"),
        ({"x1": "-5"}, "#/x1"), ({"kind": "gizmo"}, "#/kind"), ({"bands": "red"}, "#/bands"),
        ({"scheme": "q"}, "#/scheme"),
    ],
)  # fmt: skip
def test_ends_that_lie_on_no_body_are_refused(viewer: Any, given: dict[str, str], pointer: str) -> None:
    kept = photo(drawn_resistor("red"))
    assert pointers(refused(viewer.get(under(kept, "bands/"), {**ENDS, **given}), 400)) == {pointer}


def test_both_ends_are_asked_for(viewer: Any) -> None:
    problem = refused(viewer.get(under(photo(), "bands/"), {"x1": 1, "y1": 2}), 400)
    assert pointers(problem) == {"#/x2", "#/y2"}


def test_a_picture_is_brought_down_for_a_list_and_never_up(viewer: Any) -> None:
    kept = photo(Image.new("RGB", (400, 200), "grey"))
    for longest, size in ((100, (100, 50)), (4800, (400, 200)), (800, (400, 200))):
        answer = viewer.get(under(kept, "image"), {"longest": longest})
        picture = Image.open(io.BytesIO(answer.content))
        assert (picture.format, picture.size) == ("JPEG", size)


@pytest.mark.parametrize("longest", ["0", "63", "4801", "x", "-5", "9" * 30])
def test_a_size_that_no_list_has_is_refused(viewer: Any, longest: str) -> None:
    refused(viewer.get(under(photo(), "image"), {"longest": longest}), 400)


def grain() -> Image.Image:
    """Noise in every channel: no photograph is harder to make light."""
    return Image.merge("RGB", [Image.effect_noise((1200, 900), 80) for _channel in "rgb"])


@pytest.mark.parametrize("inner", ["image", "enlarge.jpg"])
def test_a_picture_is_as_light_as_was_asked_and_keeps_its_shape(viewer: Any, inner: str) -> None:
    kept = photo(grain())
    for kilobytes in (4, 40, 400):
        answer = viewer.get(under(kept, inner), {"kilobytes": kilobytes})
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert len(answer.content) <= kilobytes * 1000
        picture = Image.open(io.BytesIO(answer.content))
        assert picture.width / picture.height == pytest.approx(4 / 3, rel=0.05)


def test_what_is_light_enough_is_not_made_coarser(viewer: Any) -> None:
    kept = photo(halves())
    whole = viewer.get(under(kept, "image")).content
    assert viewer.get(under(kept, "image"), {"kilobytes": 80, "longest": 960}).content == whole


@pytest.mark.parametrize("kilobytes", ["0", "3", "10001", "x", "-5"])
@pytest.mark.parametrize("inner", ["image", "enlarge.jpg"])
def test_a_weight_that_no_picture_has_is_refused(viewer: Any, inner: str, kilobytes: str) -> None:
    problem = refused(viewer.get(under(photo(), inner), {"kilobytes": kilobytes}), 400)
    assert pointers(problem) == {"#/kilobytes"}


def test_the_light_enlargement_shows_the_same_as_the_png(viewer: Any) -> None:
    asked = {"x": 5, "y": 5, "w": 20, "h": 10, "scale": 4}
    kept = photo(halves())
    exact, light = (
        Image.open(io.BytesIO(viewer.get(under(kept, inner), asked).content)).convert("RGB")
        for inner in ("enlarge.png", "enlarge.jpg")
    )
    assert exact.size == light.size
    assert max(ImageStat.Stat(ImageChops.difference(exact, light)).mean) < 4
