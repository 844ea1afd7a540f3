"""A file of which a part may be asked for, so that a player can seek in it (RFC 9110, section 14)."""

import re
from collections.abc import Iterator
from pathlib import Path

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase

_AT_ONCE = 1 << 18
_RANGE = re.compile(r"bytes=(\d*)-(\d*)", re.ASCII)


def ranged(request: HttpRequest, path: Path, content_type: str) -> HttpResponseBase:
    """The file, or the one part that was asked for, 206 though it be all of it; 416 for a part it does not have."""
    size = path.stat().st_size
    first, last, is_part = _part(request.headers.get("Range", ""), size)
    headers = {"Accept-Ranges": "bytes"}
    if first > last:
        return HttpResponse(status=416, headers={**headers, "Content-Range": f"bytes */{size}"})
    headers["Content-Length"] = str(last - first + 1)
    if is_part:
        headers["Content-Range"] = f"bytes {first}-{last}/{size}"
    content = iter(()) if request.method == "HEAD" else _read(path, first, last)
    return StreamingHttpResponse(content, status=206 if is_part else 200, content_type=content_type, headers=headers)


def _part(asked: str, size: int) -> tuple[int, int, bool]:
    """First and last byte, and whether a part was asked for; what cannot be read asks for everything (section 14.2)."""
    found = _RANGE.fullmatch(asked.strip())
    if not found or found.groups() == ("", ""):
        return 0, size - 1, False
    first, last = found.groups()
    if not first:
        return max(size - int(last), 0), (size - 1 if int(last) else -1), True
    return int(first), min(int(last), size - 1) if last else size - 1, True


def _read(path: Path, first: int, last: int) -> Iterator[bytes]:
    with path.open("rb") as file:
        file.seek(first)
        left = last - first + 1
        while left > 0 and (block := file.read(min(_AT_ONCE, left))):
            left -= len(block)
            yield block
