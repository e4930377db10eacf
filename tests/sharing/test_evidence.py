"""What one workshop found out goes out in a file; what others found is kept apart, said with its source."""

import json
from dataclasses import replace
from functools import partial
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.urls import reverse
from jsonschema import Draft202012Validator

from inventory.models import Design, Lot
from inventory.refusals import Refused
from repairs import trials
from repairs.answers import shortages
from repairs.friends import evidence, findings
from repairs.friends.files import BadFile
from repairs.friends.signing import public_key, sign
from repairs.models import Trial
from repairs.proving_models import Substitution
from repairs.sharing_models import EvidenceTaken, Friend
from repairs.substitutions import recorded
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    SubstitutionFactory,
    stock,
)  # fmt: skip

pytestmark = pytest.mark.django_db

LEAST = {"format": "rehome-evidence", "version": 1, "made": "2026-11-20"}
WANTED = {"kind": "transistor", "number": "2N3904", "traits": {"pin_order": "E-B-C"}}
OFFERED = {"kind": "transistor", "number": "BC547", "traits": {"pin_order": "C-B-E"}}
TRIED = {"required": WANTED, "offered": OFFERED, "evidence": "seen_working", "way": "turned_round"}
BEAD = {"kind": "capacitor", "value": "22µ", "volts": "16", "dielectric": "tantalum"}
READ = {"marking": "22 16+", "spec": BEAD, "measured": "21u8"}
WINDOW = {
    "spec": BEAD, "method": "capacitance", "verdict": "good", "reading": "21.8 µF",
    "limits": ["17.6 to 26.4 µF"],
}  # fmt: skip


def a_file(**given: Any) -> evidence.EvidenceDocument:
    return evidence.read_evidence(json.dumps({**LEAST, **given}).encode())


def taken(source: str = "Fenland", **given: Any) -> EvidenceTaken:
    return findings.take(a_file(**given), source, by=None)[0]


def of(given: dict[str, Any]) -> Any:
    from inventory.spec import Spec

    return Spec.from_dict(given)


# --- out


def test_what_was_found_here_goes_out_and_nothing_of_who_or_where() -> None:
    design = DesignFactory(name="Plover timer", revision="B", positions={"TR2": of(WANTED)})
    SubstitutionFactory(of=of(WANTED), by_part=of(OFFERED), design=design, ref="TR2", note="gain 210")
    here = stock(5, part=PartFactory(of=of(BEAD))).lot
    Lot.objects.filter(pk=here.pk).update(marking="22 16+")
    trials.record(by=None, lot=here, method="capacitance", reading="21.8 uF", quantity=5)
    drifted = stock(1, part=here.part).lot
    Lot.objects.filter(pk=drifted.pk).update(measured=10**9, marking="not this one")
    made = findings.evidence_document()
    [said] = made.substitutions
    assert (said.design, said.revision, said.ref, said.evidence) == (
        "Plover timer",
        "B",
        "TR2",
        "seen_working",
    )
    assert [(each.marking, each.measured) for each in made.readings] == [("22 16+", "21µ8")]
    [window] = made.windows
    assert (window.method, window.verdict, window.reading) == ("capacitance", "good", "21.8 uF")
    assert window.limits == Trial.objects.get().record.windows
    text = evidence.as_text(made)
    assert not list(Draft202012Validator(evidence.schema()).iter_errors(json.loads(text)))
    assert evidence.read_evidence(text) == made


def test_what_comes_in_goes_on_only_if_asked_and_then_with_whose_it_is() -> None:
    theirs = taken(substitutions=[TRIED], readings=[READ], windows=[WINDOW])
    assert findings.evidence_document().substitutions == []
    passed_on = findings.evidence_document(others=True)
    assert {each.source for each in [*passed_on.substitutions, *passed_on.readings]} == {"Fenland"}
    assert findings.document_of(theirs) == a_file(substitutions=[TRIED], readings=[READ], windows=[WINDOW])
    findings.put_away(theirs, True)
    assert findings.evidence_document(others=True).windows == []


