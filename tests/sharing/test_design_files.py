"""A design goes out in one file and comes in at another bench: exact, looked at first, undone whole.

One file, since one file is followed out, in, and taken out again.
"""

import io
import json
import zipfile
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.utils import timezone
from jsonschema import Draft202012Validator
from PIL import Image

from inventory.models import Board, Design, Lot, Photo, Position, StoredSpec
from inventory.pictures import photos
from inventory.refusals import Refused
from repairs import demo, design_files
from repairs.design_files import Credit
from repairs.friends.files import BadFile
from repairs.models import Job, Trial
from repairs.sharing_models import DesignCredit, DesignRecord, DesignTaken
from tests.factories import BoardFactory, DesignFactory, JobFactory, photo, png, spec, stock

pytestmark = pytest.mark.django_db

CREDIT = Credit("design", "Harbour radio club", "CC BY 4.0", "drawn from a board")


def plover() -> Design:
    """A design with all that a file may hold, seen through a closed job, a trial and a checksum."""
    design = DesignFactory(
        name="Plover timer", revision="B",
        positions={
            "R1": spec("resistor", "4k7", tolerance_percent=Decimal(5)),
            "R2": spec("resistor", "10"),
            "C1": spec("capacitor", "100n", volts=Decimal(63), dielectric="film", lead_style="radial"),
            "U3": spec("ic", None, number="2114", traits={"organisation": "1024x4"}),
        },
    )  # fmt: skip
    design.links = [
        {
            "name": "LK1",
            "settings": ["1-2", "2-3"],
            "rules": [{"setting": "1-2", "when": {"ref": "U3", "number": "2114"}}],
        }
    ]
    design.rails = [
        {"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25", "order": 1, "protects": ["U3"]}
    ]
    design.banks = [{"name": "RAM", "refs": ["U3"], "equal": ["number"], "counts": [1]}]
    design.hazards, design.note = ["mains"], "From the pier."
    design.save()
    Position.objects.filter(design=design, ref="R1").update(
        x="0.250000", y="0.4", side="top", note="beside the relay", empty_when={"ref": "U3", "number": "6514"}
    )
    Position.objects.filter(design=design, ref="U3").update(socketed=True)
    photo(
        Image.effect_noise((300, 200), 60).convert("RGB"), subject="design", subject_id=design.pk, side="top"
    )
    photo(subject="design", subject_id=design.pk, ref="U3", note="the chip")
    board = BoardFactory(name="Secret pier board", design=design)
    job = JobFactory(board=board, status="done", symptom="no tick", cause="C1 open")
    Job.objects.filter(pk=job.pk).update(closed=timezone.now())
    Trial.objects.create(board=board, ref="R1", method="ohms", in_circuit=True, reading="4k6", verdict="good")
    piece = stock(source="board", board=board).lot
    Lot.objects.filter(pk=piece.pk).update(origin_ref="U3", marking="MON 1.2")
    Trial.objects.create(lot=piece, method="checksum", reading="size 2048 sum 9C41", verdict="good")
    design_files.set_credits(design, [CREDIT])
    return design


def emptied() -> None:
    """The bench as it is before anything came in."""
    for row in Photo.objects.all():
        photos.remove(row)
    for model in (Trial, Job, DesignTaken):
        model.objects.all().delete()
    from inventory.ledger import forget

    forget(set(Lot.objects.values_list("pk", flat=True)))
    Lot.objects.all().delete()
    Board.objects.all().delete()
    Design.objects.all().delete()
    StoredSpec.objects.filter(part=None).delete()


def taken_in(file: bytes, **how: Any) -> Design:
    opened = design_files.read(file)
    taken, _merged = design_files.import_design(
        opened, design_files.named_as(opened.document), by=None, **how
    )
    return Design.objects.get(pk=taken.design_id)


