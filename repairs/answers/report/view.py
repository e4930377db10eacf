"""`jobs/{id}/report/` and `jobs/{id}/report.html`: the report of a repair, and the same to print."""

from collections.abc import Callable
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.urls import reverse
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.viewsets import Conventions
from inventory.models import Photo
from repairs.answers.report.answer import RepairReport
from repairs.answers.report.in_short import in_short
from repairs.answers.report.reporting import report
from repairs.models import Job


def image_address(photo: Photo) -> str:
    return reverse("photo-image", args=[photo.pk])


def page_context(answer: RepairReport, address_of: Callable[[Photo], str] = image_address) -> dict[str, Any]:
    """What the pages of a report show: all of it, and its short form."""
    return {"report": answer, "short": in_short(answer, address_of)}


def as_page(answer: RepairReport, address_of: Callable[[Photo], str] = image_address) -> str:
    """The report to print, as HTML."""
    return render_to_string("repair-report.html", page_context(answer, address_of))


class JobReport(Conventions):
    @answers(RepairReport, "A rebuild", operation_id="jobs_report")
    def get(self, request: Request, pk: int) -> Response:
        """What was done, parts used with their origins, costs and savings, readings, exceptions and notes."""
        job = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
        return Response(as_json(report(job), request))


class JobReportPage(Conventions):
    @extend_schema(
        responses={(200, "text/html"): OpenApiResponse(str, "The report, to print.")},
        operation_id="jobs_report_page",
    )
    def get(self, request: Request, pk: int) -> HttpResponse:
        """The same report as a page to print: no script, no outside address."""
        job = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
        # The page is also saved as a file, so its styles are in it; nothing else may be.
        policy = "default-src 'none'; style-src 'unsafe-inline'; img-src 'self'"
        return HttpResponse(as_page(report(job)), headers={"Content-Security-Policy": policy})
