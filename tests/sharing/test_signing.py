"""Files are signed, and a signature is believed only where it is true and by the key that is kept."""

import io
import json
import zipfile
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command

from inventory.refusals import Refused
from repairs import design_files
from repairs.friends import evidence, exchange, findings, lists
from repairs.friends.files import BadFile
from repairs.friends.keys import key_of_bench, signature_of
from repairs.friends.signing import canonical, fingerprint, is_true, public_key, read_key, sign
from repairs.sharing_models import BenchKey, DesignTaken, EvidenceTaken, Friend
from tests.factories import DesignFactory, spec

THEIRS = bytes(range(32))
"""The seed of another workshop."""
MADE = {"made": "2026-11-20", "version": 1}
SPARE = {"format": "rehome-spare", **MADE}

# RFC 8032, section 7.1, tests 1 to 3: seed, public key, message, signature.
VECTORS = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b"
        "d25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c"
        "387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc659"
        "4a7c15e9716ed28dc027beceea1ec40a",
    ),
]


@pytest.mark.parametrize(("seed", "key", "message", "value"), VECTORS)
def test_signatures_are_those_of_rfc_8032(seed: str, key: str, message: str, value: str) -> None:
    from base64 import b64decode

    made = sign(bytes.fromhex(seed), bytes.fromhex(message))
    assert b64decode(made.key).hex() == key
    assert b64decode(made.value).hex() == value
    assert is_true(made, bytes.fromhex(message))
    assert not is_true(made, bytes.fromhex(message) + b"x")


def test_the_form_that_is_signed_is_that_of_rfc_8785() -> None:
    """Section 3.2.2, its text and its literals, and section 3.2.3, the order of names."""
    text = '€$\u000f\nA\'B"\\\\"/'
    assert canonical({"string": text, "literals": [None, True, False]}) == (
        b'{"literals":[null,true,false],"string":"\xe2\x82\xac$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    names = {
        "\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One", "\U0001f600": "Emoji: Grinning Face", "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }  # fmt: skip
    assert list(json.loads(canonical(names)).values()) == [
        "Carriage Return", "One", "Control", "Latin Small Letter O With Diaeresis", "Euro Sign",
        "Emoji: Grinning Face", "Hebrew Letter Dalet With Dagesh",
    ]  # fmt: skip


def signed(plain: dict[str, Any], seed: bytes = THEIRS) -> bytes:
    made = sign(seed, canonical(plain))
    return json.dumps({**plain, "signature": {"key": made.key, "value": made.value}}).encode()


def changed(data: bytes, **given: Any) -> bytes:
    read = json.loads(data)
    signature = read.pop("signature")
    return json.dumps({**read, **given, "signature": signature}).encode()


def with_signature(signature: Any) -> bytes:
    return json.dumps({**SPARE, "signature": signature}).encode()


def test_a_file_in_any_layout_is_the_file_that_was_signed() -> None:
    data = signed(SPARE)
    assert lists.read_list(json.dumps(json.loads(data), indent=4).encode()).signature is not None
    backwards = dict(reversed(list(json.loads(data).items())))
    assert lists.read_list(json.dumps(backwards).encode()).signature is not None


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (changed(signed(SPARE), made="2026-11-21"), "false_signature"),
        (changed(signed(SPARE), spare=[]), "false_signature"),
        (with_signature({"key": public_key(THEIRS), "value": "A" * 86 + "=="}), "false_signature"),
        (with_signature({"key": public_key(THEIRS)}), "unreadable"),
        (with_signature("x"), "unreadable"),
        (
            changed(signed(SPARE), spare=[
                {"line": "L1", "quantity": 1, "spec": {"kind": "lamp", "volts": 1.5}}
            ]),
            "unreadable",
        ),
    ],
)  # fmt: skip
def test_what_was_changed_or_signs_nothing_is_refused(data: bytes, code: str) -> None:
    with pytest.raises(BadFile) as refused:
        lists.read_list(data)
    assert (refused.value.code, refused.value.status) == (code, 422)


def test_a_key_is_read_as_people_pass_it_on() -> None:
    key = public_key(THEIRS)
    assert read_key(f" {key[:20]}\n{key[20:]} ") == key
    assert len(fingerprint(key)) == 19
    for wrong in ("", "x", key[:-1], key[4:], "ü" * 44):
        with pytest.raises(Refused):
            read_key(wrong)


# --- at the bench


