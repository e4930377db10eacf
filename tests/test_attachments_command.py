"""`manage.py attachments`: files with parts and designs at a terminal."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from inventory.models import Attachment
from tests.factories import DesignFactory, PartFactory, spec

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings: Any, tmp_path: Path) -> None:
    settings.HOME = tmp_path


def output(*command: str) -> str:
    out = StringIO()
    call_command("attachments", *command, stdout=out, stderr=StringIO(), no_color=True)
    return out.getvalue()


def sheet(folder: Path) -> str:
    path = folder / "bc547.txt"
    path.write_text("1 collector, 2 base, 3 emitter")
    return str(path)


def test_a_file_goes_in_comes_out_and_is_taken_off(tmp_path: Path) -> None:
    PartFactory(of=spec("transistor", None, number="BC547B"), name="small NPN")
    assert "bc547.txt" in output("add", sheet(tmp_path), "--part", "BC547B")
    [told] = json.loads(output("--json", "--part", "small NPN"))["results"]
    assert told["name"] == "bc547.txt"
    output("get", str(told["id"]), str(tmp_path / "out.txt"))
    assert (tmp_path / "out.txt").read_text() == "1 collector, 2 base, 3 emitter"
    assert "pins.txt" in output("rename", str(told["id"]), "pins")
    output("take_off", str(told["id"]))
    assert "pins.txt" in output("--loose")
    assert Attachment.objects.get().part is None


def test_with_a_design(tmp_path: Path) -> None:
    DesignFactory(name="Plover", revision="A")
    output("add", sheet(tmp_path), "--design", "Plover A", "--name", "links.txt")
    assert "links.txt" in output("--design", "Plover A")


def test_what_will_not_do_is_said(tmp_path: Path) -> None:
    for make in ("Plover", "Dunlin"):
        PartFactory(of=spec("transistor", None, number="BC547", make=make))
    part, program = str(PartFactory().pk), tmp_path / "program"
    program.write_bytes(b"\x7fELF\0")
    for command, said in (
        (("add", sheet(tmp_path)), "--part"),
        (("add", str(tmp_path / "none.pdf"), "--part", part), "No such file"),
        (("add", str(program), "--part", part), "not a PDF"),
        (("add", sheet(tmp_path), "--part", "XYZ"), "no part is named XYZ"),
        (("add", sheet(tmp_path), "--part", "BC547"), "several parts"),
        (("get", "99", "x"), "no file has the number 99"),
        (("get", "no", "x"), "no file has the number no"),
    ):
        with pytest.raises(CommandError, match=said):
            output(*command)
