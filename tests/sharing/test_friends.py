"""What can be spared, what is lacking, who has it, and how it comes; nothing leaves that was not ticked."""

import json
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from jsonschema import Draft202012Validator

from inventory.ledger import Spot
from inventory.models import Lot, Movement, Part
from inventory.refusals import Refused
from repairs import demo, loans, reservations
from repairs.friends import exchange, lists
from repairs.friends.files import BadFile
from repairs.friends.match import friends
from repairs.friends.spare import spare_and_lacking, spare_document, tick
from repairs.sharing_models import Friend, FriendAsk, FriendLine
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    spec,
    stock,
)  # fmt: skip

pytestmark = pytest.mark.django_db

LEAST = {"format": "rehome-spare", "version": 1, "made": "2026-11-20"}
CHIP = {"kind": "ic", "number": "4116"}
RESISTOR = {"kind": "resistor", "value": "4k7", "tolerance_percent": "5", "watts": "0.25"}


def a_list(*spare: Any, **given: Any) -> lists.SpareDocument:
    entries = [
        {"line": f"L{index}", "spec": each, "quantity": 2, "condition": "good"}
        for index, each in enumerate(spare, 1)
    ]
    return lists.read_list(json.dumps({**LEAST, "spare": entries, **given}).encode())


def friend_with(*spare: Any, name: str = "Fenland", postage: str | None = "4.20", **given: Any) -> Friend:
    friend = Friend.objects.create(name=name, postage=postage and Decimal(postage))
    exchange.take_list(friend, a_list(*spare, **given))
    return friend


# --- what can be spared


def test_what_jobs_and_the_reorder_level_want_is_not_spare() -> None:
    here = stock(10)
    Part.objects.filter(pk=here.lot.part_id).update(reorder_at=3)
    NeedFactory(quantity=2)
    reservations.reserve(NeedFactory(), here, 1, by=None)
    [line] = spare_and_lacking().spare
    assert (line.free, line.spare, line.ticked) == (9, 4, 0)
    assert line.kept == ["2 wanted by open jobs", "3 kept by its reorder level"]


def test_only_good_and_untested_pieces_in_drawers_that_are_owed_to_nobody_are_spare() -> None:
    for condition in ("faulty", "suspect"):
        stock(5, condition=condition)
    stock(5, place=PlaceFactory(type="person"))
    lender = BoardFactory(purpose="working", design=DesignFactory(positions={"R1": spec()}))
    stock(1, place=lender.place, ref="R1")
    loans.borrow(lender, ["R1"], Spot(PlaceFactory().pk), by=None)
    assert spare_and_lacking().spare == []
    untested = stock(1, condition="untested").lot
    tick({untested.pk: 1}, {}, {}, by=None)
    assert [entry.condition for entry in spare_document().spare] == ["untested"], "it is never called good"


def test_nothing_is_given_away_that_the_owner_did_not_tick() -> None:
    here, other = stock(5), stock(5, part=PartFactory(of=spec("resistor", "1k")))
    NeedFactory(of=spec("ic", None, number="4116"))
    assert spare_document().spare == spare_document().lacking == []
    [lack] = spare_and_lacking().lacking
    tick({here.lot_id: 2}, {other.lot_id: True}, {lack.requirement: True}, by=None)
    made = spare_document()
    assert [(entry.line, entry.quantity) for entry in made.spare] == [(f"L{here.lot_id}", 2)]
    assert [entry.spec["number"] for entry in made.lacking] == ["4116"]
    kept = {line.lot: line for line in spare_and_lacking().spare}[other.lot_id]
    assert (kept.spare, kept.kept) == (0, ["you keep it back"])
    NeedFactory(quantity=4)
    assert [entry.quantity for entry in spare_document().spare] == [1], "a job that comes later goes first"
    with pytest.raises(Refused) as refused:
        tick({other.lot_id: 1}, {}, {}, by=None)
    assert refused.value.code == "not_enough"
    for marks in (({999: 1}, {}, {}), ({}, {}, {999999: True})):
        with pytest.raises(Refused) as refused:
            tick(*marks, by=None)
        assert refused.value.code == "does_not_exist"


