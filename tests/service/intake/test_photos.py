"""Photos: only the picture comes through, upright and small."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageFile

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.photos import clean_photo, thumbnail

RED, BLUE = (200, 40, 40), (40, 40, 200)
GPS = {1: "N", 2: (42.0, 1.0, 48.0), 3: "W", 4: (93.0, 37.0, 12.0)}
SECRETS = (
    b"Exif",
    b"GPS",
    b"Quill",
    b"phone-7",
    b"http://ns.adobe.com",
    b"ICC_PROFILE",
    b"a comment",
)


def two_halves(wide=80, tall=40):
    """Red on the left, blue on the right."""
    picture = Image.new("RGB", (wide, tall), RED)
    picture.paste(BLUE, (wide // 2, 0, wide, tall))
    return picture


def saved(picture, form="JPEG", **how):
    out = io.BytesIO()
    picture.save(out, form, **how)
    return out.getvalue()


def opened(jpeg):
    return Image.open(io.BytesIO(jpeg)).convert("RGB")


def like(pixel, colour):
    return all(abs(a - b) < 12 for a, b in zip(pixel, colour, strict=True))


def segments(jpeg):
    """Markers of a JPEG up to its scan, then what stands after its end: ITU-T T.81 annex B."""
    at, found = 2, []
    while jpeg[at + 1] != 0xDA:
        found.append(jpeg[at + 1])
        at += 2 + int.from_bytes(jpeg[at + 2 : at + 4], "big")
    return found, jpeg[jpeg.index(b"\xff\xd9", at) + 2 :]


def full_of_secrets():
    exif = Image.Exif()
    exif[0x010F], exif[0x013B] = "phone-7", "Ada Quill"
    exif.get_ifd(0x8825).update(GPS)
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    xmp = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>Ada Quill</x:xmpmeta>"
    return {"exif": exif, "icc_profile": profile, "comment": b"a comment", "xmp": xmp}


def test_place_camera_and_author_do_not_come_through() -> None:
    data = saved(two_halves(), **full_of_secrets())
    assert all(secret in data for secret in (b"Quill", b"phone-7", b"ICC_PROFILE", b"a comment"))
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(0x8825)[2] == (42.0, 1.0, 48.0)
    photo = clean_photo(data)
    for jpeg in (photo.jpeg, photo.small):
        assert not any(secret in jpeg for secret in SECRETS)
        markers, after = segments(jpeg)
        # JFIF, tables, one baseline frame: no APP1, APP2, APP13 and no comment.
        assert set(markers) <= {0xE0, 0xDB, 0xC0, 0xC4}
        assert after == b""


def test_a_comment_alone_does_not_come_through() -> None:
    data = saved(two_halves(), comment=b"Ada Quill")
    assert b"Quill" in data
    photo = clean_photo(data)
    assert b"Quill" not in photo.jpeg + photo.small


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_other_kinds_become_jpeg_without_their_words(form) -> None:
    from PIL.PngImagePlugin import PngInfo

    words = PngInfo()
    words.add_text("Author", "Ada Quill")
    how = (
        {"pnginfo": words}
        if form == "PNG"
        else {"exif": full_of_secrets()["exif"], "lossless": True}
    )
    data = saved(two_halves(), form, **how)
    assert b"Quill" in data
    photo = clean_photo(data)
    assert photo.jpeg.startswith(b"\xff\xd8\xff\xe0")
    assert b"Quill" not in photo.jpeg


# Where the camera's left edge is seen once the picture stands upright: Exif 2.32, tag 274.
@pytest.mark.parametrize(
    ("orientation", "size", "red_at", "blue_at"),
    [
        (1, (80, 40), (5, 20), (75, 20)),
        (2, (80, 40), (75, 20), (5, 20)),
        (3, (80, 40), (75, 20), (5, 20)),
        (4, (80, 40), (5, 20), (75, 20)),
        (5, (40, 80), (20, 5), (20, 75)),
        (6, (40, 80), (20, 5), (20, 75)),
        (7, (40, 80), (20, 75), (20, 5)),
        (8, (40, 80), (20, 75), (20, 5)),
        (77, (80, 40), (5, 20), (75, 20)),
    ],
)
def test_a_picture_stands_as_the_camera_was_held(orientation, size, red_at, blue_at) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    photo = clean_photo(saved(two_halves(), exif=exif))
    assert (photo.width, photo.height) == size
    assert like(opened(photo.jpeg).getpixel(red_at), RED)
    assert like(opened(photo.jpeg).getpixel(blue_at), BLUE)


def test_a_large_picture_becomes_small_and_keeps_its_form() -> None:
    photo = clean_photo(saved(two_halves(4000, 3000)))
    assert (photo.width, photo.height) == (1600, 1200)
    assert opened(photo.jpeg).size == (1600, 1200)
    assert opened(photo.small).size == opened(thumbnail(photo.jpeg)).size == (240, 180)


def test_even_noise_fits_what_is_kept() -> None:
    noise = np.random.default_rng(7).integers(0, 256, (1600, 1600, 3), dtype=np.uint8)
    photo = clean_photo(saved(Image.fromarray(noise), quality=95))
    assert len(photo.jpeg) <= 500_000
    assert opened(photo.jpeg).size == (photo.width, photo.height)


def exchanged_profile():
    """A profile whose red and blue are exchanged: a picture read without it is the other."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    red, blue = profile.index(b"rXYZ"), profile.index(b"bXYZ")
    profile[red : red + 4], profile[blue : blue + 4] = b"bXYZ", b"rXYZ"
    return bytes(profile)


