"""Tables kept on disk: the same bits as built, never another table, and never in the way."""

import ast
import hashlib
import logging
import os
import subprocess
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import inkmix.press.table.disk_cache as kept_module
from inkmix.base.arrays import all_combinations
from inkmix.base.cache import cache_folder
from inkmix.jobs.printing.screen import screen_model
from inkmix.jobs.printing.white import OnWhite
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_overprints, load_paper
from inkmix.press.table import key as key_module
from inkmix.press.table.disk_cache import kept_lookup
from inkmix.press.table.key import NoKeyError, table_key
from inkmix.press.table.lookup import Lookup, build_lookup
from inkmix.press.table.packed import pack, packed_bytes, unpack

PACKAGE = Path(key_module.__file__).parents[2]
NAMES = ("night-ferry/Soot", "night-ferry/Rowan")


def press(*names: str, process: str = "sheet-fed offset") -> PressCondition:
    paper = load_paper("night-ferry/uncoated")
    inks = [load_ink(name, paper=paper) for name in names]
    patches = load_overprints(paper, names)
    return press_condition(paper, inks, process=find_process(process), patches=patches)


@pytest.fixture(scope="module")
def condition():
    return press(*NAMES)


@pytest.fixture
def cache(tmp_path, monkeypatch):
    """An empty cache of this test's own."""
    monkeypatch.setenv("INKMIX_CACHE", str(tmp_path / "cache"))
    kept_module._say_once.cache_clear()
    return tmp_path / "cache" / "tables"


@pytest.fixture
def builds(monkeypatch):
    """How often a table was really built."""
    asked = []

    def counted(model, *, inks, depth):
        asked.append((inks, depth))
        return build_lookup(model, inks=inks, depth=depth)

    monkeypatch.setattr(kept_module, "build_lookup", counted)
    return asked


def arrays(lookup: Lookup) -> list[np.ndarray]:
    return [lookup.nodes, lookup.offsets, lookup.fractions, lookup.strides]


def assert_same(one: Lookup, other: Lookup) -> None:
    for mine, theirs in zip(arrays(one), arrays(other), strict=True):
        assert mine.dtype == theirs.dtype
        assert mine.flags.writeable == theirs.flags.writeable  # loops are compiled for one kind
        np.testing.assert_array_equal(mine, theirs)
    assert one.digest() == other.digest()


@pytest.mark.parametrize("depth", [8, 16])
def test_a_kept_table_is_the_built_one_bit_by_bit(condition, cache, builds, depth):
    built = build_lookup(condition, inks=2, depth=depth)
    for _ in range(3):
        assert_same(kept_lookup(condition, inks=2, depth=depth), built)
    assert builds == [(2, depth)]
    (file,) = cache.iterdir()
    assert file.stat().st_size == packed_bytes(inks=2, depth=depth)


@pytest.mark.parametrize("inks", range(1, 9))
@pytest.mark.parametrize("depth", [8, 16])
def test_packing_holds_every_number_of_inks(inks, depth):
    """Index tables of a straight curve reach every cell; nodes are noise."""

    class Straight:
        def coverage(self, tone_pct):
            return np.asarray(tone_pct) / 100

        def xyz100(self, tone_pct):
            return np.broadcast_to(tone_pct[..., :1], (*tone_pct.shape[:-1], 3))

        def xyz100_on_grid(self, tone_pct):
            return self.xyz100(all_combinations(tone_pct))

    lookup = build_lookup(Straight(), inks=inks, depth=depth)
    key = bytes(range(32))
    data = np.frombuffer(bytearray(pack(lookup, key=key)), np.uint8)
    assert_same(unpack(data, key=key, inks=inks, depth=depth), lookup)


SPOILED = {
    "empty": lambda data: b"",
    "cut": lambda data: data[:-1],
    "longer": lambda data: data + b"\0",
    "one bit of a node": lambda data: _flipped(data, 1000),
    "one bit of the key": lambda data: _flipped(data, 40),
    "one bit of the checksum": lambda data: _flipped(data, len(data) - 1),
    "zeros at the end, as after a power cut": lambda data: data[:4096].ljust(len(data), b"\0"),
    "another program's": lambda data: b"\x93NUMPY" + data[6:],
}


def _flipped(data: bytes, place: int) -> bytes:
    return data[:place] + bytes([data[place] ^ 4]) + data[place + 1 :]


@pytest.mark.parametrize("spoil", SPOILED.values(), ids=SPOILED.keys())
def test_a_damaged_file_is_built_anew(condition, cache, builds, spoil):
    first = kept_lookup(condition, inks=2, depth=8)
    (file,) = cache.iterdir()
    whole = file.read_bytes()
    file.write_bytes(spoil(whole))
    assert_same(kept_lookup(condition, inks=2, depth=8), first)
    assert len(builds) == 2
    assert file.read_bytes() == whole


