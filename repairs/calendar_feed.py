"""Days that jobs and loans are due, as a calendar that other programs fetch (iCalendar, RFC 5545).

Its address holds a secret of the person it was made for, so that a calendar program needs no sign-in.  A new
password, or shutting the person out, ends it.
"""

import re
from datetime import date, datetime, timedelta

from django.contrib.auth.models import User
from django.db.models import F
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac
from icalendar import Calendar, Event

from inventory.bench_settings import settings_of_bench
from repairs.loans import all_loans
from repairs.models import Job, Loan

_SECRET = re.compile(r"([0-9]{1,18})-([0-9a-f]{40})")


def secret_of(person: User) -> str:
    """What stands in the address of this person's calendar."""
    seal = salted_hmac("repairs.calendar_feed", f"{person.pk} {person.password}", algorithm="sha256")
    return f"{person.pk}-{seal.hexdigest()[:40]}"


def person_of(secret: str) -> User | None:
    """Whose calendar it is; None where nobody's, or nobody's who may still sign in."""
    parts = _SECRET.fullmatch(secret)
    if parts is None:
        return None
    person = User.objects.filter(pk=int(parts[1]), is_active=True).first()
    return person if person is not None and constant_time_compare(secret, secret_of(person)) else None


def root_of(request: HttpRequest) -> str:
    """The address of this bench, as it is set or as it was asked at."""
    return settings_of_bench().address or request.build_absolute_uri("/").rstrip("/")


def address_of(request: HttpRequest) -> str:
    """Where the calendar of whoever asks is."""
    assert isinstance(request.user, User)
    return f"{root_of(request)}{reverse('calendar-feed', args=[secret_of(request.user)])}"


def calendar(root: str) -> bytes:
    """Open jobs and loans that have a day, each as a whole day; `root` is the address of the bench."""
    name = settings_of_bench().name
    feed = Calendar()
    feed.add("prodid", "-//Rehome//Due//EN")
    feed.add("version", "2.0")
    feed.add("x-wr-calname", f"{name}: due" if name else "Rehome: due")
    feed.add("refresh-interval", timedelta(hours=1), parameters={"value": "DURATION"})
    now = timezone.now()
    for job in Job.objects.filter(status=Job.Status.OPEN, due__isnull=False).order_by("due", "id"):
        address = f"{root}{reverse('job', args=[job.pk])}"
        feed.add_component(_day(f"job-{job.pk}", job.due, now, f"Due: {job.name}", address))  # type: ignore[arg-type]
    for loan in _still_out():
        address = f"{root}{reverse('lot', args=[loan.movement.lot_id])}"
        feed.add_component(_day(f"loan-{loan.pk}", loan.due, now, _of_loan(loan), address))  # type: ignore[arg-type]
    return bytes(feed.to_ical())


def _still_out() -> list[Loan]:
    loans = all_loans().filter(owed__gt=0, due__isnull=False)  # type: ignore[misc]
    return list(loans.select_related("movement__lot__part__spec").order_by(F("due"), "id"))


def _of_loan(loan: Loan) -> str:
    line = loan.movement
    what = line.lot.part.spec.text
    if line.borrow:
        return f"Give back {what} to {line.from_place.name} {line.from_ref}".rstrip()
    return f"Back from {line.to_place.name}: {what}"


def _day(uid: str, day: date, now: datetime, summary: str, address: str) -> Event:
    event = Event()
    event.add("uid", f"{uid}@rehome")
    event.add("dtstamp", now)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", summary)
    event.add("url", address)
    event.add("transp", "TRANSPARENT")  # it takes none of that day's time
    return event
