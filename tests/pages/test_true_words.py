"""Nothing is said twice on a page, and nothing is asked of a part that it does not have.

What a tester can do with which chip, and what an ESR meter shows: common practice, no source.
"""

import pytest
from django.urls import reverse

from inventory import designing
from inventory.part_lines import read_line
from inventory.spec import Spec
from inventory.templatetags.bench import notes
from repairs.proving.cautions import distinct_texts, of_hazards
from repairs.proving.methods import methods_for
from repairs.proving.windows import series_resistance
from tests.factories import JobFactory, NeedFactory, stock
from tests.pages.conftest import at_the_bench


def spec_of(line: str) -> Spec:
    spec = read_line(line).spec
    assert spec is not None
    return spec


def test_cautions_that_share_a_sentence_say_it_once_and_keep_the_rest() -> None:
    hazards = of_hazards(["mains", "high_voltage", "stored_charge"])
    answer = " ".join(distinct_texts(hazards))
    assert answer.count("Unplug first.") == 1
    for caution in hazards:
        for sentence in caution.text.split(". "):
            assert sentence.rstrip(".") in answer


@pytest.mark.parametrize(
    ("number", "has_one"),
    [("74LS00", True), ("4066", True), ("DG201", True), ("LM386", False), ("LM393", False), ("2114", False)],
)
def test_a_truth_table_is_tried_of_what_has_one(number: str, has_one: bool) -> None:
    methods = {method.name for method in methods_for(spec_of(f"IC1 {number}"))}
    assert ("truth table" in methods) == has_one


@pytest.mark.parametrize("line", ["22u 25V aluminium", "4700u 25V aluminium", "4.7u 25V aluminium"])
def test_a_screen_for_esr_is_shown_in_two_figures(line: str) -> None:
    window = series_resistance(spec_of(line))
    assert window is not None
    assert window.high is not None
    assert len(window.high.normalize().as_tuple().digits) <= 2


@pytest.mark.django_db
def test_a_note_that_several_positions_share_is_read_once() -> None:
    design = designing.make("Wren mixer", "A", designing.read_positions("C1-C3 100n 50V\nC4 100n 50V"))
    design.positions.filter(ref__in=["C1", "C2", "C3"]).update(note="bypass")
    design.positions.filter(ref="C4").update(note="input")
    rows = list(design.positions.order_by("ref"))
    assert notes(rows[:3]) == [("bypass", "")]
    assert notes(rows) == [("bypass", "C1-C3"), ("input", "C4")]


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["lot", "try-lot"])
def test_the_page_of_a_lot_says_its_value_once(name: str) -> None:
    lot = stock(3).lot
    page = at_the_bench("viewer").get(reverse(name, args=[lot.pk])).content.decode()
    value = lot.part.spec.spec.value_text
    head = page[page.index('<span class="value') : page.index('<span class="where"')]
    assert head.count(value) == 1


@pytest.mark.django_db
def test_a_job_says_how_many_are_still_wanted() -> None:
    job = JobFactory()
    NeedFactory(job=job)
    page = at_the_bench("viewer").get(reverse("job", args=[job.pk])).content.decode()
    assert "1 still wanted" in page