def zipped(text: Any, **more: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("design.json", text if isinstance(text, bytes) else json.dumps(text))
        for name, data in more.items():
            archive.writestr(name.replace("__", "/"), data)
    return out.getvalue()


LEAST = {"format": "rehome-design", "version": 1, "name": "Dunlin", "revision": "A"}
R1 = {"ref": "R1", "spec": {"kind": "resistor", "value": "4k7"}}


# --- exact


def test_a_file_taken_in_at_an_empty_bench_goes_out_again_byte_for_byte() -> None:
    file = design_files.file_of(plover())
    emptied()
    assert design_files.file_of(taken_in(file)) == file
    assert DesignRecord.objects.count() == 3, "what was seen there is kept apart from what is seen here"
    assert not Job.objects.exists()


def test_every_design_of_the_demo_comes_back_the_same() -> None:
    demo.load(by=None)
    files = {str(each): design_files.file_of(each) for each in Design.objects.all()}
    for each in Design.objects.all():
        theirs = design_files.read(files[str(each)])
        emptied_name = f"{each.name} again"
        theirs.document.__dict__["name"] = emptied_name
        taken, _ = design_files.import_design(theirs, None, by=None)
        again = design_files.read(design_files.file_of(Design.objects.get(pk=taken.design_id)))
        assert again.document == theirs.document
        assert again.pictures == theirs.pictures


def test_the_file_is_what_its_schema_says() -> None:
    """Referee: the validator of the package jsonschema, for JSON Schema 2020-12."""
    schema = design_files.schema()
    Draft202012Validator.check_schema(schema)
    with zipfile.ZipFile(io.BytesIO(design_files.file_of(plover()))) as archive:
        text = archive.read("design.json")
    assert not list(Draft202012Validator(schema).iter_errors(json.loads(text)))
    assert list(Draft202012Validator(schema).iter_errors({**LEAST, "owner": "x"}))
    assert b'"value": "4k7"' in text, "values as the trade writes them: it is to be read by eye"


def test_no_board_drawer_or_person_is_named_in_it() -> None:
    with zipfile.ZipFile(io.BytesIO(design_files.file_of(plover()))) as archive:
        text = archive.read("design.json").decode()
    assert "Secret" not in text
    assert "Drawer" not in text


def test_what_was_seen_may_be_left_out() -> None:
    document = design_files.read(design_files.file_of(plover(), ["seen", "pictures"])).document
    assert (document.seen, document.pictures) == ([], [])
    assert document.trials


# --- beside what is there


def test_theirs_mine_or_both_by_reference() -> None:
    file = design_files.file_of(plover())
    design = Design.objects.get()
    other = StoredSpec.keep(spec("resistor", "5k6"))
    design.positions.filter(ref="R1").update(spec=other)
    design.positions.filter(ref="R2").delete()
    opened = design_files.read(file)
    state = {line.key: line.state for line in design_files.preview(opened, design).lines}
    assert state["positions/R1"] == "differs"
    assert state["positions/R2"] == "new"
    assert state["positions/C1"] == state["links/LK1"] == state["pictures/top"] == "same"

    def after(**how: Any) -> dict[str, str]:
        document = design_files.preview(opened, design, **how).document
        return {
            each.ref: f"{each.spec['value']} {each.note}" for each in document.positions if each.ref[0] == "R"
        }

    assert after(take="theirs") == {"R1": "4k7 beside the relay", "R2": "10R "}
    assert after(take="mine") == {"R1": "5k6 beside the relay"}
    both = after(take="both")
    assert both["R1"].startswith("5k6 beside the relay [theirs: 4k7")
    assert "R2" in both
    assert after(take="mine", choices={"positions/R2": "theirs"})["R2"] == "10R "
    with pytest.raises(Refused) as refused:
        after(choices={"positions/R99": "mine"})
    assert refused.value.code == "unknown"


def test_nothing_that_only_mine_has_is_taken_out_and_hazards_are_those_of_both() -> None:
    design = DesignFactory(name="Dunlin", positions={"R9": spec()})
    Design.objects.update(hazards=["lithium"])
    taken_in(zipped({**LEAST, "hazards": ["mains"], "positions": [R1]}), take="theirs")
    design.refresh_from_db()
    assert set(design.positions.values_list("ref", flat=True)) == {"R1", "R9"}
    assert design.hazards == ["lithium", "mains"]


def test_a_pin_goes_with_the_picture_that_it_was_put_on() -> None:
    file = design_files.file_of(plover())
    design = Design.objects.get()
    photos.remove(Photo.objects.get(side="top"))
    photo(Image.new("RGB", (90, 60), "green"), subject="design", subject_id=design.pk, side="top")
    design.positions.filter(ref="R1").update(x="0.9", y="0.9")
    opened = design_files.read(file)

    def pin(take: str) -> Any:
        positions = design_files.preview(opened, design, take).document.positions
        return next(each.x for each in positions if each.ref == "R1")

    assert (pin("mine"), pin("both"), pin("theirs")) == (Decimal("0.9"), Decimal("0.9"), Decimal("0.25"))


def test_a_mixture_that_makes_no_design_is_refused_and_nothing_is_kept() -> None:
    DesignFactory(name="Dunlin", positions={"R1": spec()})
    bank = {"name": "RAM", "refs": ["U1"], "counts": [1]}
    u1 = {"ref": "U1", "spec": {"kind": "ic", "number": "2114"}}
    with pytest.raises(BadFile) as refused:
        taken_in(zipped({**LEAST, "positions": [u1], "banks": [bank]}), choices={"positions/U1": "mine"})
    assert refused.value.code == "unreadable"
    assert not DesignTaken.objects.exists()


# --- and out again


def test_a_file_is_undone_whole() -> None:
    file = design_files.file_of(plover())
    design = Design.objects.get()
    design.positions.filter(ref="R1").update(spec=StoredSpec.keep(spec("resistor", "5k6")), x="0.1")
    design.positions.filter(ref="U3").update(socketed=False)
    Photo.objects.filter(ref="U3").delete()
    DesignCredit.objects.all().delete()
    Trial.objects.filter(lot=None).delete()
    before = design_files.file_of(design)
    taken_in(file, take="theirs")
    assert design_files.file_of(design) != before
    design_files.undo(DesignTaken.objects.get())
    design.refresh_from_db()
    assert design_files.file_of(design) == before
    with pytest.raises(Refused) as refused:
        design_files.undo(DesignTaken.objects.get())
    assert refused.value.code == "nothing_to_undo"


def test_two_files_are_undone_one_after_the_other() -> None:
    design = DesignFactory(name="Dunlin", positions={"R1": spec("resistor", "1k")})
    before = design_files.file_of(design)
    for value in ("4k7", "5k6"):
        at = {**R1, "spec": {"kind": "resistor", "value": value}}
        taken_in(zipped({**LEAST, "positions": [at]}), take="theirs")
    first, second = DesignTaken.objects.order_by("id")
    with pytest.raises(Refused) as refused:
        design_files.undo(first)
    assert refused.value.code == "stale"
    design_files.undo(second)
    design_files.undo(first)
    assert design_files.file_of(Design.objects.get()) == before


def test_a_new_design_goes_again_but_not_from_under_a_board() -> None:
    design = taken_in(zipped({**LEAST, "positions": [R1]}))
    board = BoardFactory(design=design)
    with pytest.raises(Refused) as refused:
        design_files.undo(DesignTaken.objects.get())
    assert refused.value.code == "in_use"
    board.delete()
    design_files.undo(DesignTaken.objects.get())
    assert not Design.objects.exists()
    assert DesignTaken.objects.get().undone


# --- hostile


@pytest.mark.parametrize(
    ("file", "code", "status"),
    [
        (b"no zip", "another_kind_of_file", 415),
        (b"PK\x03\x04 and no more", "damaged", 422),
        (zipped({**LEAST, "version": 2}), "newer_file", 422),
        (zipped({**LEAST, "format": "recipe"}), "another_kind_of_file", 415),
        (zipped([1]), "another_kind_of_file", 415),
        (zipped(b"[" * 100_000), "unreadable", 422),
        (zipped(json.dumps({**LEAST, "note": "\u202egnp.exe"}).encode()), "unreadable", 422),
        (zipped(b'{"format": NaN}'), "unreadable", 422),
        (zipped(b'{"a": 1' + b"0" * 5000 + b"}"), "unreadable", 422),
        (zipped(b"\xff\xfe"), "unreadable", 422),
        (zipped({**LEAST, "owner": "x"}), "unreadable", 422),
        (zipped({**LEAST, "positions": [{**R1, "x": "7"}]}), "unreadable", 422),
        (zipped({**LEAST, "positions": [R1, R1]}), "unreadable", 422),
        (zipped({**LEAST, "positions": [{"ref": "R1", "spec": {"kind": "wand"}}]}), "unreadable", 422),
        (zipped({**LEAST, "hazards": ["none at all"]}), "unreadable", 422),
        (zipped(LEAST, **{"..__..__etc__passwd": b"x"}), "unknown", 422),
        (zipped(LEAST, **{"pictures__x.svg": b"<svg/>"}), "unknown", 422),
        (zipped(b" " * (9 * 2**20)), "too_large", 413),
        (zipped(LEAST, **{f"pictures__{each:016x}.jpg": b"x" for each in range(63)}), "too_many", 422),
    ],
    ids=lambda given: "" if isinstance(given, bytes) else str(given),  # two processes zip at two times
)  # fmt: skip
def test_what_is_no_design_file_is_refused(file: bytes, code: str, status: int) -> None:
    with pytest.raises(BadFile) as refused:
        design_files.read(file)
    assert (refused.value.code, refused.value.status) == (code, status)


def test_a_file_that_unpacks_to_far_more_than_it_says_is_refused() -> None:
    """A zip whose directory understates a member (APPNOTE 4.4.9) is read no further than the limit."""
    data = bytearray(zipped(b" " * (9 * 2**20)))
    for mark, at in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        start = data.index(mark) + at
        data[start : start + 4] = (100).to_bytes(4, "little")
    with pytest.raises(BadFile) as refused:
        design_files.read(bytes(data))
    assert refused.value.code in ("damaged", "too_large")


def pictured(data: bytes, named: str = "") -> bytes:
    from hashlib import sha256

    digest = named or sha256(data).hexdigest()
    entry = {"file": f"{digest[:16]}.jpg", "sha256": digest, "side": "top"}
    return zipped({**LEAST, "pictures": [entry]}, **{f"pictures__{digest[:16]}.jpg": data})


def test_pictures_are_looked_into_and_carry_nothing_else() -> None:
    camera = png(form="JPEG", comment=b"<script>")
    [kept] = design_files.read(pictured(camera)).pictures.values()
    assert b"<script>" not in kept.data
    for file, code in (
        (pictured(b"GIF89a"), "not_a_picture"),
        (pictured(camera, "0" * 64), "damaged"),
        (zipped({**LEAST, "pictures": [{"file": f"{'0' * 16}.jpg", "sha256": "0" * 64}]}), "damaged"),
    ):
        with pytest.raises(BadFile) as refused:
            design_files.read(file)
        assert refused.value.code == code


# --- over the API, by command, on the page


def test_over_the_api(bench: Any, viewer: Any, owner: Any) -> None:
    design = plover()
    address = f"/api/v1/designs/{design.pk}/file/"
    file = viewer.get(address)
    assert file.headers["Content-Disposition"] == 'attachment; filename="plover-timer-b.zip"'
    data = file.content

    def sent(**more: Any) -> dict[str, Any]:
        return {"file": SimpleUploadedFile("plover.zip", data), **more}

    looked = bench.post("/api/v1/designs/file/", sent(dry_run=True), format="multipart").json()
    assert looked["counts"]["differs"] == looked["counts"]["new"] == 0
    assert looked["taken"] is None
    assert looked["caution"].startswith("mains: ")
    emptied()
    fresh = bench.post("/api/v1/designs/file/", sent(), format="multipart").json()
    assert viewer.get(f"/api/v1/designs/{fresh['design']}/file/").content == data
    into = DesignFactory(name="Another")
    done = bench.post(
        f"/api/v1/designs/{into.pk}/file/", sent(choices='{"positions/R1": "mine"}'), format="multipart"
    ).json()
    assert done["design"] == into.pk
    assert not into.positions.filter(ref="R1").exists()
    assert bench.post(f"/api/v1/designs/file/{done['taken']}/undo/").status_code == 204
    assert not into.positions.exists()
    again = bench.post(f"/api/v1/designs/file/{done['taken']}/undo/")
    assert (again.status_code, again.json()["code"]) == (409, "nothing_to_undo")
    wrong = SimpleUploadedFile("x.zip", zipped({**LEAST, "owner": "x"}))
    bad = bench.post("/api/v1/designs/file/", {"file": wrong}, format="multipart")
    assert bad.status_code == 422
    assert bad.json()["errors"][0]["pointer"] == "#/owner"
    for asked in ({"choices": "[1]"}, {"take": "all"}):
        assert bench.post("/api/v1/designs/file/", sent(**asked), format="multipart").status_code == 400
    assert viewer.post("/api/v1/designs/file/", sent(), format="multipart").status_code == 403
    assert viewer.get(f"{address}?without=people").status_code in (400, 404)
    assert viewer.get("/api/v1/schemas/design.json").json()["required"] == ["format", "version", "name"]
    assert viewer.get("/api/v1/schemas/nothing.json").status_code == 404


def test_credits_over_the_api(bench: Any, viewer: Any) -> None:
    design = DesignFactory()
    address = f"/api/v1/designs/{design.pk}/credits/"
    facts = {"of": "design", "author": "Harbour radio club", "licence": "CC0 1.0", "source": ""}
    assert bench.put(address, {"credits": [facts]}).json() == {"credits": [facts]}
    assert viewer.get(address).json() == {"credits": [facts]}
    blank = bench.put(address, {"credits": [{"of": "links"}]})
    assert (blank.status_code, blank.json()["code"]) == (409, "required")
    assert viewer.put(address, {"credits": []}).status_code == 403


def test_by_command(tmp_path: Any, capsys: Any) -> None:
    design = plover()
    file = tmp_path / "plover.zip"
    call_command("design", "export", "Plover timer B", str(file))
    assert file.read_bytes() == design_files.file_of(design)
    capsys.readouterr()
    call_command("design", "import", str(file), "--dry-run", "--json")
    assert json.loads(capsys.readouterr().out)["counts"]["same"] > 5
    emptied()
    call_command("design", "import", str(file))
    assert "design undo" in capsys.readouterr().out
    call_command("design", "undo", str(DesignTaken.objects.get().pk))
    assert not Design.objects.exists()
    call_command("design", "schema")
    for wrong in (
        ["import", str(tmp_path / "none.zip")], ["export", "Nobody", str(file)], ["undo", "99"],
        ["import", str(file), "--choose", "R1"], ["import", __file__],
    ):  # fmt: skip
        with pytest.raises(CommandError):
            call_command("design", *wrong)


def test_on_the_page(sign_in: Any) -> None:
    data = design_files.file_of(plover())
    design = Design.objects.get()
    design.positions.filter(ref="R1").update(spec=StoredSpec.keep(spec("resistor", "5k6")))
    client = sign_in("bench")
    assert client.get("/designs/bring/").status_code == 200
    seen = client.post("/designs/bring/", {"file": SimpleUploadedFile("p.zip", data)})
    page = seen.content.decode()
    assert "Both have it, and they differ: 1" in page
    assert "Harbour radio club" in page
    kept = seen.context["kept"].word
    landed = client.post(
        "/designs/bring/", {"kept": kept, "keep": "1", "take": "mine", "line positions/R1": "theirs"}
    )
    assert landed.status_code == 302
    assert design.positions.get(ref="R1").spec.text.startswith("4k7")
    undone = client.post(f"/designs/taken/{DesignTaken.objects.get().pk}/undo/")
    assert undone.status_code == 302
    assert design.positions.get(ref="R1").spec.text.startswith("5k6")
    for wrong in (
        {},
        {"file": SimpleUploadedFile("p.zip", b"x")},
        {"keep": "1"},
        {"kept": kept, "take": "all"},
    ):
        assert client.post("/designs/bring/", wrong).status_code >= 400


# --- what others saw, and who made it


def test_what_others_saw_is_found_with_its_source_apart_from_ones_own(
    viewer: Any, capsys: Any, sign_in: Any
) -> None:
    seen = {"symptom": "no tick <b>", "cause": "C1 open", "on": "2025-02-11", "author": "Harbour radio club"}
    taken_in(zipped({**LEAST, "seen": [seen, {"symptom": "hum", "cause": "C9 dry"}]}))
    design = Design.objects.get()
    later = DesignFactory(name="Dunlin", revision="B", positions={})
    address = f"/api/v1/designs/{later.pk}/seen/"
    assert viewer.get(address).json()["results"] == [], "it is not one of ours"
    answer = viewer.get(f"{address}elsewhere/", {"q": "TICK open"}).json()["results"]
    assert answer == [
        {
            "design": "Dunlin A", "symptom": "no tick <b>", "cause": "C1 open", "on": "2025-02-11",
            "source": "Harbour radio club",
        }
    ]  # fmt: skip
    told = viewer.get(f"{address}elsewhere/").json()["results"]
    assert [each["source"] for each in told] == ["Harbour radio club", "source not given"]
    assert viewer.get(f"{address}elsewhere/", {"q": "x" * 300}).status_code == 400
    call_command("seen_before", "Dunlin")
    assert "Harbour radio club" in capsys.readouterr().out
    call_command("seen_before", "Dunlin", "--elsewhere", "--json")
    assert len(json.loads(capsys.readouterr().out)["results"]) == 2
    job = JobFactory(board=BoardFactory(design=design))
    page = sign_in("viewer").get(f"/jobs/{job.pk}/log/").content.decode()
    assert "Seen by other workshops" in page
    assert "no tick &lt;b&gt;" in page


def test_who_made_a_design_is_said_on_its_page(sign_in: Any) -> None:
    design = DesignFactory(positions={"R1": spec()})
    bench, viewer = sign_in("bench"), sign_in("viewer")
    at = f"/designs/{design.pk}/credits/"
    form = {
        "of": ["design", "positions", "links"], "author": ["Harbour radio club", "", ""],
        "licence": ["CC BY 4.0", "", ""], "source": ["", "a page of the web", ""],
    }  # fmt: skip
    assert viewer.post(at, form).status_code == 403
    assert bench.post(at, form).status_code == 302
    assert [str(each) for each in design.credits.order_by("id")] == [
        "design: Harbour radio club, CC BY 4.0", "positions: a page of the web",
    ]  # fmt: skip
    assert "design: Harbour radio club, CC BY 4.0" in viewer.get(f"/designs/{design.pk}/").content.decode()
    bench.post(at, {"of": ["wand"], "author": ["x"], "licence": [""], "source": [""]})
    assert design.credits.count() == 2, "a section that there is none of changes nothing"
    bench.post(at, {"of": ["design"], "author": [""], "licence": [""], "source": [""]})
    assert not design.credits.exists()
