"""A user's folder over the packaged library: what it replaces, and each complaint with file, row, column."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.library import (
    COMPLAINT_CODES,
    Complaint,
    Library,
    LibraryDamagedError,
    contents,
    library,
    overlaid,
)

PARTS = (
    "part,family,name,tolerance_db,tolerance_high_db,width_mm,supply,draws_w,least_v,injects_v,injects_a,"
    "injects_into,source\n"
)
PORTS = "part,group,count,ends_in,passes_power\n"
FIGURES = "part,group,figure,frequency_mhz,value,source\n"
LOSSES = "series,frequency_mhz,loss_db_per_100m,source\n"
PRICES = "tariff,part,price,labour_h,source\n"
AMPLIFIERS = (
    "part,gain_low_db,gain_high_db,gain_step_db,slope_low_db,slope_high_db,slope_step_db,pad_low_db,pad_high_db,"
    "pad_step_db,equaliser_low_db,equaliser_high_db,equaliser_step_db,slope_low_mhz,slope_high_mhz,"
    "input_low_dbmv,input_high_dbmv,reverse_isolation_db,test_point_db,source\n"
)
CABLES = (
    "cable,series,name,jacket,loop_resistance_ohm_per_km,outer_diameter_mm,mass_kg_per_km,pull_limit_n,"
    "bend_installed_mm,bend_pulling_mm,screening_class,connector,put_ups_m,source\n"
)

MY_SPLITTER = {
    "parts.csv": PARTS + "my-split,splitter,My splitter,0.5,1,50,none,0,0,0,0,,assumed\n",
    "ports.csv": PORTS + "my-split,out,2,cable,no\n",
    "figures.csv": FIGURES + "my-split,out,loss_db,54,3.5,assumed\nmy-split,out,loss_db,1002,4.0,assumed\n",
}


def laid(folder: Path, files: dict[str, str | bytes]) -> tuple[Library, tuple[Complaint, ...]]:
    """Write the files into the folder and lay it over the packaged library."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return overlaid(library(), folder)


def test_a_part_of_the_user_joins_ours(tmp_path: Path) -> None:
    made, complaints = laid(tmp_path, {**MY_SPLITTER})
    assert complaints == ()
    assert made.catalogue.part("my-split").groups[0].gain_db.at_one(1002.0) == -4.0
    assert made.catalogue.has_part("split-2")
    assert not library().catalogue.has_part("my-split")


def test_a_part_of_ours_is_replaced_whole(tmp_path: Path) -> None:
    files = {name: text.replace("my-split", "split-3u") for name, text in MY_SPLITTER.items()}
    made, complaints = laid(tmp_path, {**files})
    assert complaints == ()
    part = made.catalogue.part("split-3u")
    assert (part.name, [group.name for group in part.groups], part.isolation) == ("My splitter", ["out"], ())


def test_a_curve_alone_replaces_that_curve(tmp_path: Path) -> None:
    text = FIGURES + "split-2,out,loss_db,5,3.3,assumed\nsplit-2,out,loss_db,1218,5.0,assumed\n"
    made, complaints = laid(tmp_path, {"figures.csv": text})
    assert complaints == ()
    part = made.catalogue.part("split-2")
    assert part.groups[0].gain_db.value == (-3.3, -5.0)
    assert part.isolation == library().catalogue.part("split-2").isolation


def test_a_price_alone_replaces_that_price(tmp_path: Path) -> None:
    made, complaints = laid(tmp_path, {"mine/part_prices.csv": PRICES + "demo-usd,pad-3,99.50,0,assumed\n"})
    assert complaints == ()
    assert made.tariffs["demo-usd"].device_cents("pad-3") == 9950
    assert made.tariffs["demo-usd"].device_cents("pad-4") == library().tariffs["demo-usd"].device_cents(
        "pad-4"
    )


