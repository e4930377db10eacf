"""Signing in with a code besides the password, and the ways around a lost phone."""

from collections.abc import Callable, Iterator
from io import StringIO
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from django.urls import reverse

from inventory import second_factor
from inventory.guessing import MAX_FAILURES_OF_A_NAME
from inventory.keys import make_key
from inventory.ledger import Refused
from inventory.models import AccessChange, RecoveryCode, SecondFactor
from inventory.people import add_person
from inventory.second_factor import RECOVERY_CODES, STEP, factor_of, step_of

Enter = Callable[..., Client]
PASSWORD = "three-clipped-leads"
SIGN_IN, CODE, OWN = "/sign-in/", "/sign-in/code/", "/second-factor/"
NOW = 1_111_111_111.0

# RFC 6238, appendix B, SHA-1, secret "12345678901234567890": a code of six figures is the last six of eight.
RFC_SECRET = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
RFC_VECTORS = [
    (59, "94287082"), (1111111109, "07081804"), (1111111111, "14050471"), (1234567890, "89005924"),
    (2000000000, "69279037"), (20000000000, "65353130"),
]  # fmt: skip


@pytest.mark.parametrize(("seconds", "eight"), RFC_VECTORS)
def test_the_codes_are_those_of_the_standard(seconds: int, eight: str) -> None:
    assert step_of(RFC_SECRET, eight[-6:], seconds) == seconds // 30
    assert step_of(RFC_SECRET, f" {eight[-6:-3]} {eight[-3:]} ", seconds) == seconds // 30
    assert step_of(RFC_SECRET, eight, seconds) is None


@pytest.mark.parametrize(("later", "taken"), [(-60, False), (-30, True), (0, True), (30, True), (60, False)])
def test_a_phone_may_be_half_a_minute_off_and_no_more(later: int, taken: bool) -> None:
    """RFC 6238, 5.2 recommends one step for the delay of the network; either way here."""
    assert (step_of(RFC_SECRET, "050471", 1111111111 + later) is not None) == taken


@pytest.mark.parametrize("typed", ["", "x", "é" * 6, "\0", "٠٥٠٤٧١", "050471050471", "0" * 5000])
def test_what_is_no_code_is_none(typed: str) -> None:
    assert step_of(RFC_SECRET, typed, 1111111111) is None