# --- in


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"format": "rehome-spare"}, "another_kind_of_file"), ({"version": 2}, "newer_file"),
        ({"by": "robin"}, "unreadable"), ({"made": "soon"}, "unreadable"),
        ({"substitutions": [{**TRIED, "evidence": "rumour"}]}, "unreadable"),
        ({"substitutions": [{**TRIED, "offered": BEAD}]}, "unreadable"),
        ({"substitutions": [{**TRIED, "ref": "TR2"}]}, "unreadable"),
        ({"substitutions": [{**TRIED, "way": "legs_crossed"}]}, "unreadable"),
        ({"readings": [{**READ, "spec": {"kind": "wand"}}]}, "unreadable"),
        ({"readings": [{**READ, "measured": ""}]}, "unreadable"),
        ({"windows": [{**WINDOW, "verdict": "fine"}]}, "unreadable"),
        ({"windows": [{**WINDOW, "reading": "\u202e"}]}, "unreadable"),
    ],
)  # fmt: skip
def test_a_file_that_is_none_is_refused(given: dict[str, Any], code: str) -> None:
    with pytest.raises(BadFile) as refused:
        a_file(**given)
    assert refused.value.code == code


def test_a_file_is_seen_beside_what_was_found_here_and_nothing_is_kept() -> None:
    SubstitutionFactory(of=of(WANTED), by_part=of(OFFERED), evidence="refuted")
    here = stock(1, part=PartFactory(of=of(BEAD))).lot
    Lot.objects.filter(pk=here.pk).update(marking="2216+", measured=218 * 10**8)
    other = {"marking": "22 16+", "spec": {**BEAD, "value": "2u2"}, "measured": "2u3"}
    seen = findings.look(a_file(substitutions=[TRIED], readings=[READ, other], windows=[WINDOW]), "Fenland")
    assert [(line.what, line.state) for line in seen.lines] == [
        ("substitution", "contradicts"), ("reading", "here"), ("reading", "contradicts"), ("window", "new"),
    ]  # fmt: skip
    assert not EvidenceTaken.objects.exists()


@pytest.mark.parametrize(
    "text",
    ['{"format": "rehome-evidence", "author": "Fenland", "author": "Cranmere"}', '[{"a": {"b": 1, "b": 2}}]'],
)
def test_a_name_that_stands_twice_in_an_object_is_refused(text: str) -> None:
    """RFC 7493 (I-JSON), 2.3: of two alike each reader may take another."""
    with pytest.raises(BadFile, match="stands twice in one object") as refused:
        evidence.read_evidence(text.encode())
    assert refused.value.code == "unreadable"


def test_a_name_that_stands_twice_is_found_among_very_many() -> None:
    names = ", ".join(f'"{number}": 0' for number in range(100_000))
    with pytest.raises(BadFile, match="'99999' stands twice in one object"):
        evidence.read_evidence(f'{{{names}, "99999": 0}}'.encode())


def test_a_file_needs_a_source_and_a_newer_one_replaces_the_older() -> None:
    with pytest.raises(Refused) as refused:
        findings.look(a_file())
    assert refused.value.code == "required"
    assert findings.look(a_file(author="Cranmere")).source == "Cranmere"
    first = taken(substitutions=[TRIED])
    again = taken(made="2026-11-22", readings=[READ])
    assert again.pk == first.pk
    assert (again.evidencesubstitution_rows.count(), again.evidencereading_rows.count()) == (0, 1)
    with pytest.raises(Refused) as refused:
        taken(made="2026-11-21")
    assert refused.value.code == "stale"
    friend = Friend.objects.create(name="Cranmere")
    of_friend, _seen = findings.take(a_file(), "", friend, by=None)
    Friend.objects.filter(pk=friend.pk).update(name="Fenland")
    friend.refresh_from_db()
    renamed, _seen = findings.take(a_file(made="2026-11-25"), "", friend, by=None)
    assert EvidenceTaken.objects.get() == renamed, "one source, whatever it was called"
    assert of_friend.source == "Cranmere"
    assert renamed.source == "Fenland"


