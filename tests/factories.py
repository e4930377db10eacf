"""Factories: the smallest true workshop, one thing at a time."""

import io
from decimal import Decimal
from typing import Any

import factory
from django.contrib.auth import get_user_model
from PIL import Image

from inventory import attachments, ledger
from inventory.ledger import Arrival, Origin, Spot
from inventory.models import Attachment, Board, Design, Holding, Lot, Part, Photo, Place, Position, StoredSpec
from inventory.pictures import photos
from inventory.pictures.taking_in import take_in
from inventory.spec import Spec, parse_value
from repairs.models import Job, Need
from repairs.proving_models import Substitution


def spec(kind: str = "resistor", value: str | None = "4k7", **more: Any) -> Spec:
    """A Spec from trade text: `spec("capacitor", "100n", volts=Decimal(63))`."""
    return Spec(kind=kind, value=parse_value(kind, value) if value else None, **more)


class PersonFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = get_user_model()

    username = factory.Sequence("person{}".format)


class PartFactory(factory.django.DjangoModelFactory):
    """`PartFactory(of=spec("resistor", "4k7"))`."""

    class Meta:
        model = Part
        django_get_or_create = ("spec",)

    class Params:
        of = factory.LazyFunction(lambda: spec(tolerance_percent=Decimal(5), watts=Decimal("0.25")))

    spec = factory.LazyAttribute(lambda made: StoredSpec.keep(made.of))
    name = factory.LazyAttribute(lambda made: made.of.text)


class PlaceFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Place

    name = factory.Sequence("Drawer {}".format)
    type = Place.Type.DRAWER


class DesignFactory(factory.django.DjangoModelFactory):
    """`DesignFactory(positions={"R1": spec("resistor", "4k7")})`."""

    class Meta:
        model = Design
        skip_postgeneration_save = True

    name = factory.Sequence("Plover {}".format)
    revision = "A"

    @factory.post_generation
    def positions(self, create: bool, extracted: dict[str, Spec] | None, **kwargs: Any) -> None:
        for ref, required in (extracted or {}).items():
            Position.objects.create(design=self, ref=ref, spec=StoredSpec.keep(required))


class BoardFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Board

    name = factory.Sequence("Plover board {}".format)
    purpose = Board.Purpose.DONOR
    place = factory.LazyAttribute(lambda made: Place.objects.create(name=made.name, type=Place.Type.BOARD))


class JobFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Job

    name = factory.Sequence("Repair {}".format)
    priority = 3


class NeedFactory(factory.django.DjangoModelFactory):
    """`NeedFactory(of=spec("resistor", "4k7"), ref="R7")`."""

    class Meta:
        model = Need

    class Params:
        of = factory.LazyFunction(lambda: spec(tolerance_percent=Decimal(5), watts=Decimal("0.25")))

    job = factory.SubFactory(JobFactory)
    spec = factory.LazyAttribute(lambda made: StoredSpec.keep(made.of))
    quantity = 1


class SubstitutionFactory(factory.django.DjangoModelFactory):
    """`SubstitutionFactory(of=spec(…), by_part=spec(…), design=…, ref="R1", evidence="refuted")`."""

    class Meta:
        model = Substitution

    class Params:
        of = factory.LazyFunction(lambda: spec("resistor", "4k7"))
        by_part = factory.LazyFunction(lambda: spec("resistor", "5k6"))

    required = factory.LazyAttribute(lambda made: StoredSpec.keep(made.of))
    offered = factory.LazyAttribute(lambda made: StoredSpec.keep(made.by_part))
    evidence = "seen_working"


def stock(
    quantity: int = 1,
    *,
    part: Part | None = None,
    place: Place | None = None,
    condition: str = Lot.Condition.GOOD,
    ref: str = "",
    **origin: Any,
) -> Holding:
    """So many pieces in a drawer, received through the ledger."""
    to = place or PlaceFactory()
    line = ledger.receive(
        Arrival(
            part=part or PartFactory(),
            quantity=quantity,
            to=Spot(to.pk, ref),
            origin=Origin(**origin),
            condition=condition,
        ),
        by=None,
    )
    return Holding.objects.get(lot_id=line.lot_id)


def png(image: Image.Image | None = None, form: str = "PNG", **settings: Any) -> bytes:
    """A picture as a file; by default 64 x 40 pixels of grey."""
    out = io.BytesIO()
    (image or Image.new("RGB", (64, 40), "grey")).save(out, form, **settings)
    return out.getvalue()


def attachment(data: bytes = b"%PDF-1.4\n%%EOF\n", name: str = "sheet.pdf", **given: Any) -> Attachment:
    """A data sheet with a part, or with what `to` says."""
    return attachments.keep(data, name, to=given.pop("to", None) or PartFactory(), by=None)


def photo(image: Image.Image | None = None, **given: Any) -> Photo:
    """A picture that the bench keeps."""
    return photos.keep(take_in(png(image)), **given)
