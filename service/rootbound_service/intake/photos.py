"""Photos as they may be kept: small, upright, and without a word of where and by whom."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from rootbound_service.errors import Problem, RefusedInput

if TYPE_CHECKING:
    from PIL import Image

MB = 1_000_000
UPLOAD_BYTES = 12 * MB
PIXELS = 40_000_000
TOO_MANY_PIXELS = ("has too many pixels", f"send at most {PIXELS // 1_000_000} megapixels")
LONGER_SIDE = 1600
THUMBNAIL_SIDE = 240
KEPT_BYTES = 500_000
PROFILE_BYTES = 1 * MB
QUALITIES = (82, 74, 66, 58, 50, 42)
SMALLER = 0.75
FORMATS = ("JPEG", "PNG", "WEBP")
MODES = frozenset({"1", "L", "LA", "P", "PA", "RGB", "RGBA", "CMYK", "YCbCr"})
WHERE = "the photo"
KINDS = "send a JPEG, PNG or WebP picture"
PHONE = "set the phone's camera to most compatible, or send JPEG"
HEIC = frozenset({b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis"})
"""Brands of the box that an ISO 23008-12 picture begins with."""
ORIENTATION = 0x0112
"""The tag of Exif 2.32 (CIPA DC-008), table 4."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo to keep.

    Parameters
    ----------
    jpeg
        Its bytes, without metadata.
    small
        The same for a list.
    width, height
        As seen upright. [px]
    """

    jpeg: bytes
    small: bytes
    width: int
    height: int


def clean_photo(data: bytes, where: str = WHERE) -> Photo:
    """Draw an uploaded photo anew.

    Parameters
    ----------
    data
        A JPEG, PNG or WebP; of an animation the first picture is taken.
    where
        Names it in a refusal.

    Returns
    -------
    Photo
        Pixels only: nothing else of the upload comes through.

    Raises
    ------
    RefusedInput
        If it is another kind, broken, or too large.
    """
    picture = _opened(data, where)
    try:
        jpeg, (width, height) = _encoded(_upright_rgb(picture))
    except Exception:  # noqa: BLE001  decoders let through whatever a broken byte causes
        wanted = "take it again, or send it again"
        raise _refusal(where, "is broken or cut short", wanted) from None
    return Photo(jpeg, thumbnail(jpeg), width, height)


def thumbnail(jpeg: bytes) -> bytes:
    """Make the small picture of a list.

    Parameters
    ----------
    jpeg
        Of a photo that was cleaned.

    Returns
    -------
    bytes
        A JPEG of at most 240 px on its longer side.

    Raises
    ------
    RefusedInput
        If it is no such picture.
    """
    picture = _opened(jpeg, WHERE)
    picture.thumbnail((THUMBNAIL_SIDE, THUMBNAIL_SIDE))
    return _jpeg(picture.convert("RGB"), QUALITIES[0])


def _opened(data: bytes, where: str) -> Image.Image:
    """The picture with its size known and no pixel decoded."""
    from PIL import Image, ImageFile

    # one switch for the whole process, and the library that sets PDFs turns it on
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    if not data:
        raise _refusal(where, "is empty", KINDS)
    if len(data) > UPLOAD_BYTES:
        raise _refusal(
            where, f"has {len(data) / MB:.1f} MB", f"send at most {UPLOAD_BYTES // MB} MB"
        )
    if data[4:8] == b"ftyp" and data[8:12] in HEIC:
        raise _refusal(where, "is a HEIC picture, which few programs read", PHONE)
    try:
        picture = Image.open(io.BytesIO(data), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _refusal(where, *TOO_MANY_PIXELS) from None
    except Exception:  # noqa: BLE001  decoders let through whatever a broken byte causes
        raise _refusal(where, "is not a picture we can read", KINDS) from None
    if picture.width * picture.height > PIXELS:
        raise _refusal(where, *TOO_MANY_PIXELS)
    if picture.mode not in MODES:
        raise _refusal(where, "has more shades than a photo", KINDS)
    return picture


def _upright_rgb(picture: Image.Image) -> Image.Image:
    from PIL import Image

    turn = _turn(picture)
    profile = picture.info.get("icc_profile")
    if picture.mode in {"P", "PA", "LA"} or "transparency" in picture.info:
        picture = picture.convert("RGBA")
    picture.thumbnail((LONGER_SIDE, LONGER_SIDE), Image.Resampling.LANCZOS, reducing_gap=2.0)
    if picture.mode == "RGBA":
        flat = Image.new("RGB", picture.size, "white")
        flat.paste(picture, mask=picture.getchannel("A"))
        picture = flat
    if isinstance(profile, bytes) and len(profile) <= PROFILE_BYTES:
        picture = _in_srgb(picture, profile)
    picture = picture.convert("RGB")
    return picture if turn is None else picture.transpose(turn)


def _turn(picture: Image.Image) -> Image.Transpose | None:
    """How the camera was held; a broken note of it counts as none."""
    from PIL import Image

    turns = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }
    try:
        return turns.get(picture.getexif().get(ORIENTATION, 1))
    except Exception:  # noqa: BLE001  what stands in EXIF is anything
        return None


def _in_srgb(picture: Image.Image, profile: bytes) -> Image.Image:
    """Colours as the profile means them; a profile that does not fit is left out."""
    from PIL import ImageCms

    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        target = ImageCms.ImageCmsProfile(cast("Any", ImageCms).createProfile("sRGB"))
        moved = ImageCms.profileToProfile(picture, source, target, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return picture
    return picture if moved is None else moved


def _encoded(picture: Image.Image) -> tuple[bytes, tuple[int, int]]:
    while True:
        for quality in QUALITIES:
            jpeg = _jpeg(picture, quality)
            if len(jpeg) <= KEPT_BYTES:
                return jpeg, picture.size
        side = round(max(picture.size) * SMALLER)
        picture.thumbnail((side, side))


def _jpeg(picture: Image.Image, quality: int) -> bytes:
    picture.info.clear()  # the encoder would copy a comment from here
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()


def _refusal(where: str, what: str, wanted: str) -> RefusedInput:
    return RefusedInput((Problem(where, what, wanted),))
