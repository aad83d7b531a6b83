"""The tool that fits the press again: judged by what it is told, and by what it leaves out."""

import sys
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import fit_press
import numpy as np
import pytest
from press_fit import errors, overprints, tones
from press_fit.constants_in_use import in_use, snapshot
from press_fit.sets import read_sets

from inkmix.press.constants import MODEL


@pytest.fixture(scope="module")
def sets(tmp_path_factory):
    """The three sets of the repository, from a folder that has none of its own."""
    return read_sets(tmp_path_factory.mktemp("none"))


def test_the_sets_of_the_repository_are_always_there(sets):
    assert {one.name for one in sets} == {"fogra39l", "fogra29l", "tr002"}
    assert len({one.family for one in sets}) == 3
    assert all(one.is_process for one in sets)


def test_unknown_sets_are_named_and_told_ones_read(tmp_path, capsys):
    reference = Path(__file__).parent / "reference"
    (tmp_path / "ours.txt").write_bytes((reference / "tr002.txt").read_bytes())
    assert "ours" not in {one.name for one in read_sets(tmp_path)}
    assert "ours: not known" in capsys.readouterr().out
    (tmp_path / "sets.csv").write_text("file,class,family\nours.txt,newsprint,our press\n")
    (ours,) = (one for one in read_sets(tmp_path) if one.name == "ours")
    assert (ours.paper_class, ours.family) == ("newsprint", "our press")


def test_a_class_that_nobody_knows_is_refused(tmp_path):
    reference = Path(__file__).parent / "reference"
    (tmp_path / "ours.txt").write_bytes((reference / "tr002.txt").read_bytes())
    (tmp_path / "sets.csv").write_text("file,class,family\nours.txt,glossy,our press\n")
    with pytest.raises(SystemExit, match="glossy"):
        read_sets(tmp_path)


def test_constants_are_put_back(sets):
    before = snapshot()
    changed = replace(before, tone=replace(before.tone, skew=0.5))
    with in_use(changed):
        assert MODEL.tone.skew == 0.5
    assert MODEL.tone is before.tone


def with_densities(constants, **by_class):
    papers = dict(constants.paper)
    for name, density in by_class.items():
        papers[name] = replace(papers[name], greatest_density=density)
    return replace(constants, paper=MappingProxyType(papers))


def test_greatest_densities_are_found_again(sets, monkeypatch):
    """Overprints made with known constants lead back to them, from a start far off."""
    true = with_densities(snapshot(), coated=2.6, uncoated=1.5)
    told = []
    for one in sets:
        data = overprints.measured(one)
        data["relative"] = overprints.predicted(data, true)
        told.append(data)
    monkeypatch.setattr(overprints, "measured", lambda one: told[sets.index(one)])
    found = overprints.fit(sets, with_densities(snapshot(), coated=2.2, uncoated=1.3))
    assert found.paper["coated"].greatest_density == pytest.approx(2.6, abs=0.02)
    assert found.paper["uncoated"].greatest_density == pytest.approx(1.5, abs=0.02)
    assert found.overprint.trapping_loss == pytest.approx(0.359, abs=0.02)


def test_a_tone_curve_is_found_again(sets, monkeypatch):
    """Ramps made with known constants lead back to them."""
    constants = snapshot()
    skew, gain = constants.tone.skew, constants.tone.gain_by_density

    def ramps(one):
        paper = constants.paper[one.paper_class]
        xyz100, _ = one.measured_solids()
        above = np.log10(xyz100[0, 1] / xyz100[1, 1]) - paper.tone_offset_at
        for _, relative in true_ramps(one):
            solid, tone = relative[-1], np.linspace(0.1, 1, 10)
            density = np.maximum(-np.log10(solid), 0)
            offset = paper.tone_offset - paper.tone_by_density * above
            four_a = 4 * (offset + gain * (1 - density / density.max()))
            bump = (tone * (1 - tone))[:, None]
            coverage = tone[:, None] + (four_a - skew * (1 - 2 * tone[:, None])) * bump
            yield tone, (1 - coverage * (1 - np.sqrt(solid))) ** 2

    true_ramps = tones.ramps
    monkeypatch.setattr(tones, "ramps", ramps)
    spoilt = replace(constants, tone=replace(constants.tone, skew=0.0, gain_by_density=0.0))
    found = tones.fit(sets, spoilt)
    assert found.tone.skew == pytest.approx(skew, abs=1e-6)
    assert found.tone.gain_by_density == pytest.approx(gain, abs=1e-6)
    assert found.paper["newsprint"].tone_offset == pytest.approx(0.110, abs=1e-6)
    assert found.paper["newsprint"].tone_by_density == pytest.approx(0.25, abs=1e-6)


def test_factors_hold_as_much_as_they_should():
    """Errors of three presses, one twice as far off: the factor is that of the worst."""
    rng = np.random.default_rng(1)
    made = [
        errors.Outcome(
            name=f"press {spread}", family="", de00=np.abs(rng.normal(0, spread, 4000)),
            off_L=np.abs(rng.normal(0, 1, 4000)), bound_de00=np.ones(4000),
            bound_L=np.ones(4000), dark=np.arange(800),
        )
        for spread in (1.0, 1.0, 2.0)
    ]  # fmt: skip
    colour, lightness = errors.factors(made)
    shares = [one.inside(colour, lightness)[0] for one in made]
    assert min(shares) == pytest.approx(errors.WORST, abs=0.02)
    assert lightness == pytest.approx(1.96, abs=0.12)


def test_it_prints_fitted_and_left_out_side_by_side(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(sys, "argv", ["fit_press.py", str(tmp_path), "--shipped"])
    fit_press.main()
    printed = capsys.readouterr().out
    for words in ("fitted to", "left out", "shipped", "factors from other families",
                  "trapping_loss", "newsprint spreading K<C"):  # fmt: skip
        assert words in printed
    line = next(line for line in printed.splitlines() if "mean of process inks" in line)
    fitted, left_out = (float(line.split()[at]) for at in (6, 9))
    assert fitted < left_out