@pytest.mark.django_db
def test_what_is_given_away_is_signed_by_the_one_key_of_this_bench(owner: Any, viewer: Any) -> None:
    key = viewer.get("/api/v1/friends/key/").json()
    assert key == {"key": key_of_bench(), "fingerprint": fingerprint(key_of_bench())}
    spare = lists.read_list(viewer.get("/api/v1/spare/file/").content)
    found = evidence.read_evidence(viewer.get("/api/v1/evidence/file/").content)
    assert spare.signature is not None
    assert found.signature is not None
    assert {spare.signature.key, found.signature.key} == {key["key"]}
    seed = BenchKey.objects.get().seed
    for address in ("friends/key/", "friends/", "settings/", "openapi.json"):
        assert seed not in owner.get(f"/api/v1/{address}").content.decode()


@pytest.mark.django_db
def test_a_friend_whose_key_is_kept_gives_nothing_that_is_not_signed_by_it(bench: Any) -> None:
    friend = Friend.objects.create(name="Fenland")
    unknown = exchange.take_list(friend, lists.read_list(signed(SPARE)))
    assert unknown.signed_by == f"an unknown key, {fingerprint(public_key(THEIRS))}"
    at = f"/api/v1/friends/{friend.pk}/"
    assert bench.patch(at, {"key": "x"}).status_code == 400
    assert bench.patch(at, {"key": public_key(THEIRS)}).json()["key"] == public_key(THEIRS)
    friend.refresh_from_db()
    assert exchange.take_list(friend, lists.read_list(signed(SPARE))).signed_by == "Fenland"
    unsigned, other = json.dumps(SPARE).encode(), signed(SPARE, bytes(32))
    for data, why in ((unsigned, "it is not signed"), (other, "an unknown key")):
        file = {"file": SimpleUploadedFile("spare.json", data), "dry_run": True}
        refused = bench.post(f"{at}list/", file, format="multipart")
        assert (refused.status_code, refused.json()["code"]) == (409, "not_signed")
        assert why in refused.json()["detail"]
        assert "ask for one that is signed" in refused.json()["detail"]
    with pytest.raises(Refused) as told:
        findings.take(evidence.EvidenceDocument("rehome-evidence", 1, "2026-11-20"), "", friend, by=None)
    assert told.value.code == "not_signed"
    theirs = {"format": "rehome-evidence", **MADE}
    findings.take(evidence.read_evidence(signed(theirs)), "", friend, by=None)
    assert EvidenceTaken.objects.get().signed_by == "Fenland"
    assert bench.get("/api/v1/friends/").json()["friends"][0]["signed_by"] == "Fenland"


@pytest.mark.django_db
def test_one_key_is_kept_of_one_friend(bench: Any, sign_in: Any) -> None:
    key = public_key(THEIRS)
    fenland = Friend.objects.create(name="Fenland", key=key)
    other = Friend.objects.create(name="Cranmere")
    at = f"/api/v1/friends/{other.pk}/"
    for refused in (bench.patch(at, {"key": key}), bench.post("/api/v1/friends/", {"name": "x", "key": key})):
        assert (refused.status_code, refused.json()["code"]) == (409, "taken")
        assert "Fenland" in refused.json()["detail"]
    with pytest.raises(CommandError, match="Fenland"):
        call_command("friends", "key", "Cranmere", key)
    client = sign_in("owner")
    client.post(f"/friends/{other.pk}/", {"name": "Cranmere", "key": key})
    assert client.post("/friends/", {"name": "x", "key": key}).status_code == 400
    assert [*Friend.objects.filter(key=key)] == [fenland]
    assert bench.patch(f"/api/v1/friends/{fenland.pk}/", {"key": key}).status_code == 200
    client.post(f"/friends/{fenland.pk}/", {"name": "Fenland boats", "key": key})
    assert Friend.objects.get(key=key).name == "Fenland boats"


@pytest.mark.django_db
def test_the_zip_of_a_design_says_who_signed_it_and_a_changed_one_is_refused() -> None:
    design = DesignFactory(name="Plover", positions={"R1": spec()})
    file = design_files.file_of(design)
    opened = design_files.read(file)
    assert opened.signature == signature_of(zipfile.ZipFile(io.BytesIO(file)).read("design.json"))
    taken, _merged = design_files.import_design(opened, design, by=None)
    assert taken.signed_by == "this bench"

    def zipped(data: bytes) -> bytes:
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            text = json.dumps({"format": "rehome-design", "version": 1, "name": "Dunlin"})
            archive.writestr("design.json", text)
            archive.writestr("signature.json", data)
        return out.getvalue()

    Friend.objects.create(name="Fenland", key=public_key(THEIRS))
    text = json.dumps({"format": "rehome-design", "version": 1, "name": "Dunlin"}).encode()
    true = sign(THEIRS, text)
    good = design_files.read(zipped(json.dumps(vars(true)).encode()))
    design_files.import_design(good, None, by=None)
    assert DesignTaken.objects.latest("id").signed_by == "Fenland"
    other = sign(THEIRS, b"another")
    for data, code in (
        (json.dumps(vars(other)).encode(), "false_signature"), (b"{}", "unreadable"), (b"x", "unreadable"),
        (b" " * 5000, "too_large"),
    ):  # fmt: skip
        with pytest.raises(BadFile) as refused:
            design_files.read(zipped(data))
        assert refused.value.code == code