def test_the_order_of_rows_means_nothing(tmp_path: Path) -> None:
    files = dict(MY_SPLITTER)
    header, *rows = files["figures.csv"].splitlines()
    files["figures.csv"] = "\n".join([header, *reversed(rows), ""])
    made, complaints = laid(tmp_path, {**files})
    assert complaints == ()
    assert made.catalogue.part("my-split").groups[0].gain_db.frequency_mhz == (54.0, 1002.0)


def test_a_source_key_of_the_users_own_is_known(tmp_path: Path) -> None:
    files = {name: text.replace("assumed", "my-meter") for name, text in MY_SPLITTER.items()}
    made, complaints = laid(
        tmp_path, {**files, "sources.toml": '[sources]\n"my-meter" = "Measured by me."\n'}
    )
    assert complaints == ()
    assert made.sources["my-meter"] == "Measured by me."


def test_columns_may_stand_in_any_order_and_a_byte_order_mark_is_fine(tmp_path: Path) -> None:
    text = "\ufeffsource,price,part,tariff,labour_h\nassumed,1.25,pad-3,demo-usd,0\n"
    made, complaints = laid(tmp_path, {"part_prices.csv": text})
    assert complaints == ()
    assert made.tariffs["demo-usd"].device_cents("pad-3") == 125


def test_a_new_cable_takes_the_loss_of_its_series(tmp_path: Path) -> None:
    row = "mine-catvr,mine,Mine,CATVR,100,7,40,600,70,140,A,connector-6,100 300,assumed\n"
    losses = LOSSES + "mine,5,2,assumed\nmine,1002,22,assumed\n"
    made, complaints = laid(tmp_path, {"cables.csv": CABLES + row, "cable_losses.csv": losses})
    assert complaints == ()
    assert made.catalogue.cable("mine-catvr").loss_db_per_100m.value == (2.0, 22.0)
    assert made.catalogue.cable("mine-catvr").put_ups_m == (100.0, 300.0)


LINE_AMP = "line-amp,{low},{high},1,0,6,1,0,6,1,0,6,3,54,1002,0,28,40,20,assumed\n"

