"""DEVELOPERS.md lists what the code has: every complaint code, every package, every benchmark."""

from __future__ import annotations

import importlib.util
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

from service.forms.codes import FAULT_CODES


@pytest.fixture(scope="module")
def guide(root: Path) -> str:
    return (root / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def codes_table() -> ModuleType:
    spec = importlib.util.spec_from_file_location("codes_table", Path(__file__).with_name("codes_table.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_list_of_codes_is_complete(guide: str, codes_table: ModuleType) -> None:
    assert guide.count(codes_table.BEGIN) == guide.count(codes_table.END) == 1
    missing = [row for row in codes_table.table().splitlines() if row not in guide.splitlines()]
    assert not missing
    assert codes_table.with_table(guide) == guide, "run python tests/architecture/codes_table.py"


def test_every_code_has_a_meaning_in_a_sentence() -> None:
    assert FAULT_CODES
    assert not [code for code, text in FAULT_CODES.items() if len(text.split()) < 3 or not text.endswith(".")]


def test_every_field_of_a_document_is_explained(root: Path) -> None:
    path = root / "service" / "forms" / "fields.toml"
    fields = tomllib.loads(path.read_text(encoding="utf-8"))
    assert fields
    assert not [name for name, entry in fields.items() if len(entry["text"].split()) < 3]


def test_numbers_with_a_unit_carry_it_in_their_name(root: Path) -> None:
    path = root / "service" / "forms" / "fields.toml"
    fields = tomllib.loads(path.read_text(encoding="utf-8"))
    endings = {
        "dBmV": "_dbmv",
        "dBµV": "_dbuv",
        "dBm": "_dbm",
        "dB": "_db",
        "MHz": "_mhz",
        "m": "_m",
        "ft": "_ft",
        "V": "_v",
        "A": "_a",
        "W": "_w",
        "°C": "_c",
        "mm": "_mm",
        "%": "_percent",
    }
    #: One entry for the ranges of every setting; the fields are named gain_low_db and so on.
    shared = {"setting_low", "setting_high", "setting_step"}
    lost = [
        (name, entry["unit"])
        for name, entry in fields.items()
        if name not in shared
        and entry.get("unit") in endings
        and not name.partition("_at_")[0].endswith(endings[entry["unit"]])
    ]
    assert not lost


def test_the_map_names_every_package(guide: str, root: Path) -> None:
    the_map = guide.partition("## Map")[2].partition("\n## ")[0]
    starts = [path for top in ("service", "batch") for path in (root / top).rglob("__init__.py")]
    packages = {path.parent.name for path in starts}
    assert not [name for name in sorted(packages) if f"{name}/" not in the_map]


def test_every_benchmark_is_explained(guide: str, root: Path) -> None:
    part = guide.partition("## Benchmarks")[2].partition("\n## ")[0]
    scripts = sorted(path.name for path in (root / "tests" / "benchmarks").glob("*.py"))
    assert scripts
    assert not [name for name in scripts if name not in part]
