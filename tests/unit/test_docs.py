"""README and DEVELOPERS say what the code does, and no file holds what may not be committed."""

from __future__ import annotations

import re
import subprocess
import tomllib
from pathlib import Path
from typing import Any

import typer
import typer.main

from deploy.run_checks import SHARES, SLOW
from monitor import cli
from monitor.bench.kinds import KINDS

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()

TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml",
    "monitor", "dashboard", "firmware_notes", "deploy", "tests",
}  # fmt: skip

#: Hosts that may stand in an address: this machine, names kept for examples, and names of formats.
HOSTS = {
    "127.0.0.1",
    "localhost",
    "testserver",
    "www.apache.org",
    "www.w3.org",
    "ns.adobe.com",
    "purl.org",
    "www.aiim.org",
}
EXAMPLE = re.compile(r"(^|\.)(example|invalid|test)(\.(com|org|net))?$")

MOST_LINES = 300


def tracked() -> list[Path]:
    """List the project's files, less what git ignores; a copy without a repository is listed whole."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, check=False)
    if done.returncode == 0:
        found = [ROOT / line for line in done.stdout.decode().splitlines()]
    else:
        found = [p for p in ROOT.rglob("*") if not any(part.startswith(".") for part in p.relative_to(ROOT).parts)]
    return [p for p in found if p.is_file() and "__pycache__" not in p.parts and ".egg-info" not in str(p)]


def texts() -> dict[str, str]:
    """Give the text of every file that is one."""
    found = {}
    for path in tracked():
        content = path.read_bytes()
        if b"\0" not in content:
            found[str(path.relative_to(ROOT))] = content.decode()
    return found


def table(heading: str) -> list[list[str]]:
    """Give the cells of the tables of one chapter of DEVELOPERS, without their heads."""
    chapter = DEVELOPERS.split(f"## {heading}\n")[1].split("\n## ")[0]
    rows = [line.strip("|").split("|") for line in chapter.splitlines() if line.startswith("|")]
    rows = [[cell.strip() for cell in row] for row in rows]
    return [row for row in rows if not set(row[0]) <= {"-"} and row[0].startswith("`")]


def commands() -> dict[str, Any]:
    """Give the program's visible commands by name."""
    (app,) = (value for value in vars(cli).values() if isinstance(value, typer.Typer))
    group: Any = typer.main.get_command(app)
    return {name: command for name, command in group.commands.items() if not command.hidden}


def test_commands_of_this_version_are_those_in_the_table() -> None:
    said = {row[0].strip("`").split()[1] for row in table("Commands") if row[0].startswith("`benchblotter")}
    assert said == set(commands())


def test_every_command_named_in_the_text_exists() -> None:
    named = set(re.findall(r"benchblotter ([a-z][a-z-]+)", README + DEVELOPERS))
    assert named - set(commands()) == set()


def test_layer_map_is_the_import_contract() -> None:
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
    (layers,) = (c["layers"] for c in contracts if c["type"] == "layers")
    said = [sorted(re.findall(r"`(\w+)`", row[0])) for row in table("Layer map")]
    assert said == [sorted(name.strip() for name in layer.split("|")) for layer in layers]


def test_every_module_of_the_monitor_has_a_layer() -> None:
    there = {p.stem if p.is_file() else p.name for p in (ROOT / "monitor").iterdir() if p.suffix in ("", ".py")}
    said = {name for row in table("Layer map") for name in re.findall(r"`(\w+)`", row[0])}
    assert {name for name in there if not name.startswith("_")} == said


def test_groups_of_the_check_are_named() -> None:
    for group in [*SHARES, *SLOW]:
        assert re.search(rf"\b{group}\b", DEVELOPERS.split("## Layer map")[0]), group


def test_every_path_named_exists() -> None:
    for name in set(re.findall(rf"`\.?/?((?:{'|'.join(TOP_LEVEL)})/[\w./-]+)`", README + DEVELOPERS)):
        if name != "tests/.data":
            assert (ROOT / name).exists(), name


def test_top_level_is_the_fixed_list() -> None:
    first = {path.relative_to(ROOT).parts[0] for path in tracked()}
    assert {name for name in first if not name.startswith(".")} == TOP_LEVEL


def test_no_foreign_address_and_no_path_of_one_machine() -> None:
    for name, text in texts().items():
        for host in re.findall(r"https?://([A-Za-z0-9.-]+)", text):
            assert host in HOSTS or EXAMPLE.search(host), f"{name}: address of {host}"
        paths = re.findall(r"(?<![\w.~$}-])/(?:home|root|work|Users)/\S*", text)
        assert not paths, f"{name}: {paths}"


def test_locks_hold_hashes_and_nothing_else() -> None:
    shape = re.compile(r"[a-z0-9-]+==[\w.]+( ; [\w.<>=!' ]+)? \\|    --hash=sha256:[0-9a-f]{64}( \\)?")
    for lock in sorted((ROOT / "deploy").glob("*.lock")):
        for line in lock.read_text().splitlines():
            assert shape.fullmatch(line), f"{lock.name}: {line}"


def test_what_runs_is_locked_as_it_was_tested() -> None:
    runs, tests = (
        set(re.findall(r"^\S+==\S+", (ROOT / "deploy" / name).read_text(), re.MULTILINE))
        for name in ("requirements.lock", "requirements-test.lock")
    )
    assert runs < tests


def test_every_event_has_its_sentence() -> None:
    for kind in KINDS.values():
        assert kind.says.endswith("."), kind.key


def test_decisions_are_numbered_in_order() -> None:
    numbers = [int(n) for n in re.findall(r"^(\d+)\. ", DEVELOPERS.split("## Decisions")[1], re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1))


def test_no_file_of_the_program_is_long() -> None:
    long = [name for name, text in texts().items()
            if name.endswith(".py") and not name.startswith("tests/") and text.count("\n") > MOST_LINES]  # fmt: skip
    assert long == []
