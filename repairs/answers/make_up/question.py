"""What may be asked of made-up values: all that is short, one row of it, or any wanted Spec."""

from collections.abc import Callable, Sequence
from typing import Any

from inventory.api.fields import FIGURE
from inventory.models import StoredSpec
from inventory.refusals import Code
from inventory.spec import Spec
from inventory.whole_numbers import whole_number
from repairs.answers.make_up.answer import MadeUpValues
from repairs.answers.make_up.plan import MAX_WAYS, made_up_for, made_up_for_required, made_up_for_short
from repairs.answers.parameters import Parameter, PlanQuestion, Unreadable, jobs_in, truth
from repairs.planning.combination import RATINGS

_NONE_IN = "expected either `kind` and `value`, or `requirement`, or neither and all that is short"


def _text(texts: Sequence[str]) -> str:
    return texts[0] if texts else ""


def _kind(texts: Sequence[str]) -> str:
    if texts and texts[0] not in RATINGS:
        raise Unreadable(f"expected {', '.join(RATINGS)}", Code.INVALID_CHOICE)
    return _text(texts)


def _count(texts: Sequence[str]) -> int:
    number = whole_number(texts[0]) if texts else 3
    if number is None or not 1 <= number <= MAX_WAYS:
        raise Unreadable(f"expected a whole number from 1 to {MAX_WAYS}")
    return number


def _requirement(texts: Sequence[str]) -> StoredSpec | None:
    if not texts:
        return None
    stored = StoredSpec.objects.filter(pk=whole_number(texts[0]) or 0).first()
    if stored is None:
        raise Unreadable("there is no such requirement", Code.DOES_NOT_EXIST)
    return stored


def _of_spec(
    *names: str,
    about: str = "",
    read: Callable[[Sequence[str]], Any] = _text,
    schema: dict[str, Any] | type = str,
) -> tuple[Parameter, ...]:
    return tuple(Parameter(name, about, read, schema) for name in names)


COUNT = Parameter("count", "So many ways: 3.", _count, {"type": "integer", "minimum": 1, "maximum": MAX_WAYS})
_SPEC = (
    *_of_spec(
        "kind", about="Asks for a wanted Spec, with `value`.", read=_kind,
        schema={"type": "string", "enum": list(RATINGS)},
    ),
    *_of_spec("value", about="Any notation: 4k7, 0.1 µF, 10 µH."),
    *_of_spec(
        "tolerance_percent", "volts", "watts", "amps", schema={"type": "string", "pattern": FIGURE}
    ),
    *_of_spec("dielectric", "lead_style", "safety_class", schema={"type": "string", "maxLength": 64}),
)  # fmt: skip
_TRAITS = (
    *_of_spec(
        "use", about="What the place is for: timing, oscillator, tuned, rf, surge, filter, bypass."
    ),
    *_of_spec("fusible", about="A fusible resistor: nothing is made up there.", read=truth, schema=bool),
)  # fmt: skip


def _ask(jobs: list[int] | None, requirement: StoredSpec | None, count: int, **wanted: Any) -> MadeUpValues:
    """Unreadable: parameters that do not go together.  SpecError: a wanted Spec that cannot be."""
    facts = {name: given for name, given in wanted.items() if given}
    of_jobs = [] if jobs is None else ["job"]
    if facts.keys() & {"kind", "value"}:
        if also := of_jobs or ([] if requirement is None else ["requirement"]):
            raise Unreadable(_NONE_IN, Code.CONTRADICTION, also[0])
        return MadeUpValues([made_up_for(_spec(facts), count=count)])
    if requirement is not None:
        if also := [*facts, *of_jobs]:
            raise Unreadable(_NONE_IN, Code.CONTRADICTION, also[0])
        return MadeUpValues([made_up_for_required(requirement, count=count)])
    if facts:
        raise Unreadable("say the kind and the value too", Code.REQUIRED, min(facts))
    return MadeUpValues(made_up_for_short(jobs, count=count))


def _spec(facts: dict[str, Any]) -> Spec:
    for name in ("kind", "value"):
        if name not in facts:
            raise Unreadable("say the kind and the value", Code.REQUIRED, name)
    traits = {each.name: facts.pop(each.name) for each in _TRAITS if each.name in facts}
    return Spec.from_dict({**facts, **({"traits": traits} if traits else {})})


MADE_UP = PlanQuestion(
    (
        Parameter(
            "job", "Of all that is short, only for these jobs.", jobs_in, int, many=True, takes="jobs"
        ),
        Parameter("requirement", "A row of shortages/.", _requirement, {"type": "integer", "minimum": 1}),
        *_SPEC, *_TRAITS, COUNT,
    ),
    _ask,
)  # fmt: skip