@pytest.mark.django_db
def test_keys_by_command_and_on_the_page(tmp_path: Any, capsys: Any, sign_in: Any) -> None:
    friend = Friend.objects.create(name="Fenland")
    call_command("friends", "key")
    assert key_of_bench() in capsys.readouterr().out
    call_command("friends", "key", "--json")
    assert json.loads(capsys.readouterr().out)["fingerprint"] == fingerprint(key_of_bench())
    call_command("friends", "key", "Fenland", public_key(THEIRS))
    call_command("friends", "key", "Fenland")
    assert public_key(THEIRS) in capsys.readouterr().out
    theirs = tmp_path / "theirs.json"
    theirs.write_bytes(json.dumps(SPARE).encode())
    for wrong in (["key", "Fenland", "x"], ["key", "Nobody"], ["list", "Fenland", str(theirs)]):
        with pytest.raises(CommandError):
            call_command("friends", *wrong)
    theirs.write_bytes(signed(SPARE))
    call_command("friends", "list", "Fenland", str(theirs))
    assert "signed by Fenland" in capsys.readouterr().out
    call_command("spare", "export", str(theirs))
    assert lists.read_list(theirs.read_bytes()).signature is not None
    page = sign_in("bench").get("/friends/").content.decode()
    assert key_of_bench() in page
    assert "signed by Fenland" in page
    form = {"name": "Fenland", "key": "x"}
    client = sign_in("owner")
    client.post(f"/friends/{friend.pk}/", form)
    friend.refresh_from_db()
    assert friend.key == public_key(THEIRS)
    client.post(f"/friends/{friend.pk}/", {"name": "Fenland", "key": ""})
    friend.refresh_from_db()
    assert friend.key == ""


def a_designs_file(seed: bytes | None) -> bytes:
    """A design with what was seen on it, signed by whose seed it is."""
    seen = [{"symptom": "no sync", "cause": "C5 dried out"}]
    text = json.dumps({"format": "rehome-design", "version": 1, "name": "Dunlin", "seen": seen}).encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("design.json", text)
        if seed is not None:
            archive.writestr("signature.json", json.dumps(vars(sign(seed, text))))
    return out.getvalue()


@pytest.mark.django_db
def test_a_designs_file_is_of_the_friend_who_signed_it_or_who_is_named(bench: Any, viewer: Any) -> None:
    fenland = Friend.objects.create(name="Fenland", key=public_key(THEIRS))
    harbour = Friend.objects.create(name="Harbour")

    def brought(data: bytes, **given: Any) -> Any:
        file = SimpleUploadedFile("d.zip", data)
        return bench.post("/api/v1/designs/file/", {"file": file, **given}, format="multipart")

    assert brought(a_designs_file(THEIRS), dry_run=True).json()["friend"] == fenland.pk
    assert brought(a_designs_file(None), dry_run=True).json()["friend"] is None
    refused = brought(a_designs_file(None), friend=fenland.pk)
    assert (refused.status_code, refused.json()["code"]) == (409, "not_signed")
    assert brought(a_designs_file(None), friend=999).status_code == 400
    assert not DesignTaken.objects.exists(), "nothing came in by what was refused"
    assert brought(a_designs_file(None), friend=harbour.pk).json()["friend"] == harbour.pk
    taken = DesignTaken.objects.get()
    assert taken.friend == harbour
    [record] = taken.design.records.all()
    assert record.credit == "by Harbour's file"
    file = design_files.file_of(taken.design)
    [seen] = design_files.read(file).document.seen
    assert seen.source == "", "what goes on to others names no friend that they did not name"


@pytest.mark.django_db
def test_whose_a_designs_file_is_by_command_and_on_the_page(tmp_path: Any, capsys: Any, sign_in: Any) -> None:
    fenland = Friend.objects.create(name="Fenland", key=public_key(THEIRS))
    Friend.objects.create(name="Harbour")
    file = tmp_path / "d.zip"
    file.write_bytes(a_designs_file(THEIRS))
    call_command("design", "import", str(file), "--dry-run")
    assert "of Fenland" in capsys.readouterr().out
    with pytest.raises(CommandError, match="nobody"):
        call_command("design", "import", str(file), "--friend", "nobody")
    client = sign_in("bench")
    sent = {"file": SimpleUploadedFile("d.zip", a_designs_file(None)), "friend": str(fenland.pk)}
    assert client.post("/designs/bring/", sent).status_code == 400
    seen = client.post("/designs/bring/", {"file": SimpleUploadedFile("d.zip", a_designs_file(THEIRS))})
    assert "The file of Fenland. Signed by Fenland." in seen.content.decode()
    kept = {"kept": seen.context["kept"].word, "keep": "1", "friend": str(fenland.pk)}
    assert client.post("/designs/bring/", kept).status_code == 302
    assert DesignTaken.objects.get().friend == fenland


