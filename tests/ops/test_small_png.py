"""Screenshots with a palette: the same pixels where the colours fit, read by the rules of the PNG text."""

import struct
import zlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from script.small_png import SIGNATURE, read_png, small_png


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def filtered(row: list[int], above: list[int], step: int, kind: int) -> bytes:
    """One line filtered as the PNG specification (W3C, third edition, 9.2) words it."""
    out = []
    for i, value in enumerate(row):
        a = row[i - step] if i >= step else 0
        b = above[i]
        c = above[i - step] if i >= step else 0
        p = a + b - c
        paeth = min((abs(p - a), 0, a), (abs(p - b), 1, b), (abs(p - c), 2, c))[2]
        out.append((value - [0, a, b, (a + b) // 2, paeth][kind]) % 256)
    return bytes([kind, *out])


def written(pixels: np.ndarray, kinds: list[int]) -> bytes:
    height, width, channels = pixels.shape
    lines, above = b"", [0] * (width * channels)
    for y in range(height):
        row = [int(v) for v in pixels[y].ravel()]
        lines += filtered(row, above, channels, kinds[y % len(kinds)])
        above = row
    header = struct.pack(">IIBBBBB", width, height, 8, {3: 2, 4: 6}[channels], 0, 0, 0)
    return SIGNATURE + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(lines)) + chunk(b"IEND", b"")


def unpacked(content: bytes) -> np.ndarray:
    """A palette picture as its pixels, read apart from the code under test."""
    found, place = {}, 8
    while place < len(content):
        (length,) = struct.unpack(">I", content[place : place + 4])
        found[content[place + 4 : place + 8]] = content[place + 8 : place + 8 + length]
        place += 12 + length
    width, height = struct.unpack(">II", found[b"IHDR"][:8])
    palette = np.frombuffer(found[b"PLTE"], np.uint8).reshape(-1, 3)
    lines = np.frombuffer(zlib.decompress(found[b"IDAT"]), np.uint8).reshape(height, width + 1)
    assert (lines[:, 0] == 0).all()
    return palette[lines[:, 1:]]


@settings(max_examples=60, deadline=None)
@given(
    pixels=arrays(np.uint8, array_shapes(min_dims=2, max_dims=2, max_side=9).map(lambda s: (*s, 3))),
    kinds=st.lists(st.integers(0, 4), min_size=1, max_size=5),
)
def test_few_colours_come_back_exactly_whatever_the_filters(pixels: np.ndarray, kinds: list[int]) -> None:
    content = written(pixels, kinds)
    assert (read_png(content) == pixels).all()
    assert (unpacked(small_png(content)) == pixels).all()


def test_many_colours_stay_close_and_the_commonest_exact() -> None:
    red, green = np.meshgrid(np.arange(64), np.arange(64))
    pixels = np.stack([red, green, red], axis=2).astype(np.uint8)
    pixels[:32] = (200, 10, 10)
    result = unpacked(small_png(written(pixels, [4]))).astype(int)
    assert (result[:32] == (200, 10, 10)).all()
    assert len(np.unique(result.reshape(-1, 3), axis=0)) <= 256


def test_an_alpha_channel_is_left_out() -> None:
    pixels = np.full((2, 3, 4), 255, np.uint8)
    pixels[0, 1] = (1, 2, 3, 255)
    assert (unpacked(small_png(written(pixels, [1]))) == pixels[:, :, :3]).all()


def test_what_is_no_png_is_refused() -> None:
    with pytest.raises(ValueError, match="no PNG"):
        read_png(b"GIF89a")
