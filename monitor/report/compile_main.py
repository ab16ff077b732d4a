"""The child process that sets a report: `python -m monitor.report.compile_main FOLDER`.

Runs apart because the typesetter is large; what it may use is bounded here, in its own process.
FOLDER holds job.json, the pictures and what is to be attached; report.pdf is written into it.
"""

from __future__ import annotations

import json
import resource
import shutil
import sys
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal

from monitor.report.print_text import by_number, printable, signs_of, unprintable

STANDARD: Literal["a-3b"] = "a-3b"
FONT_FILES = ("SourceSansPro-Light.otf", "SourceSansPro-Regular.otf", "SourceSansPro-Semibold.otf")
PROBE = '#set text(font: ("Source Sans Pro", "DejaVu Sans Mono"), fallback: false)\n#text(sys.inputs.signs)\n'


def bound(data_mb: int, cpu_s: int) -> None:
    """Bound this process: written memory in MB, processor time in s."""
    resource.setrlimit(resource.RLIMIT_DATA, (data_mb << 20, data_mb << 20))
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s))


def compile_report(folder: Path, job: dict[str, Any]) -> None:
    """Set the report; the typesetter's own error passes through."""
    import typst

    fonts = typst.Fonts(include_system_fonts=False, font_paths=[lay_out_fonts(folder)])
    setter = typst.Compiler(root=folder, font_paths=fonts)

    def prints(signs: str) -> bool:
        try:
            setter.compile(PROBE.encode(), format="pdf", sys_inputs={"signs": signs}, pdf_standards=STANDARD)
        except typst.TypstError:
            return False
        return True

    pictures = {path: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.svg"))}
    bad = unprintable(signs_of(job["data"]) | signs_of(list(pictures.values())), prints)
    for path, drawn in pictures.items() if bad else ():
        path.write_text(by_number(drawn, bad), encoding="utf-8")
    template = files("monitor.report").joinpath("record.typ").read_bytes()
    (folder / "record.typ").write_bytes(template)
    data = {**printable(job["data"], bad), **job["fixed"]}
    setter.compile(
        folder / "record.typ", folder / "report.pdf", format="pdf", pdf_standards=STANDARD, timestamp=job["made_s"],
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
    )  # fmt: skip


def lay_out_fonts(folder: Path) -> Path:
    """Copy the few faces that are used: the package holds each of them twice, in two formats."""
    spec = find_spec("font_source_sans_pro")
    if spec is None or not spec.submodule_search_locations:
        raise RuntimeError("did not find the package font-source-sans-pro; install it")
    source, target = Path(spec.submodule_search_locations[0]) / "files", folder / "fonts"
    target.mkdir()
    for name in FONT_FILES:
        shutil.copyfile(source / name, target / name)
    return target


def main() -> int:
    """Set the report of the folder named on the command line; tell an error in one line."""
    folder = Path(sys.argv[1])
    job = json.loads((folder / "job.json").read_text(encoding="utf-8"))
    bound(job["data_mb"], job["cpu_s"])
    try:
        compile_report(folder, job)
    except (RuntimeError, OSError, MemoryError) as error:
        sys.stderr.write(f"{error}\n")
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
