"""The swatches are found wherever the package is: wheel, sdist, editable install."""

import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

ASK = (
    "import inkmix, inkmix.press.swatches.by_name as s;"
    "from inkmix.base.shipped import swatches_folder as folder;"
    "print(inkmix.__file__); print(folder()); print(len(s.list_papers()), len(s.list_inks()))"
)
BUILD = "import sys; from hatchling import build; print(getattr(build, sys.argv[1])(sys.argv[2]))"


def build(what: str, target: Path, *, source: Path = ROOT) -> Path:
    """Build `source` with hatchling, as pip does, and return the file."""
    target.mkdir(parents=True, exist_ok=True)
    done = subprocess.run(
        [sys.executable, "-c", BUILD, what, str(target)],
        cwd=source,
        capture_output=True,
        text=True,
        check=True,
    )
    return target / done.stdout.split()[-1]


def ask(*, imported_from: Path, cwd: Path) -> list[str]:
    """File of the package, folder of the swatches, and what is in it, in a fresh interpreter."""
    environment = {**os.environ, "PYTHONPATH": str(imported_from), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(
        [sys.executable, "-c", ASK],
        cwd=cwd,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.splitlines()


@pytest.fixture(scope="module")
def sdist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The unpacked source distribution."""
    folder = tmp_path_factory.mktemp("sdist")
    with tarfile.open(build("build_sdist", folder / "built")) as archive:
        archive.extractall(folder / "unpacked", filter="data")
    return next((folder / "unpacked").iterdir())


def unpacked_wheel(wheel: Path, target: Path) -> Path:
    """A pure wheel is installed by unpacking it."""
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(target)
    return target


def test_wheel_holds_its_swatches(tmp_path: Path) -> None:
    installed = unpacked_wheel(build("build_wheel", tmp_path / "built"), tmp_path / "site")
    package, folder, counts = ask(imported_from=installed, cwd=tmp_path)
    assert Path(package) == installed / "inkmix" / "__init__.py"
    assert Path(folder) == installed / "inkmix" / "_swatches"
    assert counts == "6 36"
    shipped = {p.relative_to(ROOT / "swatches") for p in (ROOT / "swatches").rglob("*.*")}
    assert {p.relative_to(folder) for p in Path(folder).rglob("*.*")} == shipped
    assert (installed / "inkmix" / "pages" / "inks" / "templates" / "inks.css").is_file()
    assert (installed / "inkmix" / "py.typed").is_file()


def test_sdist_works_as_a_checkout(sdist: Path, tmp_path: Path) -> None:
    package, folder, counts = ask(imported_from=sdist, cwd=tmp_path)
    assert Path(package) == sdist / "inkmix" / "__init__.py"
    assert Path(folder) == sdist / "swatches"
    assert counts == "6 36"


def test_wheel_built_from_the_sdist_is_the_same(sdist: Path, tmp_path: Path) -> None:
    ours = build("build_wheel", tmp_path / "ours")
    theirs = build("build_wheel", tmp_path / "theirs", source=sdist)
    with zipfile.ZipFile(ours) as first, zipfile.ZipFile(theirs) as second:
        assert first.namelist() == second.namelist()


def test_editable_install_finds_the_checkout(tmp_path: Path) -> None:
    site = unpacked_wheel(build("build_editable", tmp_path / "built"), tmp_path / "site")
    (pointer,) = site.glob("*.pth")
    target = Path(pointer.read_text(encoding="utf-8").strip())
    assert target == ROOT
    _, folder, counts = ask(imported_from=target, cwd=tmp_path)
    assert Path(folder) == ROOT / "swatches"
    assert counts == "6 36"
