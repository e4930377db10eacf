"""The report of a repair, made to be printed."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inventory.pages.frame import page
from repairs.api.benchlog import as_json
from repairs.models import Job
from repairs.report import report as report_of


@page()
def report(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
    return render(request, "bench/report.html", {"report": as_json(report_of(job)), "job": job})