def rename(how: str, bench: Any, sign_in: Any, friend: Friend, name: str) -> None:
    if how == "api":
        assert bench.patch(f"/api/v1/friends/{friend.pk}/", {"name": name}).status_code == 200
    else:
        sign_in("bench").post(reverse("friend-change", args=[friend.pk]), {"name": name})
    friend.refresh_from_db()
    assert friend.name == name


@pytest.mark.parametrize("how", ["api", "page", "as it was kept before"])
def test_a_friend_who_takes_anothers_former_name_takes_nothing_of_theirs(
    how: str, bench: Any, sign_in: Any
) -> None:
    first = Friend.objects.create(name="Cranmere")
    theirs, _seen = findings.take(a_file(substitutions=[TRIED]), "", first, by=None)
    if how == "as it was kept before":
        Friend.objects.filter(pk=first.pk).update(name="Fenland")
    else:
        rename(how, bench, sign_in, first, "Fenland")
        assert EvidenceTaken.objects.get().source == "Fenland", "not the word of whoever comes next"
    second = Friend.objects.create(name="Cranmere")
    seen = findings.look(a_file(made="2026-11-22", readings=[READ]), "", second)
    assert (seen.before, seen.entries_before) == (None, 0)
    for _time in range(2):
        findings.take(a_file(made="2026-11-22", readings=[READ]), "", second, by=None)
    kept = {each.source: each for each in EvidenceTaken.objects.all()}
    assert {name: each.friend for name, each in kept.items()} == {"Fenland": first, "Cranmere": second}
    assert kept["Fenland"].pk == theirs.pk
    assert kept["Fenland"].evidencesubstitution_rows.count() == 1


def test_two_friends_who_change_names_keep_what_each_found(bench: Any, sign_in: Any) -> None:
    names = ("Cranmere", "Fenland")
    friends = [Friend.objects.create(name=name) for name in names]
    for friend, given in zip(friends, ({"substitutions": [TRIED]}, {"readings": [READ]}), strict=True):
        findings.take(a_file(**given), "", friend, by=None)
    for friend, name in zip([friends[0], friends[1], friends[0]], ["between", *names], strict=True):
        rename("api", bench, sign_in, friend, {"Fenland": "Cranmere", "Cranmere": "Fenland"}.get(name, name))
    rows = {each.friend: each for each in EvidenceTaken.objects.all()}
    assert rows[friends[0]].evidencesubstitution_rows.count() == 1
    assert rows[friends[1]].evidencereading_rows.count() == 1
    assert all(row.source == friend.name for friend, row in rows.items() if friend is not None)


def test_a_signed_file_that_names_nobody_is_of_the_friend_whose_key_it_is() -> None:
    seed = bytes(range(32))
    friend = Friend.objects.create(name="Cranmere", key=public_key(seed))
    signed = evidence.read_evidence(evidence.as_text(a_file(), partial(sign, seed)))
    row, _seen = findings.take(signed, by=None)
    assert (row.friend, row.source) == (friend, "Cranmere")


def test_a_file_of_a_day_that_is_to_come_keeps_no_later_one_out() -> None:
    taken(made="3026-01-01", substitutions=[TRIED])
    assert str(taken(readings=[READ]).made) == LEAST["made"]
    assert EvidenceTaken.objects.get().evidencereading_rows.count() == 1


def test_a_file_of_a_day_that_is_in_no_calendar_is_refused() -> None:
    with pytest.raises(BadFile) as refused:
        a_file(made="2026-02-31")
    assert [each.pointer for each in refused.value.problems] == ["/made"]


# --- weighed as such


