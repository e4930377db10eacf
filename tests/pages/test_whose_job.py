"""Whose a job is: one's own come first on Now, and a bench of one sees nothing of it."""

from typing import Any

import pytest
from django.contrib.auth.models import User

from inventory.people import add_person
from repairs.models import Job
from tests.factories import JobFactory, stock

pytestmark = pytest.mark.django_db


def headings(page: str) -> list[str]:
    return [each.split("</h2>")[0] for each in page.split("<h2>")[1:]]


def test_ones_own_jobs_come_first_on_now_whatever_their_priority(sign_in: Any) -> None:
    browser = sign_in("bench")
    stock(1)
    me, other = User.objects.get(username="page-bench"), add_person("merle")
    JobFactory(name="Theirs", priority=1, owner=other)
    JobFactory(name="Everybody's", priority=1)
    mine = JobFactory(name="My own", priority=5, owner=me)
    page = browser.get("/").content.decode()
    assert headings(page)[:2] == ["Your jobs", "The other jobs"]
    assert page.index("My own") < page.index("Everybody") < page.index("Next")
    assert page.index("My own") < page.index("Theirs")
    assert "priority 1, merle" in page
    Job.objects.filter(pk=mine.pk).update(owner=None)
    assert headings(browser.get("/").content.decode())[0] == "Jobs"


def test_whose_a_job_is_is_asked_only_where_several_do_the_work(sign_in: Any) -> None:
    browser, job = sign_in("owner"), JobFactory()
    assert "Whose job" not in browser.get("/jobs/").content.decode()
    add_person("onlooker", role="viewer")
    assert "Whose job" not in browser.get(f"/jobs/{job.pk}/change/").content.decode()
    merle = add_person("merle")
    assert "Whose job" in browser.get("/jobs/").content.decode()
    sent = {"name": job.name, "priority": 3, "version": job.version, "owner": merle.pk}
    assert browser.post(f"/jobs/{job.pk}/change/", sent).status_code == 302
    job.refresh_from_db()
    assert job.owner == merle
    assert "merle's job" in browser.get(f"/jobs/{job.pk}/").content.decode()
    wrong = browser.post(f"/jobs/{job.pk}/change/", {**sent, "version": job.version, "owner": 999_999})
    assert wrong.status_code == 400
    job.refresh_from_db()
    assert job.owner == merle, "nothing is lost by a wrong answer"


def test_a_job_stays_with_somebody_who_does_the_work_no_more(sign_in: Any) -> None:
    browser, merle = sign_in("bench"), add_person("merle")
    job, free = JobFactory(owner=merle), JobFactory()
    User.objects.filter(pk=merle.pk).update(is_active=False)
    add_person("teal")
    page = browser.get(f"/jobs/{job.pk}/change/").content.decode()
    assert f'<option value="{merle.pk}" selected>merle</option>' in page
    sent = {"name": job.name, "priority": 2, "version": job.version, "owner": merle.pk}
    assert browser.post(f"/jobs/{job.pk}/change/", sent).status_code == 302
    job.refresh_from_db()
    assert (job.priority, job.owner) == (2, merle)
    assert "merle" not in browser.get(f"/jobs/{free.pk}/change/").content.decode(), "no new ones"


def test_by_the_api_a_job_is_somebodys_who_works_here(owner: Any) -> None:
    merle = add_person("merle")
    add_person("onlooker", role="viewer")
    made = owner.post("/api/v1/jobs/", {"name": "Hers", "owner": "merle"}, format="json")
    assert (made.status_code, made.json()["owner"]) == (201, "merle")
    JobFactory(name="Everybody's")
    found = owner.get("/api/v1/jobs/?owner=merle").json()["results"]
    assert [each["name"] for each in found] == ["Hers"]
    for nobody in ("onlooker", "gone", 7, ["merle"]):
        refused = owner.patch(f"/api/v1/jobs/{made.json()['id']}/", {"owner": nobody}, format="json")
        assert refused.status_code == 400
        assert refused.json()["errors"][0]["pointer"] == "#/owner"
    changed = owner.patch(f"/api/v1/jobs/{made.json()['id']}/", {"owner": None}, format="json")
    assert changed.json()["owner"] is None
    Job.objects.filter(pk=made.json()["id"]).update(owner=merle)
    merle.delete()
    assert Job.objects.get(pk=made.json()["id"]).owner is None, "whoever leaves, leaves the job to everybody"