@pytest.mark.parametrize(("padding", "seen"), [(0, RED[::-1]), (1_000_000, RED)])
def test_colours_are_moved_to_srgb_by_a_profile_of_a_decent_size(padding, seen) -> None:
    profile = exchanged_profile() + bytes(padding)
    photo = clean_photo(saved(Image.new("RGB", (40, 40), RED), icc_profile=profile))
    assert like(opened(photo.jpeg).getpixel((20, 20)), seen)


def test_a_profile_that_is_broken_costs_only_itself() -> None:
    photo = clean_photo(saved(two_halves(), icc_profile=b"no profile" * 20))
    assert like(opened(photo.jpeg).getpixel((5, 20)), RED)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA"])
def test_every_kind_of_pixel_becomes_plain(mode) -> None:
    photo = clean_photo(saved(two_halves().convert(mode), "PNG"))
    assert opened(photo.jpeg).size == (80, 40)


def test_what_is_transparent_lies_on_white() -> None:
    photo = clean_photo(saved(Image.new("RGBA", (20, 20), (0, 0, 0, 0)), "PNG"))
    assert like(opened(photo.jpeg).getpixel((10, 10)), (255, 255, 255))


def test_cmyk_is_read() -> None:
    photo = clean_photo(saved(two_halves().convert("CMYK")))
    assert like(opened(photo.jpeg).getpixel((75, 20)), BLUE)


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_of_an_animation_the_first_picture_is_kept(form) -> None:
    first, second = Image.new("RGB", (40, 40), RED), Image.new("RGB", (40, 40), BLUE)
    data = saved(first, form, save_all=True, append_images=[second], duration=100)
    assert like(opened(clean_photo(data).jpeg).getpixel((20, 20)), RED)


@pytest.mark.parametrize(
    "tail", [b"<script>alert(1)</script>", b"<?php system($_GET[0]); ?>", None]
)
def test_what_hangs_behind_a_picture_is_cut_off(tail) -> None:
    if tail is None:
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w") as inside:
            inside.writestr("evil.txt", "evil")
        tail = packed.getvalue()
    data = saved(two_halves()) + tail
    photo = clean_photo(data)
    assert tail not in photo.jpeg
    assert b"PK\x03\x04" not in photo.jpeg
    assert segments(photo.jpeg)[1] == b""


def png_of_size(wide, tall):
    """A PNG that says it is so large and has hardly any data."""

    def chunk(kind, body):
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", wide, tall, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (b"\xff\xd8\xff" + b"\0" * 12_000_000, "send at most 12 MB"),
        (
            b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
            "set the phone's camera to most compatible, or send JPEG",
        ),
        (b"\0\0\0\x18ftypavif\0\0\0\0mif1avif", "send JPEG"),
        (b"GIF89a" + b"\0" * 100, "is not a picture we can read"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "is not a picture we can read"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n", "is not a picture we can read"),
        (b"MZ" + b"\0" * 100, "is not a picture we can read"),
        (png_of_size(6400, 6400), "has too many pixels"),
        (png_of_size(10_000, 12_000), "has too many pixels"),
        (png_of_size(60_000, 60_000), "has too many pixels"),
        (png_of_size(1000, 1000), "is broken or cut short"),
        (saved(two_halves(800, 400))[:-900], "is broken or cut short"),
        (saved(two_halves(800, 400), "PNG")[:-100], "is broken or cut short"),
        (saved(two_halves(800, 400), "WEBP")[:-100], "the photo"),
        (saved(two_halves(), "BMP"), "is not a picture we can read"),
        (saved(Image.new("I;16", (10, 10)), "PNG"), "has more shades than a photo"),
    ],
)
def test_what_is_no_photo_is_refused_with_what_to_do(data, says) -> None:
    with pytest.raises(RefusedInput) as caught:
        clean_photo(data)
    assert says in str(caught.value)


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_cut_photo_is_refused_after_another_library_has_let_such_through(kind, monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)

    with pytest.raises(RefusedInput, match="is broken or cut short"):
        clean_photo(saved(two_halves(800, 400), kind)[:-200])


def test_a_refusal_names_which_photo() -> None:
    with pytest.raises(RefusedInput, match="photo 2: is empty"):
        clean_photo(b"", "photo 2")
