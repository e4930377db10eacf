"""The report of a repair, made to be printed."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inventory.pages.frame import page
from repairs.answers.report import report as report_of
from repairs.answers.report.view import page_context
from repairs.models import Job


@page()
def report(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
    return render(request, "bench/report.html", {**page_context(report_of(job)), "job": job})