def test_what_others_saw_is_asked_about_with_whose_word_it_is_and_never_promised(bench: Any) -> None:
    board = BoardFactory(
        design=DesignFactory(name="Plover timer", revision="B", positions={"TR2": of(WANTED)})
    )
    job = JobFactory(board=board)
    need = NeedFactory(job=job, ref="TR2", of=of(WANTED))
    here = stock(1, part=PartFactory(of=of(OFFERED)))
    file = taken(substitutions=[{**TRIED, "design": "Plover timer", "revision": "B", "ref": "TR2"}])
    assert shortages.reserve(job, by=None).made == []
    fitting = bench.get(f"/api/v1/boards/{board.pk}/fitting/?ref=TR2&lot={here.lot_id}").json()
    assert fitting["grade"] == "ask"
    assert "(by Fenland, not here)" in fitting["substitution"]
    assert "as recorded" not in fitting["orientation"], "which way it goes in is not settled by others"
    why = bench.get(f"/api/v1/needs/{need.pk}/why/").json()
    assert "by Fenland, not here" in json.dumps(why["questions"])
    short = bench.get("/api/v1/shortages/").json()
    assert "by Fenland, not here" in json.dumps(short)
    [wanted] = bench.get(f"/api/v1/lots/{here.lot_id}/wanted/").json()["results"]
    assert wanted["grade"] == "ask"
    findings.put_away(file, True)
    assert not recorded()
    findings.put_away(file, False)
    SubstitutionFactory(of=of(WANTED), by_part=of(OFFERED), evidence="refuted")
    after = bench.get(f"/api/v1/boards/{board.pk}/fitting/?ref=TR2&lot={here.lot_id}").json()
    assert after["grade"] == "no", "one's own word goes first, though theirs is of this very place"


def test_what_was_said_of_a_design_begins_to_hold_when_such_a_design_comes() -> None:
    taken(substitutions=[{**TRIED, "design": "Plover timer", "revision": "B"}])
    assert not recorded()
    design = Design.objects.create(name="Plover timer", revision="B")
    other = Design.objects.create(name="Plover timer", revision="A")
    assert [each.design for each in recorded()] == [design.pk]
    assert [each.design for each in recorded(design)] == [design.pk]
    assert not recorded(other)


def test_what_others_read_stands_beside_the_readings_and_changes_no_score(viewer: Any) -> None:
    before = viewer.get("/api/v1/decode/", {"marking": "22 16 +"}).json()
    file = taken(readings=[READ])
    after = viewer.get("/api/v1/decode/", {"marking": "22 16 +"}).json()
    [told] = after.pop("elsewhere")
    assert (told["marking"], told["measured"], told["source"]) == ("22 16+", "21u8", "Fenland")
    assert told["spec"]["value"] == "0.000022"
    assert before.pop("elsewhere") == []
    assert after == before
    findings.put_away(file, True)
    assert viewer.get("/api/v1/decode/", {"marking": "22 16 +"}).json()["elsewhere"] == []


def test_what_others_measured_is_shown_before_measuring_and_judges_nothing(viewer: Any) -> None:
    here = stock(1, part=PartFactory(of=of(BEAD)))
    address = f"/api/v1/trials/methods/?lot={here.lot_id}"
    before = viewer.get(address).json()
    taken(windows=[WINDOW, {**WINDOW, "spec": {**BEAD, "value": "10u"}}])
    after = viewer.get(address).json()
    [told] = [each for method in after["methods"] for each in method["elsewhere"]]
    assert (told["reading"], told["source"]) == ("21.8 µF", "Fenland")
    for method in (*before["methods"], *after["methods"]):
        del method["elsewhere"]
    assert after == before


X2 = {"kind": "capacitor", "value": "100n", "volts": "275", "safety_class": "X2"}


@pytest.mark.parametrize(
    ("theirs", "alike"),
    [
        ({**X2, "dielectric": "film"}, True),  # says what it is made of: its capacitance is held to the same
        ({**X2, "volts": "310"}, True),
        ({**X2, "tolerance_percent": "10"}, False),  # is held to closer limits
        ({**X2, "value": "220n"}, False),
        ({"kind": "capacitor", "value": "100n", "volts": "275"}, False),  # no safety part: ruled out as one
    ],
)
def test_what_others_tried_of_nearly_the_same_part_is_shown_where_it_is_held_to_the_same_limits(
    theirs: dict[str, Any], alike: bool, viewer: Any
) -> None:
    """Which of them may stand in for an X2: IEC 60384-14, by the same `fits()` as everywhere."""
    here = stock(1, part=PartFactory(of=of(X2)))
    taken(windows=[{**WINDOW, "spec": theirs, "reading": "98 nF"}])
    told = [
        each
        for method in viewer.get(f"/api/v1/trials/methods/?lot={here.lot_id}").json()["methods"]
        for each in method["elsewhere"]
    ]
    assert bool(told) == alike
    for each in told:
        assert each["source"] == f"Fenland, of {of(theirs).text}", "whose word it is, and of what"