def test_the_list_names_no_person_board_drawer_or_price() -> None:
    board = BoardFactory(name="Secret pier board", design=DesignFactory(name="Plover"))
    here = stock(1, place=PlaceFactory(name="Secret drawer"), source="board", board=board)
    Lot.objects.filter(pk=here.lot_id).update(note="Secret note", origin_ref="R7")
    Part.objects.filter(pk=here.lot.part_id).update(name="Secret name", price="9.87")
    tick({here.lot_id: 1}, {}, {}, by=None)
    text = lists.as_text(spare_document()).decode()
    assert "Secret" not in text
    assert "9.87" not in text
    assert '"came_off": "Plover A"' in text
    assert '"came_off_ref": "R7"' in text
    assert not list(Draft202012Validator(lists.schema()).iter_errors(json.loads(text)))
    assert lists.as_text(lists.read_list(text.encode())).decode() == text


@pytest.mark.parametrize(
    ("part", "why"),
    [
        (spec("other", None, number="lithium cell, Li-SOCl2"), "never posted"),  # common practice, no source
        (spec("capacitor", "100n", dielectric="paper"), "PCB"),  # common practice, no source
        (
            spec("capacitor", "100n", volts=Decimal(275), safety_class="x2"),
            "marking legible",
        ),  # practice.md 1
        (spec("fuse", None, amps=Decimal(1), volts=Decimal(250)), "marking legible"),
    ],
)
def test_what_could_hurt_is_not_posted_and_safety_parts_only_with_their_marking(part: Any, why: str) -> None:
    here = stock(2, part=PartFactory(of=part))
    [line] = spare_and_lacking().spare
    assert line.spare == 0
    assert why in line.kept[0]
    if "marking" in why:
        Lot.objects.filter(pk=here.lot_id).update(marking="legible")
        [line] = spare_and_lacking().spare
        assert line.spare == 2
        assert "check the marking" in line.caution


# --- lists that come in


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"format": "rehome-design"}, "another_kind_of_file"), ({"version": 9}, "newer_file"),
        ({"owner": "x"}, "unreadable"), ({"made": "yesterday"}, "unreadable"),
        ({"spare": [{"line": "L1", "spec": CHIP, "quantity": 1, "condition": "faulty"}]}, "unreadable"),
        ({"spare": [{"line": "L1", "spec": {"kind": "wand"}, "quantity": 1}]}, "unreadable"),
        ({"spare": [{"line": "L1", "spec": CHIP, "quantity": 1}] * 2}, "unreadable"),
        ({"spare": [{"line": "L1", "spec": CHIP, "quantity": 0}]}, "unreadable"),
        ({"spare": [{"line": "<b>", "spec": CHIP, "quantity": 1}]}, "unreadable"),
    ],
)  # fmt: skip
def test_a_list_that_is_none_is_refused(given: dict[str, Any], code: str) -> None:
    with pytest.raises(BadFile) as refused:
        lists.read_list(json.dumps({**LEAST, **given}).encode())
    assert refused.value.code == code


def test_a_list_replaces_the_last_one_and_never_a_newer_one() -> None:
    friend = friend_with(CHIP, RESISTOR)
    exchange.take_list(friend, a_list(RESISTOR, made="2026-11-22"))
    assert friend.lines.count() == 1
    with pytest.raises(Refused) as refused:
        exchange.take_list(friend, a_list(CHIP, made="2026-11-21"))
    assert refused.value.code == "stale"


def test_a_list_of_a_day_that_is_to_come_keeps_no_later_one_out() -> None:
    friend = friend_with(CHIP, made="3026-01-01")
    exchange.take_list(friend, a_list(RESISTOR, made="2026-11-22"))
    assert [line.spec.kind for line in friend.lines.all()] == ["resistor"]
    friend.refresh_from_db()
    assert str(friend.made) == "2026-11-22"


def test_a_list_of_a_day_that_is_in_no_calendar_is_refused(bench: Any) -> None:
    friend = friend_with(CHIP)
    for made in ("2026-02-31", "0000-01-01"):
        file = SimpleUploadedFile("x.json", json.dumps({**LEAST, "made": made}).encode())
        refused = bench.post(f"/api/v1/friends/{friend.pk}/list/", {"file": file}, format="multipart")
        assert (refused.status_code, refused.json()["code"]) == (422, "unreadable")
        assert "/made" in refused.json()["detail"]


def test_postage_is_read_alike_with_a_comma(bench: Any) -> None:
    made = bench.post("/api/v1/friends/", {"name": "Fenland", "postage": "2,10"})
    assert (made.status_code, made.json().get("postage")) == (201, "2.1")
    assert bench.post("/api/v1/friends/", {"name": "Other", "postage": "1,234"}).status_code == 400
    call_command("friends", "add", "Cranmere", "--postage", "2,10")
    assert Friend.objects.get(name="Cranmere").postage == Decimal("2.10")
    assert bench.get("/api/v1/buy/?postage=2,10").status_code == 200


