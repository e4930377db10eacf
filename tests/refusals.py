"""Watches every refusal that a run raises: its code must stand in the register, and a whole run meets each.

`inventory.refusals.Code` is that register.  Loaded by conftest.
"""

from collections.abc import Iterable
from typing import Any

import pytest

_met: set[str] = set()


def _meet(codes: Iterable[str]) -> None:
    from inventory.refusals import Code

    for code in codes:
        assert code in set(Code), f"the code {code!r} is not in the register of inventory/refusals.py"
        _met.add(str(code))


def _watch(owner: type, name: str, codes: Any) -> None:
    original = getattr(owner, name)

    def watched(self: Any, *args: Any, **kwargs: Any) -> Any:
        result = original(self, *args, **kwargs)
        _meet(codes(self, result))
        return result

    setattr(owner, name, watched)


def watch() -> None:
    from inventory.api.problems import Problem
    from inventory.installation import Unfit
    from inventory.refusals import Refused

    _watch(Refused, "__init__", lambda refused, _: [refused.code])
    _watch(Unfit, "__init__", lambda unfit, _: [unfit.code])
    _watch(Problem, "__init__", lambda problem, _: [problem.code] if problem.code else [])
    _watch(
        Problem,
        "body",
        lambda _, body: [each["code"] for each in (body, *body.get("errors", ())) if "code" in each],
    )


@pytest.hookimpl(trylast=True)
def pytest_configure(config: pytest.Config) -> None:
    if config.pluginmanager.hasplugin("pytest_django.plugin"):
        watch()


@pytest.hookimpl(tryfirst=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    if _unmet(session.config) and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
    output = getattr(session.config, "workeroutput", None)
    if output is not None:  # one of several processes: the first gathers
        output["codes"] = sorted(_met)


def pytest_testnodedown(node: Any) -> None:
    _met.update(getattr(node, "workeroutput", {}).get("codes", ()))


@pytest.hookimpl(trylast=True)
def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    if unmet := _unmet(config):
        terminalreporter.write_line(f"FAILED: refusals that no test meets: {', '.join(unmet)}")


def _unmet(config: pytest.Config) -> list[str]:
    """The codes that a whole run has not met; of a part of it, or one of several processes, none are told."""
    from inventory.refusals import Code

    option = config.option
    whole = config.args == config.getini("testpaths") and not (option.keyword or option.markexpr)
    return sorted(set(Code) - _met) if whole and not hasattr(config, "workerinput") else []