# --- over the API, by command, on pages


def test_over_the_api(owner: Any, bench: Any, viewer: Any) -> None:
    friend = Friend.objects.create(name="Cranmere")
    SubstitutionFactory()

    def sent(**more: Any) -> dict[str, Any]:
        data = evidence.as_text(a_file(substitutions=[TRIED], readings=[READ]))
        return {"file": SimpleUploadedFile("evidence.json", data), **more}

    address = "/api/v1/evidence/file/"
    nobody = bench.post(address, sent(), format="multipart")
    assert (nobody.status_code, nobody.json()["code"]) == (409, "required")
    looked = bench.post(address, sent(dry_run=True, friend=friend.pk), format="multipart").json()
    assert (looked["source"], looked["counts"]["new"], looked["taken"]) == ("Cranmere", 2, None)
    kept = bench.post(address, sent(friend=friend.pk), format="multipart").json()
    assert EvidenceTaken.objects.get().friend == friend
    at = f"/api/v1/evidence/{kept['taken']}/"
    whole = viewer.get(at).json()
    assert (len(whole["lines"]), whole["file"]["substitutions"]) == (2, 1)
    assert bench.patch(at, {"put_away": True}, headers={"If-Match": '"9"'}).status_code == 412
    assert bench.patch(at, {"put_away": True}).json()["file"]["put_away"] is True
    assert viewer.get("/api/v1/evidence/").json()["taken"][0]["source"] == "Cranmere"
    assert len(evidence.read_evidence(viewer.get(address).content).substitutions) == 1
    bench.patch(at, {"put_away": False})
    both = evidence.read_evidence(viewer.get(address, {"others": "true"}).content)
    assert len(both.substitutions) == 2
    assert viewer.get(address, {"others": "some"}).status_code == 400
    assert viewer.get("/api/v1/schemas/evidence.json").json()["required"] == ["format", "version", "made"]
    none = bench.post(address, {"file": SimpleUploadedFile("x", b"{}")}, format="multipart")
    assert (none.status_code, none.json()["code"]) == (415, "another_kind_of_file")
    assert owner.delete(at).status_code == 204
    assert Substitution.objects.count() == 1


def test_by_command(tmp_path: Any, capsys: Any) -> None:
    SubstitutionFactory()
    mine, theirs = tmp_path / "mine.json", tmp_path / "theirs.json"
    call_command("evidence", "export", str(mine))
    assert replace(evidence.read_evidence(mine.read_bytes()), signature=None) == findings.evidence_document()
    theirs.write_bytes(evidence.as_text(a_file(substitutions=[TRIED], author="Fenland")))
    call_command("evidence", "import", str(theirs), "--dry-run")
    assert not EvidenceTaken.objects.exists()
    call_command("evidence", "import", str(theirs))
    capsys.readouterr()
    call_command("evidence", "show", "Fenland")
    assert "seen working; turned round" in capsys.readouterr().out
    call_command("evidence", "put-away", "Fenland")
    assert EvidenceTaken.objects.get().put_away
    capsys.readouterr()
    call_command("evidence", "import", str(theirs))
    assert "put away as the last file was" in capsys.readouterr().out
    call_command("evidence", "bring-out", "Fenland")
    capsys.readouterr()
    call_command("evidence", "--json")
    assert json.loads(capsys.readouterr().out)["taken"][0]["put_away"] is False
    call_command("evidence")
    assert "found here: 1 substitutions" in capsys.readouterr().out
    call_command("evidence", "schema")
    assert json.loads(capsys.readouterr().out) == evidence.schema()
    theirs.write_bytes(evidence.as_text(a_file(made="2026-11-19")))
    for wrong in (
        ["import", str(theirs)], ["import", str(theirs), "--source", "Fenland"],
        ["import", str(tmp_path / "none")], ["import", __file__], ["show", "Nobody"],
        ["import", str(theirs), "--friend", "Nobody"],
    ):  # fmt: skip
        with pytest.raises(CommandError):
            call_command("evidence", *wrong)
    call_command("evidence", "delete", "Fenland")
    assert not EvidenceTaken.objects.exists()