# --- who has it, and how it comes


def test_who_has_what_we_lack_is_judged_as_our_own_pieces_are() -> None:
    job = JobFactory(name="Mend the Tern")
    NeedFactory(job=job, of=spec(tolerance_percent=Decimal(5), watts=Decimal("0.25")))
    friend_with(RESISTOR, {**RESISTOR, "tolerance_percent": "1"}, {**RESISTOR, "value": "47k"})
    answer = friends()
    assert sorted((row.spec_text[:6], row.grade) for row in answer.have) == [
        ("4k7 1 ", "drop_in"),
        ("4k7 5 ", "same"),
    ]
    assert answer.parcels.closes == ["Mend the Tern"]
    stock(1)
    assert friends().have == [], "what lies in a drawer of ours is not asked of anybody"


def test_what_needs_a_persons_decision_is_shown_and_closes_nothing() -> None:
    NeedFactory(of=spec("capacitor", "100n", volts=Decimal(63), dielectric="film"))
    friend_with(
        {"kind": "capacitor", "value": "100n", "dielectric": "film"}
    )  # volts not marked: never assumed
    answer = friends()
    assert [row.grade for row in answer.have] == ["ask"]
    assert answer.parcels.parcels == []


def test_what_is_short_says_which_friend_has_it_and_stays_short(viewer: Any, sign_in: Any) -> None:
    need = NeedFactory(of=spec(tolerance_percent=Decimal(5), watts=Decimal("0.25")))
    friend_with(RESISTOR, {**RESISTOR, "value": "47k"})
    [row] = viewer.get("/api/v1/shortages/").json()["results"]
    assert row["short"] == 1
    [told] = row["friends"]
    assert (told["friend_name"], told["quantity"], told["grade"]) == ("Fenland", 2, "same")
    page = sign_in("viewer").get(f"/shortages/{need.spec_id}/").content.decode()
    assert "A friend has it" in page
    exchange.ask(FriendLine.objects.earliest("id"), 1, job=need.job, required=need.spec)
    [row] = viewer.get("/api/v1/shortages/").json()["results"]
    assert (row["short"], row["friends"][0]["quantity"]) == (1, 1), "asked for is not promised"
    stock(1)
    [row] = viewer.get("/api/v1/shortages/").json()["results"]
    assert (row["short"], row["friends"]) == (0, [])


def test_whom_we_could_help() -> None:
    friend_with(lacking=[{"spec": RESISTOR, "quantity": 3}, {"spec": {"kind": "lamp"}, "quantity": 1}])
    here = stock(5)
    [row] = friends().help
    assert (row.lot, row.wants, row.spare, row.grade) == (here.lot_id, 3, 5, "same")


def test_a_piece_is_asked_for_confirmed_sent_and_arrives_with_whose_it_was_and_what_it_came_off() -> None:
    entry = {"line": "L12", "spec": CHIP, "quantity": 2, "condition": "good", "came_off": "Tern TR6 C",
             "came_off_ref": "IC7", "marking": "4116-3"}  # fmt: skip
    need = NeedFactory(of=spec("ic", None, number="4116"))
    friend = friend_with(spare=[entry])
    [has] = friends().have
    line = FriendLine.objects.get(pk=has.line)
    asked = exchange.ask(line, 1, job=need.job, required=need.spec)
    assert friends().have == friends().parcels.parcels == [], "it is not asked for twice"
    assert spare_and_lacking().lacking, "and it is not promised either: the job still lacks it"
    with pytest.raises(Refused) as refused:
        exchange.ask(line, 2)
    assert (refused.value.code, refused.value.facts["available"]) == ("not_enough", 1)
    exchange.move_on(asked, "confirmed", by=None)
    exchange.take_list(friend, a_list(made="2026-11-25"))
    exchange.move_on(asked, "sent", by=None)
    with pytest.raises(Refused) as refused:
        exchange.move_on(asked, "confirmed", by=None)
    assert refused.value.code == "contradiction"
    with pytest.raises(Refused) as refused:
        exchange.move_on(asked, "arrived", by=None)
    assert refused.value.code == "required"
    came = exchange.move_on(asked, "arrived", by=None, to=Spot(PlaceFactory().pk))
    assert came.lot is not None
    assert came.lot.origin_from == "Fenland: Tern TR6 C, IC7 (their L12)"
    assert (came.lot.origin_source, came.lot.marking) == ("donated", "4116-3")
    assert came.lot.condition == "untested", "good at their bench is tested here first"
    reservations.reverse(Movement.objects.get(lot=came.lot), by=None)
    came.refresh_from_db()
    assert (came.state, came.lot) == ("sent", None)


