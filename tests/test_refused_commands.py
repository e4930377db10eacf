"""What the bench refuses is, of every command, one line on stderr and exit status 1."""

from typing import Any

import pytest
from django.core.management import get_commands, load_command_class

from inventory.management.helped import Helped
from inventory.refusals import Code, NotEnough

OURS = sorted(name for name, app in get_commands().items() if app in {"inventory", "repairs"})


def test_each_command_is_a_helped_one() -> None:
    others = {name for name in OURS if not isinstance(load_command_class(get_commands()[name], name), Helped)}
    assert others == {"migrate"}  # Django's own, which asks no rule of the bench


@pytest.mark.parametrize("name", [name for name in OURS if name != "migrate"])
def test_a_refusal_ends_it_in_one_line(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    command = load_command_class(get_commands()[name], name)

    def refuse(*args: Any, **options: Any) -> None:
        raise NotEnough(Code.NOT_ENOUGH, "only 2 are free in Drawer 7")

    monkeypatch.setattr(command, "handle", refuse)
    monkeypatch.setattr(command, "add_arguments", lambda _parser: None)  # what each takes is not asked here
    with pytest.raises(SystemExit) as ended:
        command.run_from_argv(["manage.py", name])
    assert ended.value.code == 1
    assert capsys.readouterr().err == "CommandError: only 2 are free in Drawer 7\n"
