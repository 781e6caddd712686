"""A client's photo, taken in as a picture and as nothing else: decoded under limits and written anew.

What is kept is only what can be seen: no place, no camera, nothing before, behind or inside the picture. Only JPEG is
read, for the page makes nothing else, and only one that says of itself, before it is decoded, that it is small: so
many points and so many passes. A progressive JPEG of a few kilobytes may otherwise go over millions of points
thousands of times.
"""

from __future__ import annotations

import io
import warnings

from msgspec import Struct

#: bytes of a photo, points that it may decode to, its longest edge, and passes over it
MOST_PHOTO, MOST_POINTS, MOST_EDGE, MOST_PASSES = 3 << 20, 12_000_000, 6_000, 40
#: the longer edge and the quality of what is kept
EDGE, QUALITY = 1600, 85
_START, _SCAN = b"\xff\xd8\xff", b"\xff\xda"


class PhotoError(ValueError):
    """A photo that is not taken; the message says why."""


class Picture(Struct, frozen=True):
    """A picture as it is kept: JPEG *data* of *width* by *height* points, what it *shows* in the client's words, and
    its *place* among all that came with it, from 1, by which the client knows it.
    """

    data: bytes
    width: int
    height: int
    shows: str = ""
    place: int = 1


def picture_of(data: bytes) -> Picture:
    """Decode *data* and write it anew. Raises PhotoError."""
    from PIL import Image

    if not data.startswith(_START) or len(data) > MOST_PHOTO:
        raise PhotoError("is no JPEG of a size that the page makes")
    if data.count(_SCAN) > MOST_PASSES:
        raise PhotoError("is a JPEG of too many passes")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=("JPEG",)) as picture:
                if picture.width * picture.height > MOST_POINTS or max(picture.size) > MOST_EDGE:
                    raise PhotoError(f"has {picture.width} by {picture.height} points, too many")
                flat = picture.convert("RGB")
                flat.thumbnail((EDGE, EDGE))
    except PhotoError:
        raise
    except Exception as error:  # decoders of broken pictures raise almost anything
        raise PhotoError(f"can't be read as a picture ({type(error).__name__})") from None
    clean = Image.new("RGB", flat.size)
    clean.paste(flat)
    made = io.BytesIO()
    clean.save(made, "JPEG", quality=QUALITY)
    return Picture(made.getvalue(), clean.width, clean.height)
