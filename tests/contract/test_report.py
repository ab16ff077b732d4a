"""The report as a file: what PDF/A-3b asks for and can be looked up, its attachment, its words.

No validator is at hand here, so nothing below says "valid": the file declares PDF/A-3b and the
typesetter refused nothing. Those who have veraPDF can run `verapdf --flavour 3b report.pdf`.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pytest

from monitor.bench.adhesive import SPANS
from monitor.errors import BadInput, BlotterError
from monitor.report.digest import last_row
from monitor.report.export import export
from monitor.report.make import Bounds, make_report
from monitor.report.outside import read_outside, warning_rows
from monitor.report.selection import of_step, rows_of
from monitor.store.store import Store
from tests.unit import report_scene
from tests.unit.report_scene import OTHER_STEP, ROOM, STEP, Words, lay_out

HOSTILE = {
    "typst": '#set page(width: 1cm) #panic("x") $ x^2 $ *bold* _it_ = Head <label> @ref `raw` \\ // gone /* gone */',
    "markup": "<script>alert('x')</script> & &amp; ]]> <!-- gone -->",
    "quotes": '"double" \'single\' «guillemets» \\" \\n {{ }} ${x} %s %(x)s',
    "right to left": "שלום עולם and مرحبا, then left again \u202egnidaer\u202c",
    "emoji": "brush \U0001f58c\ufe0f, family \U0001f468\u200d\U0001f469\u200d\U0001f467, flag \U0001f1eb\U0001f1f7",
    "controls": "bell \x07, null-ish \x01, escape \x1b[31m, tab\there, line\u2028separator",
    "ten thousand in one word": "x" * 10_000,
    "ten thousand in words": "word " * 2_000,
    "accents": "Żółć, Ελληνικά, Кириллица, e\u0301, Tiếng Việt, ½ ± Ω µ",
}


def text_of(path: Path, last_page: int = 0) -> str:
    """Give the text, of all pages unless a last one is named, as another program reads it."""
    pages = ["-l", str(last_page)] if last_page else []
    command = ["pdftotext", "-raw", *pages, str(path), "-"]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return re.sub(r"\s+", " ", told.replace("\u200b", ""))


def attached(path: Path, folder: Path) -> bytes:
    """Give the attachment as pdfdetach takes it out."""
    subprocess.run(["pdfdetach", "-save", "1", "-o", str(folder / "taken.csv"), str(path)], check=True)
    return (folder / "taken.csv").read_bytes()


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Give the day's store."""
    made = lay_out(tmp_path_factory.mktemp("report") / "store")
    yield made
    made.close()