def test_the_friends_of_the_demo_close_two_of_its_shortages_in_one_parcel() -> None:
    demo.load(by=None)
    plan = friends().parcels
    assert plan.closes == ["Merlin pen driver"]
    [parcel] = plan.parcels
    assert (parcel.friend_name, len(parcel.lines)) == ("Fenland Repair Evening", 2)


# --- over the API, by command, on pages


def test_over_the_api(owner: Any, bench: Any, viewer: Any) -> None:
    here, need = stock(5), NeedFactory(of=spec("ic", None, number="4116"))
    marks = {
        "lots": [{"lot": here.lot_id, "give": 2}],
        "lacking": [{"requirement": need.spec_id, "tell": True}],
    }
    assert bench.put("/api/v1/spare/", marks).status_code == 403
    assert owner.put("/api/v1/spare/", marks).json()["spare"][0]["ticked"] == 2
    more = owner.put("/api/v1/spare/", {"lots": [{"lot": here.lot_id, "give": 9}]})
    assert (more.status_code, more.json()["available"]) == (409, 5)
    file = viewer.get("/api/v1/spare/file/")
    assert lists.read_list(file.content).spare[0].quantity == 2
    assert viewer.get("/api/v1/schemas/spare.json").json()["required"] == ["format", "version", "made"]
    made = bench.post("/api/v1/friends/", {"name": "Fenland", "postage": "4.20"})
    assert made.status_code == 201
    at = f"/api/v1/friends/{made.json()['id']}/"
    assert bench.post("/api/v1/friends/", {"name": "Fenland"}).json()["code"] == "taken"
    assert bench.patch(at, {"reach": "by post"}, headers={"If-Match": '"1"'}).json()["reach"] == "by post"
    assert bench.patch(at, {"reach": "x"}, headers={"If-Match": '"1"'}).status_code == 412

    def sent(document: lists.SpareDocument, **more: Any) -> dict[str, Any]:
        return {"file": SimpleUploadedFile("spare.json", lists.as_text(document)), **more}

    looked = bench.post(f"{at}list/", sent(a_list(CHIP), dry_run=True), format="multipart")
    assert (looked.json()["spare"], FriendLine.objects.count()) == (1, 0)
    assert bench.post(f"{at}list/", sent(a_list(CHIP)), format="multipart").status_code == 200
    bad = bench.post(f"{at}list/", {"file": SimpleUploadedFile("x.json", b"{}")}, format="multipart")
    assert (bad.status_code, bad.json()["code"]) == (415, "another_kind_of_file")
    answer = viewer.get("/api/v1/friends/").json()
    [line] = answer["parcels"]["parcels"][0]["lines"]
    body = {name: line[name] for name in ("line", "quantity", "job", "requirement")}
    asked = bench.post("/api/v1/friends/asks/", body)
    assert asked.status_code == 201
    mine = f"/api/v1/friends/asks/{asked.json()['id']}/"
    assert viewer.get("/api/v1/friends/asks/").json()["results"] == [viewer.get(mine).json()]
    assert bench.post(mine, {"state": "arrived"}).json()["code"] == "required"
    assert bench.post(mine, {"state": "arrived", "to": PlaceFactory().pk}).json()["lot"]
    assert owner.delete(at).json()["code"] == "in_use"


def test_what_was_asked_of_friends_is_a_list_like_every_other(bench: Any, viewer: Any) -> None:
    at = "/api/v1/friends/asks/"
    fenland, lantern = friend_with(CHIP, name="Fenland"), friend_with(CHIP, name="Lantern Street")
    first, second = (exchange.ask(FriendLine.objects.get(friend=each), 1) for each in (fenland, lantern))
    cursor = viewer.get(f"{at}?changed_since=start").json()["cursor"]
    page = viewer.get(f"{at}?page_size=1").json()
    assert (page["count"], [row["id"] for row in page["results"]]) == (2, [second.pk]), "newest first"
    assert [row["id"] for row in viewer.get(page["next"]).json()["results"]] == [first.pk]
    for asked, found in (
        (f"friend={fenland.pk}", 1), ("q=Lantern", 1), ("q=4116", 2), ("state=asked", 2), ("state=sent", 0),
    ):  # fmt: skip
        assert viewer.get(f"{at}?{asked}").json()["count"] == found, asked
    assert viewer.get(f"{at}?status=sent").json()["errors"][0]["code"] == "unknown"
    mine = f"{at}{first.pk}/"
    stale = viewer.get(mine).headers["ETag"]
    moved = bench.post(mine, {"state": "confirmed"}, headers={"If-Match": stale})
    assert (moved.status_code, moved.json()["state"]) == (200, "confirmed")
    assert bench.post(mine, {"state": "sent"}, headers={"If-Match": stale}).status_code == 412
    since = viewer.get(f"{at}?changed_since={cursor}").json()["results"]
    assert [(row["id"], row["state"]) for row in since] == [(first.pk, "confirmed")]