def test_a_sound_file_of_another_table_is_not_taken(condition, cache, builds):
    """As after a slip of the hand in the folder: right size, right checksum, another name."""
    kept_lookup(condition, inks=2, depth=8)
    (file,) = cache.iterdir()
    other = screen_model(condition)
    file.rename(file.with_name(f"{table_key(other, inks=2, depth=8).hex()}.table"))
    assert_same(kept_lookup(other, inks=2, depth=8), build_lookup(other, inks=2, depth=8))
    assert len(builds) == 2


def test_a_table_that_was_given_the_key_of_another_is_not_taken(condition, cache, builds):
    """Right size, right name, right key, and a checksum that was right before."""
    kept_lookup(condition, inks=2, depth=8)
    (file,) = cache.iterdir()
    other = screen_model(condition)
    key, data = table_key(other, inks=2, depth=8), file.read_bytes()
    file.with_name(f"{key.hex()}.table").write_bytes(data[:32] + key + data[64:])
    assert_same(kept_lookup(other, inks=2, depth=8), build_lookup(other, inks=2, depth=8))
    assert len(builds) == 2


def key_of(model: object, **more: int) -> bytes:
    return table_key(model, **({"inks": 2, "depth": 8} | more))


def models(condition):
    """Models that may be taken for one another."""
    soot, rowan = condition.inks
    inks = {"inks": (soot, replace(rowan, opacity=0.3))}
    white = condition.paper.xyz100
    nudged = replace(condition.paper, xyz100=white * (1 + 2**-52))
    yield condition
    yield press(*NAMES[::-1])
    yield press(*NAMES, process="newsprint")
    yield press_condition(condition.paper, condition.inks, process=condition.process)
    yield condition.with_screened(["Soot"])
    yield press_condition(nudged, condition.inks, process=condition.process)
    yield replace(condition, **inks)
    yield replace(condition, level="solids")
    yield OnWhite(model=condition, paper_xyz100=white)
    yield OnWhite(model=condition, paper_xyz100=nudged.xyz100)
    yield OnWhite(model=OnWhite(model=condition, paper_xyz100=white), paper_xyz100=white)
    yield screen_model(condition)
    yield OnWhite(model=screen_model(condition), paper_xyz100=white)


def test_every_value_of_a_model_is_in_the_key(condition):
    keys = [key_of(model) for model in models(condition)]
    keys += [key_of(condition, inks=3), key_of(condition, depth=16)]
    assert len(set(keys)) == len(keys)


def test_equal_values_have_one_key_whatever_the_objects(condition):
    assert key_of(press(*NAMES)) == key_of(condition)


PROGRAM = """
import sys
sys.path.insert(0, sys.argv[1])
from test_tables import NAMES, key_of, press
print(key_of(press(*NAMES)).hex())
"""


def test_another_run_finds_the_same_key(condition):
    """Whatever the order of its sets, and however many threads it computes on."""
    more = {"PYTHONHASHSEED": "7", "OPENBLAS_NUM_THREADS": "2", "OMP_NUM_THREADS": "2"}
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(Path(__file__).parent)],
        env=os.environ | more, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stdout.strip() == key_of(condition).hex()


@pytest.mark.parametrize(
    ("name", "value"),
    [("__version__", "9.9"), ("_scales", lambda inks: (inks,)), ("_surroundings", lambda: ("x",))],
)
def test_what_surrounds_a_model_is_in_the_key(condition, monkeypatch, name, value):
    before = key_of(condition)
    owner = np if name == "__version__" else key_module
    monkeypatch.setattr(owner, name, value)
    assert key_of(condition) != before


@pytest.mark.parametrize(
    "name", ["press/table/lookup.py", "press/kriging.py", "jobs/printing/white.py"]
)
def test_the_text_of_what_computes_is_in_the_key(condition, monkeypatch, name):
    """`OnWhite` lives in the last of them."""
    model = OnWhite(model=condition, paper_xyz100=condition.paper.xyz100)
    texts = {PACKAGE / name: hashlib.sha256(b"another text").hexdigest()}
    real, before = key_module._text_digest, key_of(model)
    monkeypatch.setattr(key_module, "_text_digest", lambda path: texts.get(path) or real(path))
    assert key_of(model) != before


def imports_of(path: Path) -> set[Path]:
    """Modules of the project that a module imports by name."""
    nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    names = [node.module for node in nodes if isinstance(node, ast.ImportFrom)]
    paths = [PACKAGE.parent / f"{name.replace('.', '/')}.py" for name in names if name]
    return {path for path in paths if path.is_file()}