@pytest.fixture(scope="module")
def report(store: Store, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the step's report, made once."""
    return make_report(store, STEP, tmp_path_factory.mktemp("made") / "report.pdf")


@pytest.fixture
def pdf(report: Path) -> Iterator[pikepdf.Pdf]:
    """Give the report opened."""
    with pikepdf.open(report) as opened:
        yield opened


def test_it_declares_pdf_a_3b(pdf: pikepdf.Pdf) -> None:
    with pdf.open_metadata() as meta:
        assert (meta["pdfaid:part"], meta["pdfaid:conformance"]) == ("3", "B")
        assert meta["dc:title"] == "Harbour at low tide: Strip-lining with a heated spatula, side B"
    assert "/Filter" not in pdf.Root.Metadata


def test_it_carries_an_output_intent_with_its_colour_profile(pdf: pikepdf.Pdf) -> None:
    (intent,) = list(pdf.Root.OutputIntents)
    assert intent.S == "/GTS_PDFA1"
    assert intent.DestOutputProfile.read_bytes()[36:40] == b"acsp"


def test_it_says_its_language_and_is_tagged_and_has_an_identity(pdf: pikepdf.Pdf) -> None:
    assert str(pdf.Root.Lang) == "en"
    assert bool(pdf.Root.MarkInfo.Marked)
    assert len(pdf.trailer.ID) == 2


def test_nothing_in_it_acts_and_nothing_is_encrypted(pdf: pikepdf.Pdf) -> None:
    assert not pdf.is_encrypted
    assert "/OpenAction" not in pdf.Root
    assert "/AA" not in pdf.Root
    kinds = {str(o.get("/S")) for o in pdf.objects if isinstance(o, pikepdf.Dictionary)}
    assert not kinds & {"/JavaScript", "/Launch", "/SubmitForm", "/ImportData", "/Movie", "/Sound"}
    assert not any("/JS" in o for o in pdf.objects if isinstance(o, pikepdf.Dictionary))


def test_every_font_is_embedded(pdf: pikepdf.Pdf) -> None:
    fonts = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"]
    assert {str(font.FontName).partition("+")[2][:13] for font in fonts} == {"SourceSansPro", "DejaVuSansMon"}
    assert all(any(key in font for key in ("/FontFile", "/FontFile2", "/FontFile3")) for font in fonts)


def test_the_readings_are_associated_with_it_as_its_source(pdf: pikepdf.Pdf) -> None:
    (file,) = list(pdf.Root.AF)
    assert (str(file.UF), file.AFRelationship) == ("readings.csv", "/Source")
    assert str(file.Desc).startswith("Every reading behind the chart")
    stream = file.EF.F
    assert stream.Subtype == "/text/csv"
    assert str(stream.Params.ModDate).startswith("D:20260504091100")
    assert int(stream.Params.Size) == len(stream.read_bytes())


def test_qpdf_finds_nothing_wrong(report: Path) -> None:
    done = subprocess.run(["qpdf", "--check", str(report)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_pdfdetach_gives_back_the_very_readings_of_export(store: Store, report: Path, tmp_path: Path) -> None:
    export(store, of_step(store, STEP), tmp_path / "out")
    assert attached(report, tmp_path) == (tmp_path / "out" / "readings.csv").read_bytes()


def test_the_printed_digests_are_those_of_attachment_and_day_book(store: Store, report: Path, tmp_path: Path) -> None:
    said = text_of(report)
    assert hashlib.sha256(attached(report, tmp_path)).hexdigest() in said
    row, row_hash = last_row(rows_of(store, of_step(store, STEP)))
    assert row in said
    assert row_hash in said


def test_the_same_report_is_the_same_bytes(store: Store, report: Path, tmp_path: Path) -> None:
    again = make_report(store, STEP, tmp_path / "again.pdf")
    assert again.read_bytes() == report.read_bytes()


def test_it_says_painting_step_when_who_and_where(report: Path) -> None:
    said = text_of(report)
    for words in (
        "Harbour at low tide", "Strip-lining with a heated spatula, side B", "no. 23-09", "linen, 61 x 92 cm",
        "loose paint along the lower edge", "4 May 2026, 09:01:00 to 09:11:00 (UTC)", "MK", "north bench",
    ):  # fmt: skip
        assert words in said


def test_simulated_readings_are_called_so(report: Path) -> None:
    said = text_of(report)
    assert "Simulated: these readings come from a simulated studio. No painting was treated." in said
    assert "from simulated MAX31856 on spi-0.0, type K" in said


def test_it_says_what_it_does_not_claim(report: Path) -> None:
    said = text_of(report)
    for words in (
        "Estimates, not tried on a mock-up: no verdict.", "no safety device",
        "not a substitute for a qualified conservator", "not yet tried on a mock-up",
    ):  # fmt: skip
        assert words in said
    assert not re.search(r"\b(safe|sealed|validated|certified)\b", said)


def test_it_says_what_was_outside_what_was_not_measured_and_what_limits_rest_on(report: Path) -> None:
    said = text_of(report)
    for words in (
        "Relative humidity (room): highest 64.2 % at 09:06:30 above 60 % 2 min 50 s, 09:06:30 to 09:09:20 "
        "09:06:40 to 09:09:20 Watch of the room 09:07:00 by TB",
        "Tool temperature (spatula): highest 88.5 °C at 09:05:00 above 85 °C under 1 s, at 09:05:00; with a "
        "place in hand 0 s no warning",
        "Warnings begin and end later than the readings they are about: relative humidity after 2 s beyond, "
        "until back by 1 % for 2 s.",
        "Estimates at the face reached above the 50 °C set on places 1 and 3; not tried on a mock-up, so this is no "
        "verdict.",
        "The whole estimated band lay below the 70 °C the film asks, on places 1 to 3; not tried",
        "Tool temperature (spatula) from 09:07:35 to 09:07:42, 7 s: a lead was open.",
        "Place 4, pass 1: mark taken back 09:06:05 by MK.",
        "tool temperature at most 85 °C this step proposal of this project",
        "relative humidity at most 60 % the room proposal of this project",
        "at the adhesive at least 70 °C the film [1], fig. 19.4, cited; nap bond, hot table, held",
        "at the face at most 50 °C this side proposal of this project; for sound old oil paint",
        "[1] Daly Hartin, Michalski, Hagan: chapter 19",
        "Read of it: The publisher's open working file",
    ):  # fmt: skip
        assert words in said


def test_a_warning_of_the_room_that_stood_when_the_step_began_is_not_lost(store: Store) -> None:
    selection = of_step(store, STEP)
    rows = rows_of(store, selection)
    raised = next(row for row in rows if row["kind"] == "alarm_raised")
    later = [row for row in rows if row["seq"] > raised["seq"]]
    assert [row["seq"] for row in warning_rows(store, selection, later) if row["kind"] == "alarm_raised"] == [
        raised["seq"]
    ]
    (one,) = read_outside(warning_rows(store, selection, later), selection.from_ms)
    assert (one.from_ms, one.seen_by, one.at) == (raised["at_ms"], "TB", 60.0)


def test_every_pass_has_its_row_with_time_of_day_humidity_and_both_estimates(report: Path) -> None:
    said = text_of(report)
    assert re.search(r"\b3 1 09:02:50 52 12 77 76 80 52 to 58\b.*?\b36 to 52\b", said)
    assert re.search(r"\b3 2 09:03:30 52 24 77 77 80 61 to 68\b.*?\b36 to 52\b", said)
    assert re.search(r"\b5 1 09:07:30 64 20 79 76 82 no reading from the tool for 7 s\b", said)
    assert "50 at most" in said
    assert "6 not touched" in said


def test_it_names_the_film_its_condition_and_what_the_band_spans(report: Path) -> None:
    said = text_of(report)
    assert (
        "EVA heat-seal film, formula of 2010: at the adhesive at least 70 °C (nap bond, hot table, held 10 min)"
        in said
    )
    assert "are estimates, computed from the tool's temperature through the layers" in said
    assert SPANS in said
    assert "Checked by hand: not recorded in this version" in said
    assert said.count("not yet tried on a mock-up") == 1


def test_it_gives_the_layers_with_thickness_range_and_grade(report: Path) -> None:
    said = text_of(report)
    assert (
        "linen strip 400, 300 to 800 proposal of this project; measure your own linen 0.07, 0.05 to 0.12 recalled"
        in said
    )
    assert "MDF board 18000 proposal of this project 0.13 proposal of this project" in said
    assert (
        "Contact between tool, layers and base: 60 to 500 W/(m² K), most likely 150 (recalled from memory)." in said
    )


def test_it_prints_what_was_asked_at_the_start_and_everyone_who_acted(report: Path) -> None:
    said = text_of(report)
    assert "What lies in front of the strip? ground only" in said
    assert "who MK, TB" in said


def test_what_matters_most_stands_on_the_first_page(report: Path) -> None:
    first = text_of(report, 1)
    for words in (
        "Harbour at low tide", "What lies in front of the strip?", "Simulated", "Outside what was set",
        "so this is no verdict.", "Not measured", "Marks taken back", "6 not touched",
    ):  # fmt: skip
        assert words in first


def test_it_keeps_to_two_pages_with_six_places(pdf: pikepdf.Pdf) -> None:
    assert len(pdf.pages) <= 2


def test_without_layers_the_table_has_no_columns_for_estimates(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    measured = report_scene._contact
    monkeypatch.setattr(report_scene, "SANDWICH", None)
    monkeypatch.setattr(report_scene, "_contact", lambda *args: measured(*args[:-1], []))
    store = lay_out(tmp_path / "store")
    try:
        said = text_of(make_report(store, STEP, tmp_path / "report.pdf"))
    finally:
        store.close()
    assert "3 2 09:03:30 52 24 77 77 80 4 not touched" in said
    for words in ("at the adhesive", "at the face", "Under the tool", SPANS):
        assert words not in said


def test_other_paintings_stay_out(report: Path) -> None:
    assert "Winter road" not in text_of(report)
    assert "tacking iron" not in text_of(report)


@pytest.mark.parametrize("step", [ROOM, OTHER_STEP])
def test_a_watch_of_the_room_and_a_running_step_have_a_report_too(store: Store, tmp_path: Path, step: str) -> None:
    said = text_of(make_report(store, step, tmp_path / "report.pdf"))
    assert "still running" in said
    assert "no safety device" in said


@pytest.mark.parametrize("kind", HOSTILE)
def test_whatever_a_person_wrote_is_printed_as_words(tmp_path: Path, kind: str) -> None:
    wrote = HOSTILE[kind]
    short = wrote[:200]
    words = Words(painting=short, support=short, beware=[short], note=wrote, touches=short, by=short, side=short)
    store = lay_out(tmp_path / "store", words)
    try:
        path = make_report(store, STEP, tmp_path / "report.pdf")
    finally:
        store.close()
    said = text_of(path)
    assert subprocess.run(["qpdf", "--check", str(path)], capture_output=True, check=False).returncode == 0
    assert "no safety device" in said
    with pikepdf.open(path) as opened:
        assert opened.open_metadata()["pdfaid:part"] == "3"
        box = [float(n) for n in opened.pages[0].MediaBox]
        assert [round(n) for n in box] == [0, 0, 595, 842]
    assert_printed(kind, wrote, said)


def assert_printed(kind: str, wrote: str, said: str) -> None:
    """Hold what was written against what is printed."""
    if kind in ("typst", "markup", "accents"):
        assert re.sub(r"\s+", "", wrote.replace("e\u0301", "é")) in re.sub(r"\s+", "", said.replace("e\u0301", "é"))
    if kind == "right to left":
        assert "[U+05E9]" in said
        assert "[U+202E]gnidaer[U+202C]" in said
    if kind == "emoji":
        assert "[U+1F58C]" in said
    if kind == "controls":
        assert "[U+0007]" in said
        assert "[U+001B][31m" in said
    if kind == "ten thousand in one word":
        assert re.sub(r"[^x]", "", said).count("x") >= 10_000
    if kind == "ten thousand in words":
        assert said.count("word ") >= 1_990


def inside_the_page(path: Path) -> bool:
    """Tell whether every word that pdftotext finds lies on its page."""
    told = subprocess.run(["pdftotext", "-bbox", str(path), "-"], capture_output=True, text=True, check=True).stdout
    ends = [float(x) for x in re.findall(r'<word xMin="[-\d.]+" yMin="[-\d.]+" xMax="([-\d.]+)"', told)]
    return bool(ends) and max(ends) <= 595.3 - 40


@pytest.mark.parametrize("kind", ["ten thousand in one word", "typst"])
def test_long_words_are_broken_and_stay_on_the_paper(tmp_path: Path, kind: str) -> None:
    wrote = HOSTILE[kind]
    store = lay_out(tmp_path / "store", Words(painting=wrote[:300], note=wrote, by=wrote[:60], touches=wrote[:90]))
    try:
        assert inside_the_page(make_report(store, STEP, tmp_path / "report.pdf"))
    finally:
        store.close()


def test_a_report_that_exists_is_replaced_only_by_a_whole_one(store: Store, tmp_path: Path) -> None:
    out = tmp_path / "report.pdf"
    out.write_text("before")
    with pytest.raises(BlotterError, match="Nothing was written"):
        make_report(store, STEP, out, bounds=Bounds(data_mb=1))
    assert out.read_text() == "before"
    assert [p.name for p in tmp_path.iterdir()] == ["report.pdf"]


def test_a_typesetter_that_takes_too_long_is_stopped(store: Store, tmp_path: Path) -> None:
    with pytest.raises(BlotterError, match=r"took longer than 0\.01 s"):
        make_report(store, STEP, tmp_path / "report.pdf", bounds=Bounds(wall_s=0.01))
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_step_and_a_missing_folder_are_refused(store: Store, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="step 's9': not in the day-book"):
        make_report(store, "s9", tmp_path / "report.pdf")
    with pytest.raises(BadInput, match="there is no folder"):
        make_report(store, STEP, tmp_path / "none" / "report.pdf")
    assert list(tmp_path.iterdir()) == []


def test_the_tools_these_tests_read_with_are_there() -> None:
    assert all(shutil.which(tool) for tool in ("qpdf", "pdfdetach", "pdftotext"))
