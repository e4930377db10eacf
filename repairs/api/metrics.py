"""`metrics/`: counts for a scraper, in the Prometheus text format, behind an owner's key."""

from collections.abc import Iterator
from datetime import timedelta

from django.db.models import Count, F, Sum
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from prometheus_client import CollectorRegistry
from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily
from prometheus_client.exposition import CONTENT_TYPE_LATEST, generate_latest
from prometheus_client.metrics_core import Metric
from prometheus_client.registry import Collector
from rest_framework.request import Request

from inventory import backups, installation, ledger
from inventory.api.viewsets import Conventions
from inventory.models import Holding, Lot, Movement, Place
from inventory.roles import OWNER
from repairs.models import Job, Need, Reservation


class MetricsView(Conventions):
    """How much of everything there is, now."""

    read_role = OWNER

    @extend_schema(responses={(200, "text/plain"): OpenApiTypes.STR}, operation_id="metrics_retrieve")
    def get(self, request: Request) -> HttpResponse:
        """Gauges of what is here and a counter of movements: Prometheus text format 1.0.0."""
        registry = CollectorRegistry()
        registry.register(_Bench())
        return HttpResponse(generate_latest(registry), content_type=CONTENT_TYPE_LATEST)


class _Bench(Collector):
    """What is counted each time that it is asked: the database, not the process, knows it."""

    def describe(self) -> list[Metric]:
        return []  # else to register it would count

    def collect(self) -> Iterator[Metric]:
        pieces = GaugeMetricFamily(
            "rehome_pieces", "Pieces in drawers and on boards, by their condition.", labels=["condition"]
        )
        here = Holding.objects.exclude(place__type__in=(Place.Type.SCRAP, Place.Type.OUTSIDE))
        counted = dict(here.order_by().values_list("lot__condition").annotate(pieces=Sum("quantity")))
        for condition in Lot.Condition.values:
            pieces.add_metric([condition], counted.get(condition) or 0)
        yield pieces
        jobs = GaugeMetricFamily("rehome_jobs", "Jobs, by how they stand.", labels=["status"])
        standing = dict(Job.objects.order_by().values_list("status").annotate(jobs=Count("id")))
        for status in Job.Status.values:
            jobs.add_metric([status], standing.get(status, 0))
        yield jobs
        lacking = Need.objects.filter(status=Need.Status.OPEN, job__status=Job.Status.OPEN)
        yield GaugeMetricFamily(
            "rehome_pieces_lacking", "Pieces that open jobs want and that are neither reserved nor fitted.",
            lacking.aggregate(pieces=Sum(F("quantity") - F("promised") - F("fitted")))["pieces"] or 0,
        )  # fmt: skip
        held = Reservation.objects.filter(status=Reservation.Status.HELD)
        yield GaugeMetricFamily("rehome_reservations_held", "Reservations that are held.", held.count())
        yield GaugeMetricFamily(
            "rehome_loans_open", "Loans that are not returned.", ledger.open_loans().count()
        )
        yield CounterMetricFamily(
            "rehome_movements", "Movements that the ledger has recorded.", Movement.objects.count()
        )
        if (age := backups.age()) is not None:
            yield GaugeMetricFamily(
                "rehome_backup_age_seconds", "Since the last good backup.", age / timedelta(seconds=1)
            )
        if (file := installation.database_file()) is not None and file.exists():
            yield GaugeMetricFamily("rehome_database_bytes", "The file of the database.", file.stat().st_size)