def test_a_friend_of_whom_all_that_was_asked_was_cancelled_can_be_deleted(owner: Any) -> None:
    friend = friend_with(CHIP)
    asked = [exchange.ask(FriendLine.objects.get(), 1) for _twice in range(2)]
    exchange.move_on(asked[0], "cancelled", by=None)
    assert owner.delete(f"/api/v1/friends/{friend.pk}/").json()["code"] == "in_use"
    assert FriendAsk.objects.count() == 2, "the one that was cancelled too"
    exchange.move_on(asked[1], "cancelled", by=None)
    assert owner.delete(f"/api/v1/friends/{friend.pk}/").status_code == 204
    assert not FriendAsk.objects.exists()
    exchange.forget(friend)  # as by a twin at the same moment


def test_by_command(tmp_path: Any, capsys: Any) -> None:
    here, need, tray = stock(5), NeedFactory(of=spec("ic", None, number="4116")), PlaceFactory()
    call_command("spare", "tick", "--give", f"{here.lot_id}=2", "--tell", str(need.spec_id))
    mine, theirs = tmp_path / "mine.json", tmp_path / "theirs.json"
    call_command("spare", "export", str(mine))
    assert replace(lists.read_list(mine.read_bytes()), signature=None) == spare_document()
    theirs.write_bytes(lists.as_text(a_list(CHIP)))
    call_command("friends", "add", "Fenland", "--postage", "4.20")
    call_command("friends", "list", "Fenland", str(theirs))
    capsys.readouterr()
    call_command("friends", "--json")
    assert json.loads(capsys.readouterr().out)["parcels"]["postage"] == "4.2"
    call_command("friends")
    assert f"close {need.job}" in capsys.readouterr().out
    call_command("friends", "ask", str(FriendLine.objects.get().pk))
    asked = FriendAsk.objects.get()
    call_command("friends", "move", str(asked.pk), "arrived", "--to", tray.name)
    assert Lot.objects.filter(friend_ask=asked).exists()
    call_command("spare", "--json")
    for wrong in (
        ["friends", "add", "Fenland"], ["friends", "add", "Other", "--postage", "x"],
        ["friends", "ask", "999"],
        ["friends", "list", "Nobody", str(theirs)], ["friends", "list", "Fenland", str(tmp_path / "none")],
        ["friends", "list", "Fenland", __file__], ["friends", "move", "999", "sent"],
        ["friends", "move", str(asked.pk), "sent"], ["spare", "tick", "--give", "x=1"],
        ["spare", "tick", "--give", f"{here.lot_id}=99"],
    ):  # fmt: skip
        with pytest.raises(CommandError):
            call_command(*wrong)


