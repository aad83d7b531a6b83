"""The report page and the two files, from results built by code."""

import pytest

from inkmix.report.page import render_page
from report_cases import CASES


@pytest.mark.parametrize("name", CASES)
def test_every_case_renders(name):
    assert render_page(CASES[name]()).startswith(b"<!DOCTYPE html>")
