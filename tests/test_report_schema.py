"""report.json against its schema: every case fits, and a wrong document does not."""

import copy
import json
from dataclasses import replace

import jsonschema
import numpy as np
import pytest
from report_cases import CASES, failing, spread_result

from inkmix.base.errors import OutputError
from inkmix.pages.report.json_report import report_bytes, report_document, report_schema

SCHEMA = report_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


@pytest.fixture(scope="module")
def document():
    return report_document(failing(), page=b"a page")


def test_the_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("name", CASES)
def test_every_case_fits(name):
    text = report_bytes(report_document(CASES[name](), page=b""))
    VALIDATOR.validate(json.loads(text))


def _objects(value, path=()):
    """Paths of all objects with named keys inside a document, the document itself first."""
    if isinstance(value, dict):
        yield path
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, item in items:
        if isinstance(item, dict | list):
            yield from _objects(item, (*path, key))


def _at(document, path):
    for key in path:
        document = document[key]
    return document


def test_a_missing_key_fails_wherever_it_is(document):
    free = {"pictures", "digests", "mix_pct"}  # keyed by the user's own names
    paths = [path for path in _objects(document) if not free & {str(key) for key in path}]
    assert len(paths) > 40
    for path in paths:
        for key in _at(document, path):
            wrong = copy.deepcopy(document)
            del _at(wrong, path)[key]
            assert not VALIDATOR.is_valid(wrong), (*path, key)


def test_an_unknown_key_fails_wherever_it_is(document):
    for path in _objects(document):
        wrong = copy.deepcopy(document)
        _at(wrong, path)["colour"] = {"of": "nothing"}
        assert not VALIDATOR.is_valid(wrong), path


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), 2),
        (("verdict",), "good"),
        (("findings", 0, "unit"), "percent"),
        (("findings", 0, "value"), "36.4"),
        (("findings", 1, "remedies", 0, "steps", 0, "operation"), "paint"),
        (("inks", 0, "digest"), "abc"),
        (("inks", 0, "opacity"), 1.5),
        (("total_ink", "specks"), 1.5),
        (("condition", "level"), "guesswork"),
        (("sheet", "width_px"), -1),
        (("page", "sha256"), None),
        (("tones", 0, "predicted_srgb8"), [0, 0, 256]),
        (("tones", 0, "mix_pct", "Rowan"), -1),
        (("inks",), []),
    ],
)
def test_a_wrong_value_fails(document, path, value):
    wrong = copy.deepcopy(document)
    _at(wrong, path[:-1])[path[-1]] = value
    assert not VALIDATOR.is_valid(wrong)


def test_values_survive_the_file(document):
    again = json.loads(report_bytes(document))
    assert again == document
    assert again["findings"][0]["value"] == 36.4
    assert again["findings"][0]["remedies"][0]["curves"][0]["plate"] == "Soot"
    assert again["tones"][0]["mix_pct"] == {"Rowan": 60.0, "Fjord": 80.0}


def test_pictures_travel_as_digests_only(document):
    assert set(document["pictures"]) == set(failing().pictures)
    assert len(report_bytes(document)) < 40_000


def test_numbers_of_numpy_are_plain_numbers():
    base = spread_result()
    ink = replace(base.inks[0], width_px=np.int32(12), mean_tone_pct=np.float32(0.1))
    said = report_document(replace(base, inks=(ink,)), page=b"")["inks"][0]
    assert (said["width_px"], said["mean_tone_pct"]) == (12, 0.1)
    assert (type(said["width_px"]), type(said["mean_tone_pct"])) == (int, float)


@pytest.mark.parametrize(
    ("value", "written"), [(0.12344, b"0.1234"), (0.12346, b"0.1235"), (-0.00001, b"0.0")]
)
def test_figures_keep_four_decimals_and_nothing_is_minus_zero(value, written):
    document = report_document(replace(spread_result(), out_of_srgb_pct=value), page=b"")
    assert b'"out_of_srgb_pct": ' + written + b"," in report_bytes(document)


def test_numbers_that_are_none_are_named_all_at_once():
    base = spread_result()
    ink = replace(base.inks[1], ppi=float("inf"))
    wrong = replace(base, inks=(base.inks[0], ink), out_of_srgb_pct=float("nan"))
    with pytest.raises(OutputError) as caught:
        report_bytes(report_document(wrong, page=b""))
    where = [fault.where for fault in caught.value.faults]
    assert where == ["report.json: inks[1].ppi", "report.json: out_of_srgb_pct"]


@pytest.mark.parametrize("name", ["/home/someone/Soot.tif", r"C:\plates\Soot.tif"])
def test_absolute_paths_are_refused(name):
    base = spread_result()
    with pytest.raises(OutputError, match="absolute path"):
        report_document(replace(base, digests={name: "0" * 64}), page=b"")


def test_a_file_name_that_is_not_unicode_is_kept():
    name = b"plates/Nacht\xe4.tif".decode("utf-8", "surrogateescape")
    text = report_bytes(report_document(replace(spread_result(), spread=name), page=b""))
    assert json.loads(text)["spread"] == name