@pytest.mark.django_db
def test_what_one_friend_signed_is_of_no_other(tmp_path: Any, bench: Any, sign_in: Any) -> None:
    Friend.objects.create(name="Fenland", key=public_key(THEIRS))
    harbour = Friend.objects.create(name="Harbour")
    found = {"format": "rehome-evidence", **MADE}
    files = {
        "designs/file/": a_designs_file(THEIRS),
        "evidence/file/": signed(found),
        f"friends/{harbour.pk}/list/": signed(SPARE),
    }
    for at, data in files.items():
        for dry_run in (True, False):
            sent = {"file": SimpleUploadedFile("f", data), "dry_run": dry_run}
            named = {} if "list" in at else {"friend": harbour.pk}
            refused = bench.post(f"/api/v1/{at}", {**sent, **named}, format="multipart")
            assert (refused.status_code, refused.json()["code"]) == (409, "signed_by_another")
            assert "it is signed by Fenland, so it is not of Harbour" in refused.json()["detail"]
    assert not DesignTaken.objects.exists()
    assert not EvidenceTaken.objects.exists()
    client = sign_in("bench")
    for at, name in (("designs/bring/", "design.zip"), ("evidence/file/", "found.json")):
        data = files["designs/file/" if "designs" in at else at]
        sent = {"file": SimpleUploadedFile(name, data), "friend": str(harbour.pk)}
        page = client.post(f"/{at}", sent, follow=True).content.decode()
        assert "it is signed by Fenland" in page
    file = tmp_path / "found.json"
    file.write_bytes(signed(found))
    for named in (["--friend", "Harbour"], ["--source", "Harbour"]):
        with pytest.raises(CommandError, match="signed by Fenland"):
            call_command("evidence", "import", str(file), *named)
    own = bench.get("/api/v1/evidence/file/").content
    with pytest.raises(Refused, match="signed by this bench"):
        findings.look(evidence.read_evidence(own), "", harbour)


@pytest.mark.django_db
@pytest.mark.parametrize("said", [{"source": "Fenland"}, {}])
def test_evidence_that_says_a_friends_name_is_held_to_the_key_of_that_friend(said: dict[str, str]) -> None:
    fenland = Friend.objects.create(name="Fenland", key=public_key(THEIRS))
    found = {"format": "rehome-evidence", "author": "Fenland", **MADE}
    with pytest.raises(Refused) as refused:
        findings.take(evidence.read_evidence(json.dumps(found).encode()), **said, by=None)
    assert refused.value.code == "not_signed"
    taken, _seen = findings.take(evidence.read_evidence(signed(found)), **said, by=None)
    assert taken.friend == fenland


@pytest.mark.django_db
def test_a_friend_who_is_forgotten_is_still_known_by_name(bench: Any) -> None:
    friend = Friend.objects.create(name="Fenland", key=public_key(THEIRS))
    design_files.import_design(design_files.read(a_designs_file(THEIRS)), None, by=None)
    found = {"format": "rehome-evidence", **MADE}
    findings.take(evidence.read_evidence(signed(found)), "", friend, by=None)
    Friend.objects.update(name="Fenland Bench")
    friend.refresh_from_db()
    exchange.forget(friend)
    taken = DesignTaken.objects.get()
    assert (taken.friend, taken.friend_name) == (None, "Fenland Bench")
    assert [each.credit for each in design_files.records_of(taken.design)] == ["by Fenland Bench's file"]
    assert EvidenceTaken.objects.get().source == "Fenland"


@pytest.mark.django_db
def test_a_name_that_a_friend_had_does_not_take_the_place_of_its_evidence() -> None:
    friend = Friend.objects.create(name="Fenland", key=public_key(THEIRS))
    found = {"format": "rehome-evidence", "author": "Fenland", **MADE}
    findings.take(evidence.read_evidence(signed(found)), by=None)
    Friend.objects.update(name="Fenland Bench")
    with pytest.raises(Refused) as refused:
        findings.take(evidence.read_evidence(json.dumps(found).encode()), by=None)
    assert refused.value.code == "not_signed"
    taken, _seen = findings.take(evidence.read_evidence(signed(found)), by=None)
    assert (taken.friend, taken.source) == (friend, "Fenland Bench")


@pytest.mark.django_db
def test_a_blank_author_is_nobody() -> None:
    found = {"format": "rehome-evidence", "author": "  ", **MADE}
    with pytest.raises(Refused, match="say whose it is"):
        findings.look(evidence.read_evidence(json.dumps(found).encode()))
