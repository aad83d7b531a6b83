"""What README.md shows is run: its commands, its book, its two set-up lines."""

import re
import shlex
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest
from simulated_press import lab_of, random_press

from inkmix.book.read import parse_book
from inkmix.checks import table
from inkmix.cli.main import COMMANDS, run
from inkmix.colour.measured.cgats import parse_patch_list
from inkmix.colour.measured.shade_card import parse_shade_card
from inkmix.demo.write import write_demo
from inkmix.press.scoring.score import score_table
from inkmix.press.swatches.by_name import load_paper
from inkmix.press.swatches.files import inks_of_card, read_measurements

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def console_commands() -> list[str]:
    blocks = re.findall(r"```console\n(.*?)```", README, re.S)
    return [line[2:] for block in blocks for line in block.splitlines() if line.startswith("$ ")]


def test_readme_opens_with_one_paragraph_that_states_the_job():
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# inkmix"
    assert "what\nwill print before plates are made" in paragraph


def test_every_command_is_in_the_readme():
    text = "\n".join(re.findall(r"```.*?```", README, re.S))
    assert [name for name in COMMANDS if f"inkmix {name}" not in text] == []


def print_and_read(form, path):
    """The numbers of a form's patches, and their colours from a press of another kind."""
    name = "testform.txt"
    listed = parse_patch_list((form / name).read_bytes(), where=name)
    lab = lab_of(random_press(1).measured(listed.tone_pct, seed=1))
    lines = [
        f"{number};{L:.3f};{a:.3f};{b:.3f}"
        for number, (L, a, b) in zip(listed.sample_names, lab, strict=True)
    ]
    path.write_text("\n".join(["SAMPLE_ID;LAB_L;LAB_A;LAB_B", *lines]) + "\n", encoding="utf-8")


@pytest.mark.long
def test_commands_run_as_written(tmp_path, monkeypatch, capsys):
    write_demo(tmp_path / "night-ferry", ppi=50, fault="all")
    (tmp_path / "tests").symlink_to(ROOT / "tests")
    monkeypatch.chdir(tmp_path)
    for command in console_commands():
        if not command.startswith("inkmix "):
            subprocess.run(["bash", "-euc", command], check=True)
            continue
        if command.startswith("inkmix calibrate"):
            print_and_read(tmp_path / "form", tmp_path / "readings.txt")
        expected = (
            1 if command.split()[1] in ("check", "batch", "mend") else 0
        )  # faults are planted there
        assert run(shlex.split(command)[1:]) == expected, capsys.readouterr().err
    written = ("print.png", "print-on-screen.png", "warm.png", "two.png", "inks.html",
               "overprints.pdf", "overprints.png", "flare.pdf", "palette.html")  # fmt: skip
    for name in written:
        assert (tmp_path / name).stat().st_size > 0
    assert (tmp_path / "night-ferry" / "press" / "readings.toml").stat().st_size > 0
    assert "# guessed" in (tmp_path / "my-strip" / "book.toml").read_text(encoding="utf-8")


ROWS = {"FOGRA39L": ("fogra39l", "coated"), "FOGRA29L": ("fogra29l", "uncoated"),
        "TR 002": ("tr002", "newsprint")}  # fmt: skip


@pytest.mark.parametrize("chart", ROWS)
def test_scores_shown_are_those_of_the_program(chart):
    (row,) = re.findall(rf"^\| {chart}, .*$", README, re.M)
    shown = [(float(a), float(b)) for a, b in re.findall(r"([\d.]+) \(([\d.]+)\)", row)]
    name, paper_class = ROWS[chart]
    table = read_measurements(ROOT / "tests" / "reference" / f"{name}.txt")
    for known, figures in zip(("solids", "ramps", "overprints"), shown, strict=False):
        result = score_table(table, known=known, paper_class=paper_class)
        assert figures == (
            pytest.approx(result["de00"]["mean"], abs=0.0051),
            pytest.approx(result["dark"]["mean_abs_dL"], abs=0.051),
        )
    screen = score_table(table, known="ramps", paper_class=paper_class)["screen_multiply"]
    assert shown[3] == (
        pytest.approx(screen["de00"]["mean"], abs=0.051),
        pytest.approx(screen["dark"]["mean_abs_dL"], abs=0.051),
    )


def test_the_books_shown_are_parts_of_a_book(tmp_path):
    one, more = re.findall(r"```toml\n(.*?)```", README, re.S)
    assert set(tomllib.loads(one)) == {"night", "measured", "tones"}
    assert set(tomllib.loads(more)) == {"override", "waive"}
    write_demo(tmp_path, ppi=20)
    path = tmp_path / "book.toml"
    book = parse_book((path.read_text() + more).encode(), path=path, form=table.book_form())
    assert [waiver.by for waiver in book.waivers] == ["M. Quill"]
    assert book.for_spread("cover").paper.paper_class == "coated"


def test_the_shade_card_shown_is_one():
    (text,) = re.findall(r"```csv\n(.*?)```", README, re.S)
    paper = load_paper("night-ferry/uncoated")
    card = parse_shade_card(text.encode(), where="README.md")
    inks, notes = inks_of_card(card, paper=paper, file="card.csv")
    assert [ink.name for ink in inks] == ["Ember", "Heather", "Moss"]
    assert (inks[0].measured_on.paper_class, notes) == ("coated", ())


def test_ci_runs_the_readme_s_test_command():
    (command,) = re.findall(r"<!-- test -->\n```\n(.*?)\n```", README)
    assert command.endswith("pytest -n 2")
    assert "<!-- test -->" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


@pytest.mark.skipif(shutil.which("git") is None, reason="needs git")
def test_nothing_but_the_agreed_names_lies_at_the_top():
    if not (ROOT / ".git").exists():
        pytest.skip("not a checkout")
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split("\n")
    top = {line.split("/")[0] for line in listed if line and not line.startswith(".")}
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "inkmix", "tests", "swatches"}
    assert top <= agreed | {"notebooks"}
