"""What all tests share: hypothesis without a clock or a memory, and skips that CI turns into failures."""

import os

import pytest
from hypothesis import Phase, settings

settings.register_profile("plain", derandomize=True, database=None, deadline=None)
# For mutation testing: only whether a test fails matters, not the smallest example.
settings.register_profile(
    "mutation", derandomize=True, database=None, deadline=None, max_examples=25, phases=[Phase.explicit, Phase.generate]
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "plain"))


def _fail_if_micropython_must_run(report):
    """Turn a skip for want of a MicroPython into a failure where LOAMSTAT_REQUIRE_MICROPYTHON=1."""
    if not report.skipped or hasattr(report, "wasxfail"):
        return
    if os.environ.get("LOAMSTAT_REQUIRE_MICROPYTHON") != "1":
        return
    reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
    if "micropython" in reason.lower():
        report.outcome = "failed"
        report.longrepr = f"{reason}\nLOAMSTAT_REQUIRE_MICROPYTHON=1: here this test must run."


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item, call):
    outcome = yield
    _fail_if_micropython_must_run(outcome.get_result())


@pytest.hookimpl(hookwrapper=True)
def pytest_make_collect_report(collector):
    """The same for files that skip as a whole."""
    outcome = yield
    _fail_if_micropython_must_run(outcome.get_result())
