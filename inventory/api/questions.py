"""The parameters in which a reading is asked for, and the answer in the document's words."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail
from rest_framework.request import Request

from inventory.api.fields import SpecFields
from inventory.api.lists import bad_query
from inventory.api.problems import BadQuery
from inventory.decoding import MalformedMarking, Question, decode, spec_of
from inventory.markings import MAX_SERVED, DecodedMarking, ServedNeed, read_marking
from inventory.questions import LONGEST_WORDS, MAX_READINGS, USUAL_READINGS, BadQuestion, question_of
from inventory.refusals import Code
from inventory.spec import GRADES, KINDS

MARKING = OpenApiParameter(
    "marking", str, description="As printed. `?` is one unreadable character, `[38]` either of these."
)
BANDS = OpenApiParameter(
    "bands", str,
    description="Colours between commas. `?` is one unreadable band, `red|orange` either; also BK, BN …",
)  # fmt: skip
EVIDENCE = (
    OpenApiParameter("kind", str, enum=KINDS, description="What kind of part it is, where that is known."),
    OpenApiParameter("measured", str, description="What a meter says: 4.68k, 98n, 10 µH."),
    OpenApiParameter(
        "measured_tolerance",
        {"type": "string", "pattern": r"^[0-9]{1,3}(\.[0-9]{1,4})?$"},
        description="The meter's own error in per cent.",
    ),
    OpenApiParameter("expected", str, description="The value expected at its position, as for `measured`."),
    OpenApiParameter(
        "body", {"type": "string", "maxLength": LONGEST_WORDS}, description="Free words: blue, disc, axial."
    ),
    OpenApiParameter(
        "era", {"type": "string", "pattern": "^(18|19|20)[0-9]{2}s?$"}, description="A year, or 1980s."
    ),
    OpenApiParameter(
        "doubtful", {"type": "string", "enum": ["true", "false"]},
        description="Also take characters and colours for those that they are mistaken for.",
    ),
    OpenApiParameter(
        "limit", {"type": "integer", "minimum": 1, "maximum": MAX_READINGS, "default": USUAL_READINGS},
        description="At most so many readings.",
    ),
)  # fmt: skip
SCHEME = OpenApiParameter(
    "scheme", {"type": "string", "maxLength": LONGEST_WORDS},
    description="For colours other than resistor bands: any of `decode/schemes/`.",
)  # fmt: skip


def asked(request: Request, **found: str) -> Question:
    """The question that the parameters ask; `found` is what was read off a picture.  BadQuery otherwise."""
    known = {each.name for each in (MARKING, BANDS, SCHEME, *EVIDENCE)}
    stated = {name: str(text) for name, text in request.query_params.items() if name in known}
    try:
        return question_of({**stated, **found})
    except BadQuestion as bad:
        wrong: dict[str, list[ErrorDetail]] = {}
        for problem in bad.problems:
            wrong.setdefault(problem.name, []).append(ErrorDetail(problem.detail, problem.code))
        raise BadQuery(wrong) from None


def answered(question: Question) -> DecodedMarking:
    """What the bench makes of it; BadQuery says where the marking cannot be understood."""
    try:
        return read_marking(question)
    except MalformedMarking as malformed:
        if question.bands:
            raise bad_query("bands", str(malformed), Code.MALFORMED) from None
        where = f"character {malformed.position + 1}: {malformed}"
        raise bad_query("marking", where, Code.MALFORMED) from None


# --- the answer, as the document describes it


class UsedSerializer(serializers.Serializer[Any]):
    characters = serializers.CharField(help_text="Characters or a colour, in the order printed.")
    meaning = serializers.CharField(allow_blank=True, help_text="Blank: it gave nothing.")


class ServedSerializer(serializers.Serializer[Any]):
    """An open need that a part with this reading would serve."""

    need = serializers.IntegerField()
    job = serializers.IntegerField()
    job_name = serializers.CharField()
    priority = serializers.IntegerField()
    ref = serializers.CharField(allow_blank=True)
    spec_text = serializers.CharField(help_text="What the need requires.")
    lacking = serializers.IntegerField(help_text="Pieces that it still lacks.")
    grade = serializers.ChoiceField(GRADES)


_PERCENT: dict[str, Any] = {"allow_null": True, "help_text": "Per cent, as plain decimal text."}


class MarkingReadingSerializer(serializers.Serializer[Any]):
    """One possible meaning.  Of the tolerances at most one kind is given; the others are null."""

    kind = serializers.ChoiceField(KINDS)
    value = serializers.CharField(allow_null=True, help_text="Plain decimal in Ω, F, H or Hz.")
    value_text = serializers.CharField(allow_blank=True, help_text="As the trade writes it: 4k7.")
    tolerance_percent = serializers.CharField(**_PERCENT)
    tolerance_abs = serializers.CharField(allow_null=True, help_text="Plain decimal in Ω, F or H.")
    tolerance_low_percent = serializers.CharField(**_PERCENT)
    tolerance_high_percent = serializers.CharField(**_PERCENT)
    volts = serializers.CharField(allow_null=True)
    number = serializers.CharField(allow_blank=True, help_text="Type number.")
    make = serializers.CharField(allow_blank=True, help_text="Whose type it is, where its letters say so.")
    package = serializers.CharField(allow_blank=True, help_text="In words, where the type's suffix says it.")
    function = serializers.CharField(allow_blank=True, help_text="What it does, in words: hex inverter.")
    group = serializers.CharField(
        allow_blank=True, help_text="Group of gain or drain current behind the number: GR of 2SC1815-GR."
    )
    family = serializers.CharField(allow_blank=True, help_text="Logic family: ls, hct, cmos_4000.")
    organisation = serializers.CharField(allow_blank=True, help_text="Words by bits of a memory: 64Kx1.")
    speed_ns = serializers.CharField(allow_null=True, help_text="Access time, where the suffix says it.")
    polarity = serializers.CharField(allow_blank=True, help_text="npn, n_channel, positive …")
    traits = serializers.DictField(help_text="As a Spec of that kind takes them, and what else is said.")
    temperature = serializers.DictField(help_text="Code, standard, range and the drift over it.")
    date = serializers.CharField(allow_blank=True, help_text="ISO: 1982-W13, 2012-05 or 2003.")
    notation = serializers.CharField()
    standard = serializers.CharField()
    score = serializers.FloatField(
        help_text="How likely against the other readings; all that is shown sums to 1."
    )
    reasons = serializers.ListField(child=serializers.CharField())
    cautions = serializers.ListField(child=serializers.CharField())
    used = UsedSerializer(many=True)
    spec = SpecFields(
        allow_null=True,
        help_text="What of it a Spec holds, ready for `parts/` and `lots/`; null where nothing is.",
    )
    wanted_by = ServedSerializer(many=True, help_text=f"Best first, at most {MAX_SERVED}.")


class ReadElsewhereSerializer(serializers.Serializer[Any]):
    """What such a marking turned out to mean at another workshop, by a measurement there."""

    marking = serializers.CharField(help_text="As it was printed there.")
    spec = SpecFields()
    spec_text = serializers.CharField()
    measured = serializers.CharField()

    def get_fields(self) -> dict[str, Any]:
        # Not declared above: `source` is a field's own name for where it reads from.
        return {**super().get_fields(), "source": serializers.CharField(help_text="Whose word it is.")}


class ReadingsSerializer(serializers.Serializer[Any]):
    """Readings, best first."""

    readings = MarkingReadingSerializer(many=True)
    truncated = serializers.BooleanField(help_text="Not everything was tried or is shown.")
    hints = serializers.ListField(child=serializers.CharField(), help_text="What to try where nothing fits.")
    next_check = serializers.CharField(
        allow_blank=True, help_text="The measurement or second glance that would settle most."
    )
    elsewhere = ReadElsewhereSerializer(
        many=True, help_text="What others found of this very marking; it changes no score."
    )


_NEED = ServedNeed(32, 4, "Plover C rebuild", 2, "R7", "4k7 5 % 0.25 W resistor", 1, "ask")


def example(**stated: str) -> dict[str, Any]:
    """What the decoder itself answers, the first reading wanted by a job."""
    answer = decode(question_of(stated))
    specs = tuple(spec_of(reading) for reading in answer.readings)
    return DecodedMarking(answer, specs, ((_NEED,), *[()] * (len(specs) - 1))).to_dict()
