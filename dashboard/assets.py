"""The chart script of the installed package, compressed once and served for ever.

It is 4.8 MB as installed and 1.5 MB compressed. Its address carries its digest, so that a
browser fetches it once; a new version of the package has a new address.
"""

from __future__ import annotations

import gzip
import hashlib
import importlib.util
import os
from dataclasses import dataclass
from pathlib import Path

from fastapi import APIRouter, Request, Response
from fastapi.responses import FileResponse

from monitor.errors import BadInput

FOR_EVER = "public, max-age=31536000, immutable"
_LEVEL = 9


@dataclass(frozen=True)
class ChartScript:
    """The script as installed, its compressed form, and the address it is served under."""

    plain: Path
    compressed: Path
    address: str


def installed_script() -> Path:
    """Find the script in the installed package without importing it; BadInput when it is missing."""
    found = importlib.util.find_spec("plotly")
    path = Path(found.origin or "").parent / "package_data" / "plotly.min.js" if found else Path("plotly.min.js")
    if not path.is_file():
        raise BadInput("chart script", "the installed plotly package has none", "plotly.min.js", "Install it again.")
    return path


def chart_script(folder: Path) -> ChartScript:
    """Compress the script into `folder` unless this very version lies there already.

    Raises:
        BadInput: the folder cannot be written.
    """
    plain = installed_script()
    content = plain.read_bytes()
    name = f"chart-{hashlib.sha256(content).hexdigest()[:16]}.js"
    compressed = folder / f"{name}.gz"
    if not compressed.is_file():
        _write(compressed, gzip.compress(content, _LEVEL, mtime=0))
    return ChartScript(plain, compressed, f"/assets/{name}")


def _write(path: Path, content: bytes) -> None:
    """Write whole or not at all, and clear earlier versions away."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        half = path.with_suffix(".half")
        half.write_bytes(content)
        os.replace(half, path)
        for old in path.parent.glob("chart-*.js.gz"):
            if old != path:
                old.unlink()
    except OSError as error:
        raise BadInput(
            f"folder {path.parent}", error.strerror or "not writable", "a folder the dashboard may write",
            "Give it to the user the dashboard runs as, or name another with --data.",
        ) from error  # fmt: skip


def routes(script: ChartScript) -> APIRouter:
    """Give the script's route."""
    router = APIRouter()

    @router.get(script.address)
    async def chart(request: Request) -> Response:
        headers = {"cache-control": FOR_EVER, "vary": "accept-encoding"}
        if "gzip" in request.headers.get("accept-encoding", ""):
            headers["content-encoding"] = "gzip"
            return FileResponse(script.compressed, headers=headers, media_type="text/javascript")
        return FileResponse(script.plain, headers=headers, media_type="text/javascript")

    return router