class Clock:
    now = NOW

    def time(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Iterator[Clock]:
    clock = Clock()
    monkeypatch.setattr(second_factor, "time", clock)
    return clock


@pytest.fixture
def robin(db: None, clock: Clock) -> tuple[User, list[str]]:
    """An owner whose second factor is on, and the recovery codes."""
    person = add_person("robin", role="owner", password=PASSWORD)
    second_factor.offer(person)
    codes = second_factor.confirm(person, code_of(person, clock))
    clock.now += 10 * STEP
    assert codes is not None
    return person, codes


def code_of(person: User, clock: Clock) -> str:
    """What the app of this person shows."""
    import pyotp

    row = SecondFactor.objects.get(person=person)
    return pyotp.TOTP(second_factor._derived(row.nonce)).at(int(clock.now))


def half_in(address: str = "192.0.2.7") -> Client:
    client = Client(REMOTE_ADDR=address)
    answer = client.post(SIGN_IN, {"username": "robin", "password": PASSWORD, "next": "/jobs/"})
    assert answer["Location"] == CODE
    return client


def is_in(client: Client) -> bool:
    return client.get("/").status_code == 200


def test_the_password_alone_does_not_sign_in(robin: Any, clock: Clock) -> None:
    client = half_in()
    assert not is_in(client)
    assert client.get("/api/v1/lots/").status_code == 401
    assert "code" in client.get(CODE).content.decode()
    answer = client.post(CODE, {"code": code_of(robin[0], clock)})
    assert (answer["Location"], is_in(client)) == ("/jobs/", True)


@pytest.mark.parametrize("typed", ["", "000000", "aaaa-bbbb-cccc-dddd", "\0", "x" * 9000])
def test_a_wrong_code_signs_nobody_in(robin: Any, typed: str) -> None:
    client = half_in()
    answer = client.post(CODE, {"code": typed})
    assert (answer.status_code, is_in(client)) == (400, False)
    assert "used already" in answer.content.decode()


def test_a_code_is_taken_once(robin: Any, clock: Clock) -> None:
    """RFC 6238, 5.2: the verifier MUST NOT accept the second attempt of the OTP."""
    code = code_of(robin[0], clock)
    first, second = half_in(), half_in("192.0.2.8")
    first.post(CODE, {"code": code})
    assert second.post(CODE, {"code": code}).status_code == 400
    clock.now += STEP  # still within the window of a phone that is late
    assert second.post(CODE, {"code": code}).status_code == 400
    second.post(CODE, {"code": code_of(robin[0], clock)})
    assert (is_in(first), is_in(second)) == (True, True)


def test_each_recovery_code_signs_in_once(robin: Any) -> None:
    person, codes = robin
    assert len(set(codes)) == RECOVERY_CODES
    client = half_in()
    client.post(CODE, {"code": codes[0].upper().replace("-", " ")})
    assert is_in(client)
    again = half_in()
    assert again.post(CODE, {"code": codes[0]}).status_code == 400
    assert person.recovery_codes.count() == RECOVERY_CODES - 1
    assert AccessChange.objects.filter(person="robin", what="a recovery code was used, 7 are left").exists()


def test_codes_are_counted_with_passwords_and_over_all_addresses(robin: Any, clock: Clock) -> None:
    client = half_in()  # the right password counts until the code came
    for _guess in range(MAX_FAILURES_OF_A_NAME - 1):
        assert client.post(CODE, {"code": "000000"}).status_code == 400
    waits = client.post(CODE, {"code": code_of(robin[0], clock)})
    assert (waits.status_code, waits["Retry-After"]) == (429, "600")
    elsewhere = half_in("192.0.2.8")
    assert elsewhere.post(CODE, {"code": "000000"}).status_code == 400
    assert elsewhere.post(CODE, {"code": code_of(robin[0], clock)}).status_code == 429
    assert not is_in(elsewhere)


def test_a_right_code_clears_the_count(robin: Any, clock: Clock) -> None:
    client = half_in()
    for _guess in range(MAX_FAILURES_OF_A_NAME - 2):
        client.post(CODE, {"code": "000000"})
    client.post(CODE, {"code": code_of(robin[0], clock)})
    assert is_in(client)
    clock.now += STEP
    after = half_in()
    assert after.post(CODE, {"code": "000000"}).status_code == 400


def test_half_way_in_lasts_ten_minutes_and_ends_with_the_password(
    robin: Any, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = half_in()
    robin[0].set_password("four-clipped-leads")
    robin[0].save(update_fields=["password"])
    assert client.post(CODE, {"code": code_of(robin[0], clock)})["Location"] == SIGN_IN
    robin[0].set_password(PASSWORD)
    robin[0].save(update_fields=["password"])
    later = half_in()
    session = later.session
    session["half signed in"] = {**session["half signed in"], "at": 0}
    session.save()
    assert later.get(CODE)["Location"] == SIGN_IN
    shut_out = half_in()
    User.objects.update(is_active=False)
    assert shut_out.post(CODE, {"code": code_of(robin[0], clock)})["Location"] == SIGN_IN


def test_nobody_gives_a_code_without_a_password_first(db: None) -> None:
    assert Client().get(CODE)["Location"] == SIGN_IN
    assert Client().post(CODE, {"code": "000000"})["Location"] == SIGN_IN


# --- turning it on and off


def signed_in(sign_in: Enter, role: str = "owner") -> tuple[Client, User]:
    client = sign_in(role)
    me = User.objects.get(username=f"page-{role}")
    me.set_password(PASSWORD)
    me.save(update_fields=["password"])
    client.force_login(me)
    return client, me


@pytest.mark.parametrize("role", ["owner", "bench", "viewer"])
def test_it_is_on_after_a_code_of_it_and_not_before(sign_in: Enter, clock: Clock, role: str) -> None:
    client, me = signed_in(sign_in, role)
    assert client.post(OWN, {"password": "wrong"}).status_code == 400
    assert not SecondFactor.objects.exists()
    answer = client.post(OWN, {"password": PASSWORD})
    secret = answer.context["secret"]
    assert secret in answer.content.decode()
    assert "<svg" in answer.content.decode()
    assert answer.headers["Cache-Control"] == "no-store"
    assert Client().post(SIGN_IN, {"username": me.username, "password": PASSWORD})["Location"] == "/"
    wrong = client.post(OWN, {"first": "000000"})
    assert (wrong.status_code, wrong.context["secret"]) == (400, secret)  # to try again
    done = client.post(OWN, {"first": code_of(me, clock)})
    codes = done.context["codes"]
    assert all(code in done.content.decode() for code in codes)
    assert Client().post(SIGN_IN, {"username": me.username, "password": PASSWORD})["Location"] == CODE
    page = client.get(OWN).content.decode()
    assert not any(code in page for code in (*codes, secret))
    assert "8 recovery codes left" in page
    assert AccessChange.objects.filter(person=me.username, what="a second factor").exists()


def test_a_code_that_was_refused_is_not_put_back_into_the_page(sign_in: Enter, clock: Clock) -> None:
    client, me = signed_in(sign_in)
    client.post(OWN, {"password": PASSWORD})
    assert b"135791" not in client.post(OWN, {"first": "135791"}).content
    second_factor.confirm(me, code_of(me, clock))
    assert b"135791" not in client.post(OWN, {"code": "135791", "do": "off"}).content


def test_the_address_in_the_code_is_what_apps_read() -> None:
    """The key URI that authenticator apps read: label, secret, issuer (de facto; there is no standard)."""
    assert second_factor.address_for_apps(RFC_SECRET, "robin", "Salt marsh") == (
        f"otpauth://totp/Salt%20marsh:robin?secret={RFC_SECRET}&issuer=Salt%20marsh"
    )


def test_it_is_turned_off_by_a_code_alone(sign_in: Enter, clock: Clock) -> None:
    client, me = signed_in(sign_in)
    second_factor.offer(me)
    second_factor.confirm(me, code_of(me, clock))
    assert "on already" in client.post(OWN, {"password": PASSWORD}, follow=True).content.decode()
    for typed in ("", "000000", code_of(me, clock)):  # the last was taken when it was turned on
        assert client.post(OWN, {"code": typed, "do": "off"}).status_code == 400
    clock.now += STEP
    others = client.post(OWN, {"code": code_of(me, clock), "do": "codes"}).context["codes"]
    assert RecoveryCode.objects.count() == RECOVERY_CODES
    client.post(OWN, {"code": others[3], "do": "off"})
    assert (factor_of(me), RecoveryCode.objects.count()) == (None, 0)
    assert AccessChange.objects.latest("id").what == "no second factor any more"


def test_guesses_at_it_by_whoever_found_a_page_open_are_counted(sign_in: Enter) -> None:
    client, _me = signed_in(sign_in)
    for _guess in range(MAX_FAILURES_OF_A_NAME):
        client.post(OWN, {"password": "wrong"})
    assert "wait ten minutes" in client.post(OWN, {"password": PASSWORD}).content.decode()
    assert "wait ten minutes" in client.post("/password/", {"old": PASSWORD}).content.decode()


def test_an_offer_that_was_left_lying_needs_the_password_again(sign_in: Enter, clock: Clock) -> None:
    client, me = signed_in(sign_in)
    client.post(OWN, {"password": PASSWORD})
    session = client.session
    session["second-factor-offered"] -= 601
    session.save()
    for code in ("000000", code_of(me, clock)):
        answer = client.post(OWN, {"first": code})
        assert (answer.status_code, "secret" in answer.context) == (400, False)
    assert factor_of(me) is None


def test_codes_guessed_at_it_are_counted_over_all_addresses(sign_in: Enter, clock: Clock) -> None:
    client, me = signed_in(sign_in)
    second_factor.offer(me)
    second_factor.confirm(me, code_of(me, clock))
    clock.now += STEP
    for guess in range(MAX_FAILURES_OF_A_NAME):
        client.post(OWN, {"code": "000000", "do": "off"}, REMOTE_ADDR=f"2001:db8::{guess}")
    refused = client.post(OWN, {"code": code_of(me, clock), "do": "off"}, REMOTE_ADDR="2001:db8::99")
    assert "wait ten minutes" in refused.content.decode()
    assert factor_of(me) is not None


# --- the phone is lost


def test_an_owner_turns_off_that_of_another(robin: Any, sign_in: Enter) -> None:
    owner = sign_in("owner")
    page = owner.get(reverse("person", args=[robin[0].pk])).content.decode()
    assert "Phone lost" in page
    owner.post(reverse("person", args=[robin[0].pk]), {"second_factor": "0"})
    change = AccessChange.objects.latest("id")
    assert (change.person, change.by, change.what) == ("robin", "page-owner", "no second factor any more")
    assert Client().post(SIGN_IN, {"username": "robin", "password": PASSWORD})["Location"] == "/"
    assert sign_in("bench").post(reverse("person", args=[robin[0].pk]), {}).status_code == 403


def test_ones_own_is_not_turned_off_without_a_code(robin: Any) -> None:
    """Whoever finds an owner's page open does not take the factor off."""
    owner = Client()
    owner.force_login(robin[0])
    address = reverse("person", args=[robin[0].pk])
    assert "Phone lost" not in owner.get(address).content.decode()
    assert "by a code of it" in owner.post(address, {"second_factor": "0"}, follow=True).content.decode()
    key = make_key(robin[0], "scales")[1]
    answer = Client(headers={"Authorization": f"Token {key}"}).patch(
        f"/api/v1/people/{robin[0].pk}/", '{"second_factor": false}', content_type="application/json"
    )
    assert (answer.status_code, answer.json()["code"]) == (409, "second_factor")
    assert factor_of(robin[0]) is not None


def test_a_command_turns_it_off(robin: Any) -> None:
    out = StringIO()
    call_command("people", stdout=out)
    assert "second factor" in out.getvalue()
    call_command("people", "one-factor", "robin", stdout=out)
    assert factor_of(robin[0]) is None
    with pytest.raises(CommandError, match="robin has no second factor"):
        call_command("people", "one-factor", "robin")


def test_two_are_not_offered_at_once(robin: Any) -> None:
    with pytest.raises(Refused, match="on already") as refused:
        second_factor.offer(robin[0])
    assert refused.value.code == "second_factor"


def test_another_secret_of_the_installation_leaves_the_recovery_codes(
    robin: Any, clock: Clock, settings: Any
) -> None:
    shown = code_of(robin[0], clock)
    settings.SECRET_KEY = "another-installation-altogether"
    client = half_in()
    assert client.post(CODE, {"code": shown}).status_code == 400
    client.post(CODE, {"code": robin[1][0]})
    assert is_in(client)


def test_nothing_that_is_kept_makes_a_code(robin: Any) -> None:
    """Neither the secret nor a recovery code stands in the database, or in the record of access."""
    row = SecondFactor.objects.get()
    kept = f"{row.nonce} {list(RecoveryCode.objects.values_list('digest', flat=True))} " + " ".join(
        AccessChange.objects.values_list("what", flat=True)
    )
    for secret in (second_factor._derived(row.nonce), *robin[1], *(c.replace("-", "") for c in robin[1])):
        assert secret not in kept