REFUSED = [
    ("figures.csv", FIGURES + "split-2,out,loss_db,5,3.0,assumed\n", 2, "value", "beats-physics"),
    ("figures.csv", FIGURES + "tap-4-11,tap,loss_db,54,6.5,assumed\n", 2, "value", "beats-physics"),
    ("figures.csv", FIGURES + "split-2,out,loss_db,5,3.6,hearsay\n", 2, "source", "unknown-source"),
    ("figures.csv", FIGURES + "split-2,out,loss_db,5,nan,assumed\n", 2, "value", "bad-number"),
    ("figures.csv", FIGURES + "split-2,out,loss_db,5,inf,assumed\n", 2, "value", "bad-number"),
    ("figures.csv", FIGURES + "split-2,out,loss_db,5,few,assumed\n", 2, "value", "bad-number"),
    ("figures.csv", FIGURES + 'split-2,out,loss_db,5,"3,6",assumed\n', 2, "value", "bad-number"),
    ("figures.csv", FIGURES + "split-2,out,loss_db,5,-3.6,assumed\n", 2, "value", "out-of-range"),
    ("figures.csv", FIGURES + "split-2,out,loss_db,54000,3.6,assumed\n", 2, "frequency_mhz", "out-of-range"),
    ("figures.csv", FIGURES + "split-2,out,loss_db,5,,assumed\n", 2, "value", "missing-value"),
    ("figures.csv", FIGURES + "split-2,out,weight_kg,5,3.6,assumed\n", 2, "figure", "bad-choice"),
    ("figures.csv", FIGURES + "split-2,side,loss_db,5,3.6,assumed\n", 2, "group", "unknown-group"),
    ("figures.csv", FIGURES + "split-2,out~side,isolation_db,5,3.6,assumed\n", 2, "group", "unknown-group"),
    ("figures.csv", FIGURES + "split-2,out,gain_db,5,-9,assumed\n", 2, "figure", "contradiction"),
    ("figures.csv", FIGURES + "split-5,out,loss_db,5,8.6,assumed\n", 2, "part", "unknown-part"),
    ("figures.csv", FIGURES + "split 2,out,loss_db,5,8.6,assumed\n", 2, "part", "bad-id"),
    ("figures.csv", FIGURES + "split-2,out,loss_db,5,3,6,assumed\n", 2, "", "wrong-width"),
    ("figures.csv", FIGURES + "split-2,out,loss_db,5,4,assumed\n" * 2, 3, "frequency_mhz", "duplicate-row"),
    ("figures.csv", FIGURES + "split-2,amplifier,noise_figure_db,5,4,assumed\n", 2, "part", "missing-row"),
    ("ports.csv", PORTS + "split-2,out,two,cable,no\n", 2, "count", "bad-number"),
    ("ports.csv", PORTS + "split-2,out,0,cable,no\n", 2, "count", "out-of-range"),
    ("ports.csv", PORTS + "split-2,out,2,cable,maybe\n", 2, "passes_power", "bad-choice"),
    ("ports.csv", PORTS + "split-2,side,1,cable,no\n", 2, "group", "missing-row"),
    ("parts.csv", PARTS + "x,gadget,X,0,0,0,none,0,0,0,0,,assumed\n", 2, "family", "unknown-family"),
    ("parts.csv", PARTS + "x,pad,X,0,0,0,line,1,0,0,0,,assumed\n", 2, "least_v", "contradiction"),
    ("parts.csv", PARTS + "x,pad,X,0,0,0,mains,1,0,12,1,,assumed\n", 2, "injects_v", "contradiction"),
    ("parts.csv", PARTS + "x,pad,X,0,0,0,mains,1,0,12,1,up,assumed\n", 2, "injects_into", "unknown-group"),
    ("amplifiers.csv", AMPLIFIERS + LINE_AMP.format(low=12, high=20), 2, "gain_high_db", "contradiction"),
    ("amplifiers.csv", AMPLIFIERS + LINE_AMP.format(low=19, high=18), 2, "gain_low_db", "contradiction"),
    ("cable_losses.csv", LOSSES + "6,5,9,assumed\n6,55,5,assumed\n", 3, "loss_db_per_100m", "contradiction"),
    ("cable_losses.csv", LOSSES + "6,5,0,assumed\n", 2, "loss_db_per_100m", "out-of-range"),
    ("part_prices.csv", PRICES + "demo-usd,pad-3,$5,0,assumed\n", 2, "price", "bad-number"),
    ("part_prices.csv", PRICES + "demo-usd,pad-3,5.125,0,assumed\n", 2, "price", "bad-number"),
    ("part_prices.csv", PRICES + "demo-usd,pad-99,5,0,assumed\n", 2, "part", "unknown-part"),
    ("part_prices.csv", PRICES + "mine,pad-3,5,0,assumed\n", 2, "tariff", "unknown-tariff"),
    ("part_prices.csv", "weight," + PRICES + "1,demo-usd,pad-3,5,0,assumed\n", 1, "weight", "unknown-column"),
    (
        "part_prices.csv",
        "tariff,part,price,source\ndemo-usd,pad-3,5,assumed\n",
        1,
        "labour_h",
        "missing-column",
    ),
    ("part_prices.csv", PRICES.replace(",", ";") + "demo-usd;pad-3;5,1;0;assumed\n", 1, "", "bad-file"),
    ("prices.csv", "tariff\n", 0, "", "unknown-table"),
    ("part_prices.csv", "", 0, "", "bad-file"),
    ("part_prices.csv", b"tariff,\xff\xfe\n", 0, "", "bad-file"),
    ("sources.toml", "[sources\n", 0, "", "bad-file"),
    ("families.toml", '[gadget]\nsymbol = "box"\n', 0, "gadget", "bad-file"),
]


@pytest.mark.parametrize(("file", "text", "row", "column", "code"), REFUSED)
def test_a_bad_file_is_refused_with_its_place(
    tmp_path: Path, file: str, text: str | bytes, row: int, column: str, code: str
) -> None:
    made, complaints = laid(tmp_path, {file: text})
    assert [(c.file, c.row, c.column, c.code) for c in complaints] == [(file, row, column, code)]
    assert made is library()
    assert code in COMPLAINT_CODES
    assert complaints[0].wrong
    assert complaints[0].right


