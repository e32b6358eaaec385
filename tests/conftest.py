"""What all tests share: hypothesis without a clock or a memory, and skips that CI turns into failures."""

import os

import pytest
from hypothesis import settings

settings.register_profile("plain", derandomize=True, database=None, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "plain"))


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item, call):
    """Where LOAMSTAT_REQUIRE_MICROPYTHON=1, a test skipped for want of a MicroPython fails instead."""
    outcome = yield
    report = outcome.get_result()
    if report.skipped and not hasattr(report, "wasxfail") and os.environ.get("LOAMSTAT_REQUIRE_MICROPYTHON") == "1":
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        if "micropython" in reason.lower():
            report.outcome = "failed"
            report.longrepr = f"{reason}\nLOAMSTAT_REQUIRE_MICROPYTHON=1: here this test must run."