def test_every_module_that_a_colour_needs_is_in_the_key():
    """Follow the imports from where colours are computed; words and schemas have no say in them."""
    found, new = set(), {PACKAGE / "press/table/lookup.py", PACKAGE / "press/condition.py"}
    while new:
        found |= new
        new = set().union(*map(imports_of, new)) - found
    assert {"kriging.py", "halftone.py", "observer.py", "tone.py"} < {path.name for path in found}
    quiet = ("errors", "json_document", "plain_text", "quoting", "words")
    silent = {PACKAGE / f"base/{name}.py" for name in quiet}
    assert found - silent <= set(key_module._computing_files())


def test_a_text_changed_since_it_was_loaded_gives_no_key(tmp_path):
    text = tmp_path / "wrapper.py"
    text.write_text("")
    os.utime(text, ns=(key_module._LOADED_NS + 1,) * 2)
    with pytest.raises(NoKeyError, match=r"wrapper\.py was changed"):
        key_module._text_digest(text)
    with pytest.raises(NoKeyError, match=r"absent\.py"):
        key_module._text_digest(tmp_path / "absent.py")


def test_without_the_program_text_tables_are_built(condition, cache, builds, monkeypatch):
    def none(path):
        raise NoKeyError("kriging.py: No such file")

    monkeypatch.setattr(key_module, "_text_digest", none)
    for _ in range(2):
        kept_lookup(condition, inks=2, depth=8)
    assert len(builds) == 2
    assert not cache.exists()


@dataclass(frozen=True)
class Holder:
    value: object


@pytest.mark.parametrize(
    "value",
    [lambda: 1, object(), [1.0], {1.0}, Path("x"), 1j, b"x", np.array([None]), (1, (2, object())),
     MappingProxyType({"a": object()}), range(3), Holder],
)  # fmt: skip
def test_a_value_of_unknown_kind_is_refused(value):
    with pytest.raises(TypeError, match="no canonical form"):
        key_of(Holder(value))


ALIKE = [
    0, False, None, 0.0, -0.0, "", "0", "0.0", "None", (), (0,), ((0,),), (0, 0), frozenset(),
    frozenset([0]), {}, {0: 0}, {0: 0.0}, np.zeros(1), np.zeros(2), np.zeros((2, 1)),
    np.zeros(2, np.float32), np.zeros(2, np.int64), np.float64(0), np.zeros((1, 2)), "int:1:0",
    ("a", "b"), ("ab",), ("", "ab"), float("nan"), float("inf"), Holder(0), Holder(Holder(0)),
]  # fmt: skip


def test_values_that_look_alike_have_keys_of_their_own():
    keys = [key_of(Holder(value)) for value in ALIKE]
    assert len(set(keys)) == len(ALIKE)


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3).map(tuple),
    max_leaves=6,
)


@given(one=VALUES, other=VALUES)
def test_keys_are_equal_where_values_are(one, other):
    """Python's own text of a value tells -0.0 from 0.0 and True from 1."""
    assert (key_of(Holder(one)) == key_of(Holder(other))) == (repr(one) == repr(other))


def unusable(tmp_path: Path) -> dict[str, Path]:
    file = tmp_path / "file"
    file.write_text("")
    return {"a file": file, "below a file": file / "deeper", "a device": Path("/dev/null")}


@pytest.mark.parametrize("kind", ["a file", "below a file", "a device"])
def test_an_unusable_folder_is_said_once_and_stops_nothing(
    condition, tmp_path, monkeypatch, cache, caplog, kind
):
    monkeypatch.setenv("INKMIX_CACHE", str(unusable(tmp_path)[kind]))
    caplog.set_level(logging.INFO, "inkmix")
    built = build_lookup(condition, inks=2, depth=8)
    for _ in range(2):
        assert_same(kept_lookup(condition, inks=2, depth=8), built)
    (record,) = [record for record in caplog.records if "not kept" in record.message]
    assert record.levelno == logging.INFO


def test_a_full_disk_leaves_nothing_behind(condition, cache, monkeypatch, caplog):
    def full(path, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    caplog.set_level(logging.INFO, "inkmix")
    kept_lookup(condition, inks=2, depth=8)
    assert list(cache.iterdir()) == []
    assert "No space left on device" in caplog.text


def test_without_a_home_tables_are_built(condition, cache, builds, monkeypatch, caplog):
    """As a service may run: no HOME, and a user that no list of users holds."""

    def unknown(uid):
        raise KeyError(uid)

    for name in ("INKMIX_CACHE", "HOME", "XDG_CACHE_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(pytest.importorskip("pwd"), "getpwuid", unknown)
    caplog.set_level(logging.INFO, "inkmix")
    with pytest.raises(OSError, match="no home"):
        cache_folder("tables")
    for _ in range(2):
        kept_lookup(condition, inks=2, depth=8)
    assert len(builds) == 2
    assert caplog.text.count("there is no home folder") == 1