def test_a_row_that_beats_physics_says_what_would_be_right(tmp_path: Path) -> None:
    _, (complaint,) = laid(tmp_path, {"figures.csv": FIGURES + "split-2,out,loss_db,54,3.0,assumed\n"})
    assert "3.011 dB" in complaint.right
    assert str(complaint).startswith("figures.csv, row 2, column value: ")
    made, complaints = laid(tmp_path, {"figures.csv": FIGURES + "split-2,out,loss_db,54,3.011,assumed\n"})
    assert complaints == ()
    assert made.catalogue.part("split-2").groups[0].gain_db.value == (-3.011,)


def test_an_amplifier_needs_a_rating_and_a_noise_figure(tmp_path: Path) -> None:
    parts = PARTS + "amp,amplifier,Amp,1,1,50,mains,5,0,0,0,,assumed\n"
    figures = FIGURES + "amp,out,gain_db,54,18,assumed\n"
    row = LINE_AMP.replace("line-amp", "amp").format(low=12, high=18)
    files = {"parts.csv": parts, "ports.csv": PORTS + "amp,out,1,cable,no\n", "figures.csv": figures}
    _, complaints = laid(tmp_path, {**files, "amplifiers.csv": AMPLIFIERS + row})
    assert [(c.file, c.row, c.code) for c in complaints] == [("parts.csv", 2, "missing-row")] * 2


def test_gain_without_an_amplifier_is_refused(tmp_path: Path) -> None:
    files = dict(MY_SPLITTER)
    files["figures.csv"] = FIGURES + "my-split,out,gain_db,54,3,assumed\n"
    _, complaints = laid(tmp_path, {**files})
    assert [complaint.code for complaint in complaints] == ["beats-physics"]


def test_all_complaints_come_at_once_in_the_order_of_files_and_rows(tmp_path: Path) -> None:
    figures = FIGURES + "split-2,out,loss_db,5,x,assumed\nsplit-4,out,loss_db,5,1.0,hearsay\n"
    prices = PRICES + "demo-usd,pad-3,-1,two,assumed\n"
    _, complaints = laid(tmp_path, {"figures.csv": figures, "part_prices.csv": prices})
    assert [(c.file, c.row, c.column) for c in complaints] == [
        ("figures.csv", 2, "value"),
        ("figures.csv", 3, "source"),
        ("figures.csv", 3, "value"),
        ("part_prices.csv", 2, "labour_h"),
        ("part_prices.csv", 2, "price"),
    ]


def test_what_hangs_on_a_damaged_row_is_not_complained_about_again(tmp_path: Path) -> None:
    files = dict(MY_SPLITTER)
    files["parts.csv"] = files["parts.csv"].replace("0.5", "half")
    files["part_prices.csv"] = PRICES + "demo-usd,my-split,5,0,assumed\n"
    _, complaints = laid(tmp_path, {**files})
    assert [(c.file, c.row, c.column) for c in complaints] == [("parts.csv", 2, "tolerance_db")]


def test_damaged_packaged_data_is_an_error_that_carries_its_complaints(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "figures.csv").write_text(FIGURES + "lost,out,loss_db,5,4,assumed\n")
    (tmp_path / "sources.toml").write_text('[sources]\nassumed = "Assumed."\n')
    monkeypatch.setattr(contents, "files", lambda _: tmp_path)
    with pytest.raises(LibraryDamagedError, match=r"figures\.csv, row 2, column part") as caught:
        library.__wrapped__()
    assert [complaint.code for complaint in caught.value.complaints] == ["unknown-part"]


def test_a_folder_that_is_not_there_is_a_complaint(tmp_path: Path) -> None:
    made, complaints = overlaid(library(), tmp_path / "nowhere")
    assert [complaint.code for complaint in complaints] == ["bad-file"]
    assert made is library()