def test_on_pages(sign_in: Any) -> None:
    owner, viewer = sign_in("owner"), sign_in("viewer")
    here, need, tray = stock(5), NeedFactory(of=spec("ic", None, number="4116")), PlaceFactory()
    assert (
        owner.post("/friends/", {"name": "Fenland <b>", "reach": "by post", "postage": "4,20"}).status_code
        == 302
    )
    friend = Friend.objects.get()
    assert friend.postage == Decimal("4.20")
    for wrong in ({"name": ""}, {"name": "Fenland <b>"}, {"name": "x", "postage": "much"}):
        assert owner.post("/friends/", wrong).status_code == 400
    bench = sign_in("bench")
    other = Friend.objects.create(name="Cranmere")
    changed = {"name": "Cranmere boats", "reach": "by hand", "postage": "1.5"}
    assert viewer.post(f"/friends/{other.pk}/", changed).status_code == 403
    assert bench.post(f"/friends/{other.pk}/", changed).status_code == 302
    other.refresh_from_db()
    assert (other.name, other.reach, other.postage) == ("Cranmere boats", "by hand", Decimal("1.50"))
    assert bench.post(f"/friends/{other.pk}/", {**changed, "name": "Fenland <b>"}).status_code == 302
    assert "is on the list already" in bench.get("/friends/").content.decode()
    other.refresh_from_db()
    assert other.name == "Cranmere boats"
    assert bench.post(f"/friends/{other.pk}/forget/").status_code == 403
    assert owner.post(f"/friends/{other.pk}/forget/").status_code == 302
    assert Friend.objects.get() == friend
    file = SimpleUploadedFile("spare.json", lists.as_text(a_list(CHIP)))
    assert owner.post(f"/friends/{friend.pk}/list/", {"file": file}).status_code == 302
    page = viewer.get("/friends/").content.decode()
    assert "1 parcel closes 1 job" in " ".join(page.split()).replace("<strong>", "")
    assert "Fenland &lt;b&gt;" in page
    assert "<b>" not in page
    line = FriendLine.objects.get()
    form = {"line": line.pk, "quantity": 1, "job": need.job_id, "requirement": need.spec_id}
    assert viewer.post("/friends/ask/", form).status_code == 403
    assert owner.post("/friends/ask/", form).status_code == 302
    asked = FriendAsk.objects.get()
    assert asked.required == need.spec
    owner.post(f"/friends/{friend.pk}/forget/")
    assert "pieces were asked of it" in owner.get("/friends/").content.decode()
    assert Friend.objects.get() == friend
    owner.post(f"/friends/asked/{asked.pk}/", {"state": "arrived", "to": tray.pk})
    asked.refresh_from_db()
    assert asked.lot is not None
    ticks = {"lot": [here.lot_id], f"give {here.lot_id}": "2", "requirement": [need.spec_id]}
    assert viewer.post("/spare/", ticks).status_code == 403
    assert owner.post("/spare/", ticks).status_code == 302
    assert spare_document().spare[0].quantity == 2
    assert "2 pieces" in viewer.get("/spare/").content.decode()
    owner.post("/spare/", {"lot": [here.lot_id], f"keep {here.lot_id}": "on"})
    assert spare_document().spare == []


def test_a_count_to_give_that_is_none_is_refused_and_takes_no_tick_away(sign_in: Any) -> None:
    owner, here = sign_in("owner"), stock(5)
    owner.post("/spare/", {"lot": [here.lot_id], f"give {here.lot_id}": "2"})
    form = {"lot": [here.lot_id], f"give {here.lot_id}": "3 x", "next": "/spare/"}
    page = owner.post("/spare/", form, follow=True).content.decode()
    assert "3 x is no count of pieces" in page
    assert [line.quantity for line in spare_document().spare] == [2]


def test_all_that_the_lots_of_a_page_can_spare_is_ticked_by_one_press(sign_in: Any) -> None:
    shown, kept, of_another_page = stock(5), stock(4), stock(3)
    form = {"lot": [shown.lot_id, kept.lot_id], f"keep {kept.lot_id}": "on", "all": ""}
    sign_in("owner").post("/spare/", form)
    assert [(line.lot, line.ticked) for line in spare_and_lacking().spare if line.ticked] == [
        (shown.lot_id, 5)
    ]
    assert {line.lot for line in spare_and_lacking().spare} >= {kept.lot_id, of_another_page.lot_id}


def test_shortages_beyond_the_first_page_can_be_told_too(
    sign_in: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("repairs.pages.friends.MAX_SHOWN", 1)
    needs = [NeedFactory(of=spec("resistor", ohms)) for ohms in ("470", "680")]
    owner = sign_in("owner")
    shown = "".join(owner.get("/spare/", {"lack": leaf}).content.decode() for leaf in (1, 2))
    assert all(f'name="tell {need.spec_id}"' in shown for need in needs)


def test_a_persons_own_is_on_the_list_by_their_own_tick_alone(owner: Any, bench: Any) -> None:
    here, merle = stock(3), User.objects.get(username="bench")
    Lot.objects.filter(pk=here.lot_id).update(owner=merle)
    body = {"lots": [{"lot": here.lot_id, "give": 2}]}
    refused = owner.put("/api/v1/spare/", body, format="json")
    assert (refused.status_code, refused.json()["owner"]) == (409, "bench")
    assert bench.put("/api/v1/spare/", body, format="json").status_code == 200
    assert [line.quantity for line in spare_document().spare] == [2]
    shared = {"lots": [{"lot": stock(3).lot_id, "give": 1}]}
    assert bench.put("/api/v1/spare/", shared, format="json").status_code == 403
