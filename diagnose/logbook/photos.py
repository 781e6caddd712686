"""Photos of parts: taken in as pictures and as nothing else.

A file is decoded and written anew as JPEG, so that what is kept is only what can be seen: no place, no camera, no name,
nothing appended. It is turned upright first, made small enough to print, and known by the digest of its bytes from then
on.
"""

from __future__ import annotations

import hashlib
import io
import warnings
from pathlib import Path

from msgspec import Struct

from diagnose.errors import InputError, shown

#: bytes of a file that is looked at, points that it may decode to, and the longer edge of what is kept
MOST_BYTES, MOST_POINTS, EDGE = 32 << 20, 80_000_000, 1600
FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP", "MPO")


class Photo(Struct, frozen=True):
    """A picture as it is kept: JPEG *data*, its size in points, and the SHA-256 of the data."""

    digest: str
    width: int
    height: int
    data: bytes


def read_photo(path: Path) -> Photo:
    """Read the picture at *path*. Raises InputError where it is none, or too large;
    FileNotFoundError where nothing is there.
    """
    if path.exists() and not path.is_file():
        raise InputError(f"{path}: is no regular file, expected a photo")
    try:
        with open(path, "rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise
    except OSError as error:
        raise InputError(f"{path}: can't be read: {error.strerror or error}") from None
    return taken_in(data, str(path))


def taken_in(data: bytes, label: str) -> Photo:
    """Decode *data*, make it small and write it anew. Raises InputError; *label* names it there."""
    from PIL import Image, ImageOps

    if len(data) > MOST_BYTES:
        raise InputError(f"{shown(label)}: over {MOST_BYTES >> 20} MiB, expected a photo of less")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=FORMATS) as picture:
                if picture.width * picture.height > MOST_POINTS:
                    raise InputError(
                        f"{shown(label)}: {picture.width} by {picture.height} points, expected a photo of less"
                    )
                upright = ImageOps.exif_transpose(picture)
                upright.thumbnail((EDGE, EDGE))
                flat = upright.convert("RGB")
    except InputError:
        raise
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise InputError(f"{shown(label)}: too many points, expected a photo of less") from None
    except Exception as error:  # decoders of broken pictures raise almost anything
        raise InputError(f"{shown(label)}: is no picture that can be read ({type(error).__name__})") from None
    made = io.BytesIO()
    flat.save(made, "JPEG", quality=85, optimize=True)
    return Photo(hashlib.sha256(made.getvalue()).hexdigest(), flat.width, flat.height, made.getvalue())
