"""Compiled templates are kept between runs: found again, never believed spoiled or outdated."""

from importlib.resources import files
from pathlib import Path

import pytest
from jinja2 import Environment, nodes

from inkmix.base.kernels.code_cache import SUFFIX
from inkmix.pages.report import template_code
from inkmix.pages.report.templating import environment


def _pages(text: str) -> Environment:
    return environment("inkmix.pages.report", {}, others=lambda name: text if name == "a" else None)


@pytest.fixture
def kept(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setenv("INKMIX_CACHE", str(tmp_path))
    return tmp_path / "loops"


@pytest.fixture
def compiled(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The texts that Jinja compiled, as they come."""
    texts: list[str] = []
    real = Environment._generate

    def counted(self: Environment, source: nodes.Template, *told: object, **more: object) -> str:
        texts.append(repr(told[0]))
        return real(self, source, *told, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Environment, "_generate", counted)
    return texts


def test_a_template_is_compiled_once(kept: Path, compiled: list[str]) -> None:
    assert _pages("{{ x }}!").get_template("a").render(x="<") == "&lt;!"
    assert _pages("{{ x }}!").get_template("a").render(x="<") == "&lt;!"
    assert len(compiled) == 1
    assert len(list(kept.glob(f"template-*{SUFFIX}"))) == 1


def test_another_text_is_another_template(kept: Path, compiled: list[str]) -> None:
    assert _pages("{{ x }}!").get_template("a").render(x=1) == "1!"
    assert _pages("{{ x }}?").get_template("a").render(x=1) == "1?"
    assert len(compiled) == 2
    assert len(list(kept.glob(f"template-*{SUFFIX}"))) == 2


def test_a_spoiled_file_is_compiled_again(kept: Path, compiled: list[str]) -> None:
    _pages("{{ x }}!").get_template("a")
    (file,) = kept.glob(f"template-*{SUFFIX}")
    file.write_bytes(file.read_bytes()[:-40] + bytes(40))
    assert _pages("{{ x }}!").get_template("a").render(x=2) == "2!"
    assert len(compiled) == 2


def test_another_jinja_compiles_again(
    kept: Path, compiled: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _pages("{{ x }}!").get_template("a")
    monkeypatch.setattr(template_code.jinja2, "__version__", "0")
    _pages("{{ x }}!").get_template("a")
    assert len(compiled) == 2
    assert kept.is_dir()


def test_without_a_cache_pages_are_made_all_the_same(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").write_bytes(b"")
    monkeypatch.setenv("INKMIX_CACHE", str(tmp_path / "file"))
    assert _pages("{{ x }}!").get_template("a").render(x=3) == "3!"


def _templates() -> list[Path]:
    return sorted(Path(str(files("inkmix"))).rglob("*.jinja"))


@pytest.mark.parametrize("path", _templates(), ids=lambda path: path.name)
def test_no_template_prints_a_constant(path: Path) -> None:
    """Jinja would put it through our filters while it compiles, and keep what they made of it."""
    plain = Environment(autoescape=True)
    context = nodes.EvalContext(plain)
    for output in plain.parse(path.read_text("utf-8")).find_all(nodes.Output):
        for node in output.nodes:
            if not isinstance(node, nodes.TemplateData):
                with pytest.raises(nodes.Impossible):
                    node.as_const(context)


def test_there_are_templates_to_look_at() -> None:
    assert len(_templates()) > 10