def test_the_file_of_a_design_is_said_to_be_one(bench: Any) -> None:
    file = SimpleUploadedFile("design.zip", b"PK\x03\x04\x14\xff")
    refused = bench.post("/api/v1/evidence/file/", {"file": file}, format="multipart")
    assert (refused.status_code, refused.json()["code"]) == (415, "another_kind_of_file")
    assert "imported among the designs" in refused.json()["detail"]


def test_on_pages(sign_in: Any) -> None:
    owner, bench, viewer = sign_in("owner"), sign_in("bench"), sign_in("viewer")
    friend = Friend.objects.create(name="Fenland <b>")
    data = evidence.as_text(
        a_file(substitutions=[{**TRIED, "note": "<i>x"}], readings=[READ], windows=[WINDOW])
    )

    def sent(**more: Any) -> dict[str, Any]:
        return {"file": SimpleUploadedFile("evidence.json", data), **more}

    assert viewer.post("/evidence/file/", sent(friend=friend.pk)).status_code == 403
    assert bench.post("/evidence/file/", sent()).status_code == 400, "nobody says whose it is"
    assert bench.post("/evidence/file/", {}).status_code == 400
    assert (
        bench.post("/evidence/file/", {"keep": "1", "kept": "0" * 32, "friend": friend.pk}).status_code == 400
    )
    shown = bench.post("/evidence/file/", sent(friend=friend.pk))
    page = shown.content.decode()
    assert "New here: 3" in page
    assert "<b>" not in page
    assert "<i>" not in page
    assert not EvidenceTaken.objects.exists()
    form = {"keep": "1", "kept": shown.context["kept"].word, "friend": friend.pk}
    assert bench.post("/evidence/file/", form).status_code == 302
    row = EvidenceTaken.objects.get()
    at = f"/evidence/{row.pk}/"
    assert "BC547" in viewer.get(at).content.decode()
    assert viewer.post(at, {"away": "1"}).status_code == 403
    assert "Found elsewhere" in viewer.get("/read/", {"marking": "22 16+"}).content.decode()
    here = stock(1, part=PartFactory(of=of(BEAD)))
    assert "Read elsewhere: 1" in bench.get(f"/lots/{here.lot_id}/try/").content.decode()
    bench.post(at, {"away": "1"})
    assert "Found elsewhere" not in viewer.get("/read/", {"marking": "22 16+"}).content.decode()
    assert "put away" in viewer.get("/evidence/").content.decode()
    again = bench.post("/evidence/file/", sent(friend=friend.pk)).context["kept"].word
    bench.post("/evidence/file/", {**form, "kept": again})
    assert "put away as the last file was" in bench.get(at).content.decode()
    bench.post(at, {"out": "1"})
    row.refresh_from_db()
    assert not row.put_away
    assert bench.post(f"{at}delete/").status_code == 403
    assert owner.post(f"{at}delete/").status_code == 302
    assert not EvidenceTaken.objects.exists()


def test_a_need_says_on_its_page_who_found_that_it_serves(sign_in: Any) -> None:
    need = NeedFactory(of=of(WANTED))
    stock(1, part=PartFactory(of=of(OFFERED)))
    taken(substitutions=[TRIED])
    page = sign_in("viewer").get(f"/needs/{need.pk}/").content.decode()
    assert "by Fenland, not here" in page
